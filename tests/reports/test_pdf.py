"""The PDF: tagged, its fonts inside, the same bytes each time, and nothing foreign in reach."""

import csv
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pypdf import PdfReader

from apps.reports.rendering import pdf
from apps.reports.rendering.child import Child, RenderFailed
from apps.reports.rendering.document import html_of
from apps.reports.rendering.pdf import RenderRefused, html_to_pdf, render
from benchmarks.world import written_up
from tests import factories

pytestmark = [pytest.mark.pdf, pytest.mark.django_db]
ROOT = Path(__file__).resolve().parent.parent.parent


@pytest.fixture(autouse=True)
def now_again() -> Iterator[None]:
    """The world of the benchmarks lives now; put the tests' day back."""
    day = factories.NOW
    yield
    factories.NOW = day


@pytest.fixture
def snapshot() -> dict[str, Any]:
    return written_up()


@pytest.fixture(scope="module")
def drawn() -> list[bytes]:
    """What has been drawn: the first test that looks at the file draws it for all."""
    return []


@pytest.fixture
def file(request: pytest.FixtureRequest, drawn: list[bytes]) -> bytes:
    """A report's file."""
    if not drawn:
        drawn.append(render(request.getfixturevalue("snapshot"), {}))
    return drawn[0]


def test_same_snapshot_same_bytes_here_and_in_the_child(snapshot: dict[str, Any]) -> None:
    child = Child()
    try:
        first = render(snapshot, {})
        assert render(snapshot, {}) == first
        assert child.render(snapshot, {}) == first
    finally:
        child.close()


class TestFile:
    def test_is_tagged_titled_and_says_its_language(self, file: bytes) -> None:
        with pikepdf.open(io.BytesIO(file)) as pdf:
            assert pdf.Root.MarkInfo.Marked
            assert str(pdf.Root.Lang) == "en"
            assert "Report 0001" in str(pdf.docinfo["/Title"])
            scopes = [
                item.A.Scope
                for item in pdf.objects
                if isinstance(item, pikepdf.Dictionary) and item.get("/S") == pikepdf.Name.TH
            ]
            figures = [
                item
                for item in pdf.objects
                if isinstance(item, pikepdf.Dictionary) and item.get("/S") == pikepdf.Name.Figure
            ]
        assert len(scopes) > 10
        assert figures
        assert all(str(figure.get("/Alt", "")) for figure in figures)

    def test_fonts_are_ours_and_inside(self, file: bytes, tmp_path: Path) -> None:
        path = tmp_path / "r.pdf"
        path.write_bytes(file)
        lines = subprocess.run(
            ["pdffonts", str(path)], capture_output=True, text=True, check=True
        ).stdout.splitlines()[2:]
        assert lines
        for line in lines:
            assert re.search(r"Literata|Atkinson", line), line
            assert " yes yes yes " in line, line

    def test_text_comes_out_again(self, file: bytes) -> None:
        text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(file)).pages)
        for words in ("Alkalinity", "This week", "How the water goes round", "Take care", "27"):
            assert words in text

    def test_readings_are_attached(self, file: bytes) -> None:
        files = PdfReader(io.BytesIO(file)).attachments
        data = json.loads(files["readings.json"][0])
        assert {row["measurand"] for row in data["readings"]} >= {"ph", "alk", "tan"}
        table = list(csv.DictReader(io.StringIO(files["readings.csv"][0].decode("utf-8-sig"))))
        assert [(row["measurand"], float(row["value"])) for row in table] == [
            (row["measurand"], row["value"]) for row in data["readings"]
        ]

    def test_checkers_find_no_fault(self, file: bytes, tmp_path: Path) -> None:
        path = tmp_path / "r.pdf"
        path.write_bytes(file)
        subprocess.run(["qpdf", "--check", str(path)], check=True, capture_output=True)


class TestNothingForeign:
    @pytest.mark.parametrize(
        "html",
        [
            '<img src="file:///etc/passwd">', '<img src="http://127.0.0.1:9/x.png">',
            '<link rel="attachment" href="file:///etc/passwd">',
            '<img src="asset:../../settings.py">',
            '<svg><image href="file:///etc/passwd" width="9" height="9"/></svg>',
        ],
    )  # fmt: skip
    def test_is_fetched(self, html: str) -> None:
        with pytest.raises(RenderRefused):
            html_to_pdf(f"<p>x</p>{html}", {}, {"x": b"{}"}, "2026-06-11T09:00:00+00:00")

    def test_is_run_or_marked_up(self, snapshot: dict[str, Any]) -> None:
        nasty = "<script>x</script>{{7*7}}<img src=file:///etc/passwd>"
        snapshot["findings"] = [
            {"sign": "", "name": "", "text": nasty, "component": nasty, "photos": []}
        ]
        snapshot["place"]["address"] = nasty
        assert nasty.replace("<", "&lt;").replace(">", "&gt;") in html_of(snapshot)
        render(snapshot, {})


def test_child_reports_its_fault_and_goes_on(snapshot: dict[str, Any]) -> None:
    child = Child()
    try:
        with pytest.raises(RenderFailed, match="KeyError"):
            child.render({"language": "en"}, {})
        assert child.render(snapshot, {}).startswith(b"%PDF")
    finally:
        child.close()


def test_other_hash_seed_same_html(snapshot: dict[str, Any], tmp_path: Path) -> None:
    path = tmp_path / "s.json"
    path.write_text(json.dumps(snapshot))
    code = (
        "import django, json, sys; django.setup();"
        "from apps.reports.rendering.document import html_of;"
        "sys.stdout.write(html_of(json.load(open(sys.argv[1]))))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], cwd=ROOT, capture_output=True, text=True, check=True,
        env=os.environ | {"PYTHONHASHSEED": "5", "DJANGO_SETTINGS_MODULE": "backyard.settings.test"},
    )  # fmt: skip
    assert done.stdout == html_of(snapshot)


def _sections(count: int) -> str:
    rows = "<section><p>Lettuce stands well.</p></section>" * count
    end = '<div class="sign" id="end"><p>Reed and Roach</p></div>'
    head = '<html lang="en"><head><title>Report</title></head>'
    return f"{head}<body>{rows}{end}</body></html>"


@pytest.mark.parametrize(("count", "usual", "drawn"), [(30, 1, 1), (38, 2, 1), (58, 2, 2)])
def test_a_paper_that_would_end_on_a_nearly_empty_page_is_drawn_closer(
    count: int, usual: int, drawn: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    pages = len(PdfReader(io.BytesIO(pdf.html_to_pdf(_sections(count), {}))).pages)
    monkeypatch.setattr(pdf, "_ends_on_little", lambda laid: False)
    as_usual = len(PdfReader(io.BytesIO(pdf.html_to_pdf(_sections(count), {}))).pages)
    assert (as_usual, pages) == (usual, drawn)
