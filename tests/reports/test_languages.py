"""Every kind of report in Spanish and Arabic: its words come out again, its faces are ours."""

import html
import re
import subprocess
import unicodedata
from pathlib import Path
from typing import Any

import pytest
from pdfua import validate
from pypdf import PdfReader

from apps.reports.rendering.document import html_of
from apps.reports.rendering.pdf import render
from tests.reports.test_kinds import KINDS, held, snapshots  # noqa: F401

pytestmark = [pytest.mark.pdf, pytest.mark.django_db]
CASES = [("visit", "es"), ("visit", "ar"), ("hand_over", "ar"), ("summary", "es")]
REST = [(k, c) for k in KINDS for c in ("es", "ar") if (k, c) not in CASES]
# marks of direction, and the marks over Arabic letters, which extraction may set beside them
MARKS = re.compile("[\u2066-\u2069\u200e\u200f\u064b-\u0652\u0640]")


def plain(text: str) -> str:
    """A text in plain letters, without its blanks: a mark over a letter may bring one.

    Readers take the ligature of lam and alef apart from either side: both count as the same.
    """
    letters = "".join(MARKS.sub("", unicodedata.normalize("NFKC", text)).split())
    return re.sub("ل([اأآإ])", r"\1ل", letters)


def words(text: str) -> set[str]:
    """The longer words of a text, in plain letters."""
    return {plain(word) for word in re.split(r"[\s\d.,:;،؛؟?()/·-]+", text) if len(plain(word)) > 3}


@pytest.mark.parametrize(
    ("kind", "code"), [*CASES, *(pytest.param(*one, marks=pytest.mark.long) for one in REST)]
)
def test_it_reads_as_it_was_written(kind: str, code: str, snapshots: Any, tmp_path: Path) -> None:  # noqa: F811
    snapshot = snapshots[kind] | {"language": code}
    path = tmp_path / "report.pdf"
    path.write_bytes(render(snapshot, {}))
    reader = PdfReader(path)
    assert reader.trailer["/Root"]["/Lang"] == code
    # two readers: each loses a letter where the other does not
    poppler = subprocess.run(["pdftotext", path, "-"], capture_output=True, text=True, check=True)
    said = plain(poppler.stdout) + plain("".join(page.extract_text() for page in reader.pages))
    wanted = words(shown(html_of(snapshot)))
    lost = {word for word in wanted if word not in said}
    # a word that was broken at the end of a line
    assert len(lost) <= len(wanted) // 50, sorted(lost)
    faces = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout
    for line in faces.splitlines()[2:]:
        assert re.search(r"Literata|Atkinson|Noto-Sans-Arabic", line), line
    errors = [f.message for f in validate(str(path)).findings if f.severity.name == "ERROR"]
    assert not errors
    assert 1 <= len(reader.pages) <= 4


def shown(page: str) -> str:
    """What stands on a page; a drawing's words stand in its description."""
    page = re.sub(r"(?s)<svg.*?</svg>|<head>.*?</head>", " ", page)
    return html.unescape(re.sub(r"<[^>]+>", " ", page))


def test_english_is_not_left_in_it(snapshots: Any) -> None:  # noqa: F811
    """What stays in Latin letters in an Arabic report is a name, a unit or a formula."""
    page = shown(html_of(snapshots["visit"] | {"language": "ar"}))
    typed = {"Reed", "Roach", "Patio", "Ana", "Quarry", "Lane", "Oldferry", "All", "quiet", "Raft"}
    firm = {"office", "reedandroach", "example", "Weir", "Tarnwick"}
    assert set(re.findall(r"[A-Za-z]{3,}", page)) - typed - firm == {"CaCO"}
