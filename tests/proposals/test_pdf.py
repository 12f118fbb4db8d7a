"""The proposal and the survey sheet as files: tagged, their fonts inside, the same bytes each time."""

import io
import re
import subprocess
import unicodedata
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from django.utils.safestring import SafeString
from pdfua import validate
from pypdf import PdfReader

from apps.accounts.selectors import firm_current
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Place
from apps.proposals.models import Proposal, SiteSurvey
from apps.proposals.rendering.document import html_of, survey_html
from apps.proposals.services import version_make
from apps.reports.rendering.child import CHILD, Child
from apps.reports.rendering.pdf import PROPOSAL, SURVEY, html_to_pdf
from tests import factories
from tests.proposals.conftest import Desk
from tests.proposals.examples import EXAMPLES, SITE
from tests.proposals.test_examples import proposed
from tests.reports.test_languages import plain, shown
from tests.reports.test_languages import words as words_of

pytestmark = pytest.mark.pdf
NASTY = "<script>x</script>{{7*7}}<img src=file:///etc/passwd>\u202e&\"'"


@pytest.fixture
def row(desk: Desk) -> Proposal:
    """The first example's proposal, with work, tax and words."""
    row = proposed(desk, EXAMPLES[0])
    row.hours, row.rate, row.tax = 2_600, 480_000, 2_100
    row.words, row.left_out = "This is what we would build.", "The pergola."
    row.save()
    return row


def run_together(text: str) -> str:
    """Return text without its blanks and line breaks, each sign in its plain form."""
    return "".join(unicodedata.normalize("NFKC", text).split())


def text_of(file: bytes) -> str:
    return run_together("".join(p.extract_text() for p in PdfReader(io.BytesIO(file)).pages))


def test_a_version_is_the_same_bytes_whenever_it_is_drawn(desk: Desk, row: Proposal) -> None:
    """From its snapshot alone: in this process, in the child, and after everything has changed."""
    version, new = version_make(proposal=row, by=desk.actor, at=factories.NOW)
    from apps.core import files

    kept = files.read(version.pdf)
    row.words, row.prices, row.margin = "Another", {}, 9
    row.save()
    version.refresh_from_db()
    assert new
    assert html_to_pdf(html_of(version.snapshot), {}, style=PROPOSAL) == kept
    child = Child()
    try:
        assert child.draw(html_of(version.snapshot), PROPOSAL, version.snapshot["paper"]) == kept
    finally:
        child.close()
        CHILD.close()


def snapshot_of_row(row: Proposal) -> dict[str, Any]:
    from apps.proposals.snapshots import snapshot_of

    return snapshot_of(row, version=1, firm=firm_current(), contact=None, at=factories.NOW)


class TestProposal:
    @pytest.fixture
    def file(self, row: Proposal) -> bytes:
        return html_to_pdf(html_of(snapshot_of_row(row)), {}, style=PROPOSAL)

    def test_what_it_says_comes_out_again(self, file: bytes) -> None:
        text = text_of(file)
        for words in (
            "Proposal 0001, version 1", "Family greens", "Salad for six, all summer",
            "240 to 300 g/day", "14 to 27 kg", "What stands where", "every week",
            "Fixed wiring, sockets and residual-current devices, by a licensed electrician.",
            "Tax, 21 %", "valid until Wed 15 July 2026", "The pergola.", "Nile tilapia",
            "These fish want a permit", "Signature",
        ):  # fmt: skip
            assert run_together(words) in text, words
        assert run_together("Another rule") not in text

    def test_is_tagged_titled_and_says_its_language(self, file: bytes) -> None:
        with pikepdf.open(io.BytesIO(file)) as pdf:
            assert pdf.Root.MarkInfo.Marked
            assert str(pdf.Root.Lang) == "en"
            assert str(pdf.docinfo["/Title"]) == "Proposal 0001, Family greens"
            kinds = [item for item in pdf.objects if isinstance(item, pikepdf.Dictionary)]
            figures = [item for item in kinds if item.get("/S") == pikepdf.Name.Figure]
            scopes = [item.A.Scope for item in kinds if item.get("/S") == pikepdf.Name.TH]
        assert figures
        assert all(str(figure.get("/Alt", "")) for figure in figures)
        assert len(scopes) > 40
        assert len(PdfReader(io.BytesIO(file)).pages) <= 4

    def test_fonts_are_ours_and_inside(self, file: bytes, tmp_path: Path) -> None:
        path = tmp_path / "p.pdf"
        path.write_bytes(file)
        subprocess.run(["qpdf", "--check", str(path)], check=True, capture_output=True)
        fonts = subprocess.run(["pdffonts", str(path)], capture_output=True, text=True, check=True)
        lines = fonts.stdout.splitlines()[2:]
        assert lines
        for line in lines:
            assert re.search(r"Literata|Atkinson", line), line

    @pytest.mark.parametrize("code", ["en", "es", "ar"])
    def test_it_reads_in_every_language(self, row: Proposal, code: str, tmp_path: Path) -> None:
        """No fault by another checker, its own faces, and its words come out again."""
        snapshot = snapshot_of_row(row) | {"language": code}
        path = tmp_path / "p.pdf"
        path.write_bytes(html_to_pdf(html_of(snapshot), {}, style=PROPOSAL))
        errors = [f.message for f in validate(str(path)).findings if f.severity.name == "ERROR"]
        assert not errors
        fonts = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True)
        for line in fonts.stdout.splitlines()[2:]:
            assert re.search(r"Literata|Atkinson|Noto-Sans-Arabic", line), line
        reader = PdfReader(path)
        assert reader.trailer["/Root"]["/Lang"] == code
        assert len(reader.pages) <= 4
        poppler = subprocess.run(
            ["pdftotext", path, "-"], capture_output=True, text=True, check=True
        )
        texts = [poppler.stdout, "".join(page.extract_text() for page in reader.pages)]
        # run together a lam before an alef counts as its ligature, so whole words count as well
        said = "".join(plain(text) for text in texts)
        found = {word for text in texts for word in words_of(text)}
        wanted = words_of(shown(html_of(snapshot)))
        lost = {word for word in wanted - found if word not in said}
        assert len(lost) <= len(wanted) // 50, sorted(lost)

    def test_hostile_names_are_only_words(self, row: Proposal) -> None:
        assert not isinstance(NASTY, SafeString)
        snapshot = snapshot_of_row(row)
        snapshot |= {"name": NASTY, "words": NASTY, "wants": NASTY, "left_out": NASTY,
                     "client": NASTY, "extras": [[NASTY, 10_000]]}  # fmt: skip
        html = html_of(snapshot)
        assert "<script" not in html
        assert "<img" not in html
        assert html_to_pdf(html, {}, style=PROPOSAL).startswith(b"%PDF")


class TestSurvey:
    def drawn(self, place: Place, row: SiteSurvey | None) -> bytes:
        html = survey_html(
            place, row, firm=firm_current(), catalogue=catalogue_current(), at=factories.NOW
        )
        return html_to_pdf(html, {}, style=SURVEY)

    def test_blank_and_filled_in(self, desk: Desk) -> None:
        desk.post("survey_new", desk.place.pk, **(SITE | EXAMPLES[2].survey))
        row = SiteSurvey.objects.get()
        blank, full = self.drawn(desk.place, None), self.drawn(desk.place, row)
        for file in (blank, full):
            text = text_of(file)
            for words in ("Residual-current device (RCD)", "mg/L CaCO3", "kg/m²", desk.place.name):
                assert run_together(words) in text, words
        assert run_together("Something for the class room") in text_of(full)
        assert run_together("less than a full tank weighs") in text_of(full)
        assert run_together("Plan of the site") in text_of(blank)
        assert self.drawn(desk.place, row) == full
        with pikepdf.open(io.BytesIO(blank)) as pdf:
            assert str(pdf.docinfo["/Title"]).endswith("to fill in")
