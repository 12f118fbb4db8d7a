"""Every kind of report as a file: tagged, readable again, the same bytes, on either paper."""

import datetime as dt
import io
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pdfua import validate
from PIL import Image
from pypdf import PdfReader

from apps.accounts.selectors import firm_current
from apps.core import files
from apps.reports.rendering.document import html_of
from apps.reports.rendering.pdf import render
from apps.reports.services.reports import photos_of
from apps.reports.snapshot_summary import summary_of
from apps.systems.models import System
from benchmarks.world import written_up
from tests import factories

pytestmark = [pytest.mark.pdf, pytest.mark.django_db]
KINDS = ("visit", "call_out", "hand_over", "summary", "version_2")
INCIDENT = {
    "kind": "gasping", "opened": "2026-06-11T05:40:00+00:00", "said": "", "cause": "blocked",
    "cause_words": "leaves in the strainer", "outcome": "Strainer cleaned; fish feed again.",
    "fish_lost": 2, "closed": "2026-06-12T09:00:00+00:00",
}  # fmt: skip
PART = {"litres": 1000.0, "watts": None, "make": "Reedworks", "serial": "T-1", "warranty": "2027-06-01"}  # fmt: skip
HAND_OVER = {
    "parts": [PART | {"name": "Tank", "kind": "tank"}, PART | {"name": "Return valve", "kind": "valve"}],
    "valves": [
        {"name": "Return valve", "from": ["Low sump"], "to": ["Fish tank"]},
        {"name": "Drain valve", "from": [], "to": []},
    ],
    "learnt": ["skill_feed", "skill_call"], "to_learn": ["skill_settler"],
}  # fmt: skip
CORRECTED = {
    "version": 2, "reason": "The kit was read wrongly.",
    "corrections": [
        {"measurand": "no3", "name": "Nitrate", "decimals": 0, "unit": "mg/L", "was": 62.0,
         "now": 35.0, "reason": "another card", "at": "2026-06-12T10:00:00+00:00"},
    ],
    "versions": [{"number": 1, "made": "2026-06-11T12:00:00+00:00"}],
}  # fmt: skip
# what a reader must find again in each kind's text
SAYS = {
    "visit": ("This week", "Alkalinity", "At night", "Words"),
    "call_out": ("Call-out", "Why you called", "leaves in the strainer", "Fish lost"),
    "hand_over": (
        "Hand-over",
        "Valve map and parts",
        "Return valve",
        "Low sump",
        "Its pipe is not on record.",
        "Wall card",
        "Safety card",
    ),
    "summary": ("Summary", "We came 1 time.", "Harvest", "Our visits", "Alkalinity"),
    "version_2": (
        "What version 2 corrects",
        "Nitrate: 35 mg/L, not 62 mg/L. Why: another card",
        "corrected, version 2",
        "Version 2 is this one.",
    ),
}


@pytest.fixture(scope="module")
def held() -> dict[str, Any]:
    """Snapshots and files of each kind, made by the first test that asks."""
    return {}


@pytest.fixture
def snapshots(held: dict[str, Any]) -> Iterator[dict[str, dict[str, Any]]]:
    day = factories.NOW
    if "snapshots" not in held:
        visit = written_up()
        made = dt.datetime.fromisoformat(visit["visit"]["finished"])
        summary = summary_of(
            System.objects.select_related("place__client").get(), made.date() - dt.timedelta(days=90),
            made.date() + dt.timedelta(days=1), number=2, version=1, firm=firm_current(),
            contact=None, at=made,
        )  # fmt: skip
        held["snapshots"] = {
            "visit": visit,
            "call_out": visit | {"kind": "call_out", "incident": INCIDENT},
            "hand_over": visit | {"kind": "hand_over", "hand_over": HAND_OVER},
            "summary": summary,
            "version_2": visit | CORRECTED,
        }
    yield held["snapshots"]
    factories.NOW = day


@pytest.fixture
def file(request: pytest.FixtureRequest, snapshots: Any, held: dict[str, Any]) -> bytes:
    kind = request.param
    if kind not in held:
        held[kind] = render(snapshots[kind], {})
    return bytes(held[kind])


each = pytest.mark.parametrize("file", KINDS, indirect=True)


@each
def test_structure_is_whole(file: bytes) -> None:
    with pikepdf.open(io.BytesIO(file)) as pdf:
        found: dict[str, list[Any]] = {}
        for item in pdf.objects:
            if isinstance(item, pikepdf.Dictionary) and "/S" in item:
                found.setdefault(str(item.S), []).append(item)
        assert pdf.Root.MarkInfo.Marked
        assert pdf.Root.ViewerPreferences.DisplayDocTitle
        assert str(pdf.Root.Lang) == "en"
        assert len(found["/H1"]) == 1
        assert all("/Scope" in item.A for item in found["/TH"])
        assert all(str(item.get("/Alt", "")) for item in found.get("/Figure", []))
        assert all("/Alt" in item or item.get("/F") == 4 for item in found.get("/Link", []))
        assert "pdfuaid:part" in str(pdf.open_metadata())


@each
@pytest.mark.outside(source="pdfua 0.1.3, PDF/UA-1 checks", kind="computed", tolerance=0.0, absolute=True)  # fmt: skip
def test_another_checker_finds_no_fault(file: bytes, outside: Any, tmp_path: Path) -> None:
    path = tmp_path / "r.pdf"
    path.write_bytes(file)
    subprocess.run(["qpdf", "--check", path], check=True, capture_output=True)
    found = [f for f in validate(str(path)).findings if f.severity.name == "ERROR"]
    assert not found, [f.message for f in found]
    outside(float(len(found)), 0.0)


@pytest.mark.parametrize("kind", KINDS)
def test_same_snapshot_same_bytes(kind: str, snapshots: Any, held: dict[str, Any]) -> None:
    held.setdefault(kind, render(snapshots[kind], {}))
    assert render(snapshots[kind], {}) == held[kind]


@pytest.mark.parametrize("kind", KINDS)
def test_says_what_it_is_for(kind: str, snapshots: Any, held: dict[str, Any]) -> None:
    data = held.setdefault(kind, render(snapshots[kind], {}))
    reader = PdfReader(io.BytesIO(data))
    text = " ".join(" ".join(page.extract_text().split()) for page in reader.pages)
    for words in SAYS[kind]:
        assert words in text, words
    assert 1 <= len(reader.pages) <= 4
    assert {"readings.json", "readings.csv"} <= set(reader.attachments)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_third_of_page_one_holds_what_matters(paper: str, snapshots: Any, tmp_path: Path) -> None:
    data = render(snapshots["visit"] | {"paper": paper}, {})
    page = PdfReader(io.BytesIO(data)).pages[0]
    size = {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}[paper]
    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.5)
    path = tmp_path / "r.pdf"
    path.write_bytes(data)
    third = str(int(size[1] / 3))
    text = " ".join(
        subprocess.run(
            ["pdftotext", "-l", "1", "-x", "0", "-y", "0", "-W", "700", "-H", third, str(path), "-"],
            capture_output=True, text=True, check=True,
        ).stdout.split()
    )  # fmt: skip
    for words in ("off.", "This week", "Eat", "Feed", "Pick", "We come", "day and night."):
        assert words in text, words


def test_what_was_kept_by_the_first_template_still_draws(snapshots: Any) -> None:
    new = (
        "kind", "paper", "note", "past", "corrections", "pairs", "photos", "harvest", "feeding",
        "asks", "versions",
    )  # fmt: skip
    old = {name: value for name, value in snapshots["visit"].items() if name not in new}
    old["template"] = "1"
    old["fish"] = [
        {k: v for k, v in row.items() if k not in ("eaten", "market_g")} for row in old["fish"]
    ]
    assert "Alkalinity" in html_of(old)
    assert render(old, {}).startswith(b"%PDF")


def test_a_missing_photo_leaves_a_placeholder_and_is_told(snapshots: Any, settings: Any, tmp_path: Path) -> None:  # fmt: skip
    settings.MEDIA_ROOT = tmp_path
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "teal").save(out, "JPEG")
    good, _digest = files.store("photos", out.getvalue(), "jpg")
    broken, _digest = files.store("photos", b"no picture", "jpg")
    photos = [
        {"id": name, "file": name, "caption": caption, "on": "2026-06-11"}
        for name, caption in ((good, "Tank"), ("photos/gone.jpg", "Lid"), (broken, "Raft"))
    ]
    shown = snapshots["visit"] | {"photos": photos}
    found, lacks = photos_of(shown)
    assert set(found) == {good}
    assert [row["what"] for row in lacks if row["code"] == "photo"] == ["Lid", "Raft"]
    html = html_of(shown, {good: "asset:photo/0.jpg"})
    assert html.count("could not be drawn") == 2
    assert render(shown, found).startswith(b"%PDF")


def test_a_missing_face_is_told_and_no_reason_for_no_report(
    monkeypatch: Any, tmp_path: Path
) -> None:
    monkeypatch.setattr("apps.reports.rendering.pdf.PAPER", tmp_path)
    _found, lacks = photos_of({"findings": []})
    assert {"code": "face", "what": "literata-600"} in lacks
