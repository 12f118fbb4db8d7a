"""The day on paper: whose it is, what stands on it, and that its codes are read by another reader."""

import datetime as dt
import io
import re
import subprocess
import unicodedata
from html import unescape
from pathlib import Path
from typing import Any

import pikepdf
import pytest
import zxingcpp
from django.conf import settings
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader

from apps.accounts.models import User
from apps.advice.models import Advice
from apps.batches.models import HarvestHold, Treatment
from apps.catalogue.selectors import catalogue_current
from apps.field.paper import html_of, paper_of
from apps.field.steps import asked, line_name, reading_name
from apps.field.views.closing import running_items
from apps.field.work import work_of
from apps.reports.rendering.child import CHILD, RenderFailed
from apps.reports.rendering.pdf import DAY, html_to_pdf
from apps.visits.choices import LEFT_RUNNING
from apps.visits.models import Assignment, Reading, Sheet, Visit
from apps.visits.services.lines import lines_make
from tests import factories
from tests.field.conftest import Phone, signed_in

NASTY = "<script>x</script>{{7*7}}<img src=file:///etc/passwd>\u202e&\"'"


def paper_url(who: User, on: dt.date | str | None = None) -> str:
    """Return the address of a technician's printed day."""
    return reverse("field:day_pdf", kwargs={"pk": who.pk}) + (f"?on={on}" if on else "")


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Keep what is to be drawn, and draw nothing."""
    pages: list[str] = []

    def draw(html: str, _style: str, _paper: str) -> bytes:
        pages.append(html)
        return b"%PDF-1.7 drawn"

    monkeypatch.setattr(CHILD, "draw", draw)
    return pages


def later(phone: Phone, days: int, name: str = "Front pond") -> Visit:
    """Another booked visit of the same technician, of a system of its own."""
    built = factories.system(factories.place(factories.client(f"{name} house")), name)
    start = phone.visit.start + dt.timedelta(days=days, hours=3)
    row = Visit.objects.create(
        place=built.system.place, state="booked", start=start, end=start + dt.timedelta(hours=1),
        made_at=factories.NOW,
    )  # fmt: skip
    user = phone.visit.assignments.get().user
    Assignment.objects.create(visit=row, user=user, start=row.start, end=row.end)
    lines_make(visit=row, sheets=[Sheet.objects.create(visit=row, system=built.system)])
    return row


def ana_of(phone: Phone) -> User:
    """Return the technician of the visit."""
    return User.objects.get(username="ana")


def told(phone: Phone) -> None:
    """Give the system a reading, an advice and a hold from before."""
    old = Visit.objects.create(
        place=phone.visit.place, state="under_way", start=phone.visit.start - dt.timedelta(days=14),
        end=phone.visit.end - dt.timedelta(days=14), made_at=factories.NOW,
    )  # fmt: skip
    sheet = Sheet.objects.create(visit=old, system=phone.built.system)
    Reading.objects.create(
        loop=phone.built.loop, sheet=sheet, measurand="ph", value=6.4, unit="", typed="6.4",
        taken_at=old.start, received_at=old.start, word="in_band", by="ana",
    )  # fmt: skip
    Advice.objects.create(
        sheet=sheet, system=phone.built.system, loop=phone.built.loop, rule="alkalinity_low",
        parameters={"cautions": ["residual_current_device"]}, urgency="today", who="technician",
        decision="edit", decision_text="Stir in 74 g of potassium bicarbonate.", decision_reason="split", made_at=old.start,
        position=0,
    )  # fmt: skip
    Visit.objects.filter(pk=old.pk).update(
        state="written_up", started_at=old.start, finished_at=old.end
    )
    treatment = Treatment.objects.create(
        loop=phone.built.loop, product="salt bath", began_on=factories.TODAY
    )
    HarvestHold.objects.create(
        treatment=treatment, touches="fish", until=factories.TODAY + dt.timedelta(days=9)
    )


class TestWhose:
    def test_own_day(self, phone: Phone, drawn: list[str]) -> None:
        answer = phone.browser.get(paper_url(ana_of(phone)))
        assert answer.status_code == 200
        assert answer["Content-Type"] == "application/pdf"
        assert answer["Cache-Control"] == "private, no-store"
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert "day-2026-06-11.pdf" in answer["Content-Disposition"]
        assert "Okafor, garden" in drawn[0]

    def test_nobody_elses(self, phone: Phone, staff: dict[str, User], drawn: list[str]) -> None:
        marek = signed_in(staff["marek"])
        assert marek.get(paper_url(staff["ana"])).status_code == 404
        assert phone.browser.get(paper_url(staff["marek"])).status_code == 404
        assert not drawn

    def test_office_has_anybodys(
        self, phone: Phone, staff: dict[str, User], drawn: list[str]
    ) -> None:
        office = signed_in(staff["office"])
        assert office.get(paper_url(staff["ana"])).status_code == 200
        assert office.get(paper_url(staff["office"])).status_code == 404
        assert len(drawn) == 1

    def test_only_what_is_still_to_do(self, phone: Phone, drawn: list[str]) -> None:
        tomorrow = later(phone, 1, "Front pond")
        done = later(phone, 0, "Done pond")
        Visit.objects.filter(pk=done.pk).update(state="written_up")
        phone.browser.get(paper_url(ana_of(phone)))
        phone.browser.get(paper_url(ana_of(phone), "2026-06-12"))
        assert "Back garden" in drawn[0]
        assert "Front pond" not in drawn[0]
        assert "Done pond" not in drawn[0]
        assert "Front pond" in drawn[1]
        assert "Back garden" not in drawn[1]
        # one that was begun and never finished is today's work
        Visit.objects.filter(pk=tomorrow.pk).update(
            state="under_way", start=phone.visit.start - dt.timedelta(days=2),
            started_at=phone.visit.start - dt.timedelta(days=2),
        )  # fmt: skip
        phone.browser.get(paper_url(ana_of(phone)))
        assert "Front pond" in drawn[2]

    def test_empty_day_says_so(
        self, phone: Phone, staff: dict[str, User], drawn: list[str]
    ) -> None:
        answer = phone.browser.get(paper_url(staff["ana"], "2026-07-01"), follow=True)
        assert "Ana has no visit to do on Wed 1 July: there is nothing to print." in (
            answer.content.decode()
        )
        office = signed_in(staff["office"]).get(paper_url(staff["ana"], "2026-07-01"), follow=True)
        assert "there is nothing to print" in office.content.decode()
        assert not drawn

    def test_a_paper_that_cannot_be_drawn_says_so(
        self, phone: Phone, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def fail(_html: str, _style: str, _paper: str) -> bytes:
            raise RenderFailed("the paper could not be drawn: it ran out of time or memory")

        monkeypatch.setattr(CHILD, "draw", fail)
        page = phone.browser.get(paper_url(ana_of(phone)), follow=True).content.decode()
        assert "The paper could not be drawn" in page or "the paper could not be drawn" in page

    @pytest.mark.parametrize("on", ["tomorrow", "2026-02-30", "1871-01-01", "2026-6-1x"])
    def test_no_day(self, phone: Phone, on: str, drawn: list[str]) -> None:
        assert phone.browser.get(paper_url(ana_of(phone), on)).status_code == 400
        assert not drawn


class TestLinks:
    def test_from_the_round(self, phone: Phone) -> None:
        later(phone, 1)
        page = phone.browser.get(reverse("field:round")).content.decode()
        assert f'href="{paper_url(ana_of(phone), "2026-06-11")}"' in page
        assert f'href="{paper_url(ana_of(phone), "2026-06-12")}"' in page

    def test_none_for_an_empty_day(self, phone: Phone, staff: dict[str, User]) -> None:
        page = phone.browser.get(reverse("field:round")).content.decode()
        assert paper_url(staff["ana"], "2026-06-12") not in page
        page = signed_in(staff["marek"]).get(reverse("field:round")).content.decode()
        assert "/people/" not in page

    def test_from_the_week(self, phone: Phone, staff: dict[str, User]) -> None:
        office = signed_in(staff["office"])
        page = office.get(reverse("office:rounds")).content.decode()
        assert f'href="{paper_url(staff["ana"], "2026-06-11")}"' in page
        Visit.objects.update(state="written_up")
        page = office.get(reverse("office:rounds")).content.decode()
        assert paper_url(staff["ana"], "2026-06-11") not in page


def plain(html: str) -> str:
    """Return a page's words in a row."""
    return " ".join(re.sub(r"<[^>]*>", " ", html).split())


class TestContent:
    def html(self, phone: Phone, on: dt.date = factories.TODAY) -> str:
        found = paper_of(factories.actor(ana_of(phone)), ana_of(phone), on)
        assert found is not None
        return html_of(found)

    def test_each_line_and_reading_in_the_order_of_the_checklist(self, phone: Phone) -> None:
        work = work_of(factories.actor(ana_of(phone)), phone.visit.pk, phone.sheet.pk)
        wanted: list[str] = []
        for line in work.lines:
            if line.code == LEFT_RUNNING:
                continue
            wanted.append(line_name(line, work))
            names = [reading_name(work, *place) for place in asked(line, work)]
            wanted += [name for name in names if name not in wanted]
        assert len(wanted) > 15
        shown = re.findall(r'<span class="no">\d+</span>([^<]*)', self.html(phone))
        assert [unescape(name) for name in shown] == wanted
        words = plain(self.html(phone))
        for name in [name for _code, name in running_items(work)[0]]:
            assert name in words

    def test_blanks_with_unit_band_and_last_time(self, phone: Phone) -> None:
        told(phone)
        page = self.html(phone)
        row = next(r for r in page.split("<tr") if "Water temperature" in r and 'class="fill"' in r)
        assert "°C" in row
        row = next(r for r in page.split("<tr") if re.search(r"</span>pH<", r))
        assert ">6.40<" in row
        assert "Thu 28 May" in row
        assert "6.4 to 7" in row
        assert "as N" in page

    def test_advice_with_its_dose_and_holds(self, phone: Phone) -> None:
        told(phone)
        words = plain(self.html(phone))
        assert "Stir in 74 g of potassium bicarbonate." in words
        assert "fish: nothing to be eaten until Sat 20 June (salt bath)." in words

    def test_gate_code_only_on_the_day(self, phone: Phone) -> None:
        place = phone.visit.place
        place.gate_code, place.access_notes, place.dog = "4071", "Ring first.", True
        place.save()
        page = self.html(phone)
        assert page.count("4071") == 1
        assert "Gate codes stand on this paper" in page
        assert "Ring first." in page
        Visit.objects.filter(pk=phone.visit.pk).update(
            start=phone.visit.start + dt.timedelta(days=1),
            end=phone.visit.end + dt.timedelta(days=1),
        )
        page = self.html(phone, factories.TODAY + dt.timedelta(days=1))
        assert "4071" not in page
        assert "it is printed on the day alone" in page
        assert "Gate codes stand on this paper" not in page

    def test_answers_given_before_are_not_asked_again(self, phone: Phone) -> None:
        phone.post("start")
        phone.read("ph", "6.8")
        page = self.html(phone)
        row = next(r for r in page.split("<tr") if re.search(r"</span>pH<", r))
        assert "6.8" in row
        assert "given before this was printed" in row
        assert 'class="fill"' not in row

    def test_same_number_of_queries_for_more_visits(self, phone: Phone) -> None:
        def count() -> int:
            with CaptureQueriesContext(connection) as caught:
                self.html(phone)
            return len(caught)

        catalogue_current()
        count()
        one = count()
        later(phone, 0)
        later(phone, 0, "Third pond")
        assert count() == one


def run_together(text: str) -> str:
    """Return text without its blanks and line breaks, each sign in its plain form."""
    return "".join(unicodedata.normalize("NFKC", text).split())


@pytest.mark.pdf
class TestFile:
    @pytest.fixture
    def file(self, phone: Phone) -> bytes:
        told(phone)
        later(phone, 0)
        found = paper_of(factories.actor(ana_of(phone)), ana_of(phone), factories.TODAY)
        assert found is not None
        return html_to_pdf(html_of(found), {}, style=DAY)

    def test_codes_lead_to_the_visits_by_another_reader(self, file: bytes, tmp_path: Path) -> None:
        """Source: ISO/IEC 18004, read by ZXing, which shares nothing with what drew them."""
        path = tmp_path / "day.pdf"
        path.write_bytes(file)
        # the fax's old 200 dots to an inch, grey, is the worst of printers
        subprocess.run(
            ["pdftoppm", "-gray", "-r", "200", "-png", str(path), str(tmp_path / "p")], check=True
        )
        seen = []
        for page in sorted(tmp_path.glob("p*.png")):
            for code in zxingcpp.read_barcodes(Image.open(page)):
                assert code.format == zxingcpp.BarcodeFormat.QRCode
                seen.append(code.text)
        visits = Visit.objects.filter(state="booked").order_by("start")
        base = settings.BACKYARD_BASE_URL
        assert seen == [f"{base}/field/visits/{visit.pk}/" for visit in visits]
        assert len(seen) == 2

    def test_address_leads_to_the_phones_page(self, phone: Phone) -> None:
        answer = phone.browser.get(f"/field/visits/{phone.visit.pk}/")
        assert answer.status_code == 200

    def test_text_comes_out_again(self, file: bytes, phone: Phone) -> None:
        pages = [page.extract_text() for page in PdfReader(io.BytesIO(file)).pages]
        text = run_together(" ".join(pages))
        work = work_of(factories.actor(ana_of(phone)), phone.visit.pk, phone.sheet.pk)
        for line in work.lines:
            assert run_together(line_name(line, work)) in text
        for words in (
            "Okafor, garden", "Front pond", "°C", "mg/L", "Stir in 74 g", "Left running",
            "What to load", "Signature", str(phone.visit.pk)[:8],
        ):  # fmt: skip
            assert run_together(words) in text

    def test_is_tagged_titled_and_says_its_language(self, file: bytes) -> None:
        with pikepdf.open(io.BytesIO(file)) as pdf:
            assert pdf.Root.MarkInfo.Marked
            assert str(pdf.Root.Lang) == "en"
            assert str(pdf.docinfo["/Title"]) == "Round of Ana, Thu 11 June 2026"
            kinds = [item for item in pdf.objects if isinstance(item, pikepdf.Dictionary)]
            figures = [item for item in kinds if item.get("/S") == pikepdf.Name.Figure]
            scopes = [item.A.Scope for item in kinds if item.get("/S") == pikepdf.Name.TH]
        assert len(figures) == 2
        assert all("/field/visits/" in str(figure.get("/Alt", "")) for figure in figures)
        assert len(scopes) > 20

    def test_fonts_are_ours_and_inside(self, file: bytes, tmp_path: Path) -> None:
        path = tmp_path / "d.pdf"
        path.write_bytes(file)
        subprocess.run(["qpdf", "--check", str(path)], check=True, capture_output=True)
        fonts = subprocess.run(["pdffonts", str(path)], capture_output=True, text=True, check=True)
        lines = fonts.stdout.splitlines()[2:]
        assert lines
        for line in lines:
            assert re.search(r"Literata|Atkinson", line), line
            assert " yes yes yes " in line, line

    def test_no_colour(self, file: bytes, tmp_path: Path) -> None:
        path = tmp_path / "c.pdf"
        path.write_bytes(file)
        subprocess.run(["pdftoppm", "-r", "40", str(path), str(tmp_path / "c")], check=True)
        for page in tmp_path.glob("c*.ppm"):
            red, green, blue = Image.open(page).convert("RGB").split()
            assert red.tobytes() == green.tobytes() == blue.tobytes()

    def test_same_page_same_bytes_in_the_child(self, phone: Phone) -> None:
        found = paper_of(factories.actor(ana_of(phone)), ana_of(phone), factories.TODAY)
        assert found is not None
        html = html_of(found)
        child = type(CHILD)()
        try:
            assert child.draw(html, DAY, "a4") == html_to_pdf(html, {}, style=DAY)
        finally:
            child.close()

    def test_hostile_names_are_only_words(self, phone: Phone) -> None:
        place: Any = phone.visit.place
        place.name = place.access_notes = place.street = NASTY[:60]
        place.save()
        place.client.name = NASTY[:60]
        place.client.save()
        phone.built.system.name = NASTY[:60]
        phone.built.system.save()
        Visit.objects.filter(pk=phone.visit.pk).update(reason=NASTY, client_words=NASTY)
        found = paper_of(factories.actor(ana_of(phone)), ana_of(phone), factories.TODAY)
        assert found is not None
        html = html_of(found)
        assert "<script" not in html
        assert "<img" not in html
        assert html_to_pdf(html, {}, style=DAY).startswith(b"%PDF")
