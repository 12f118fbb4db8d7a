"""A visit told to the office, the technician and the client in the pseudo language."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import asdict
from uuid import uuid4

import pytest
from django.core.mail import EmailMultiAlternatives
from django.urls import reverse
from django.utils import translation

from apps.accounts.services import link_issue
from apps.advice.explaining import ASSUMPTIONS, FORMULAS, explanation_words
from apps.advice.selectors import advice_text, caution_texts
from apps.batches.models import HarvestHold, Treatment, Weighing
from apps.calc.advice.cautions import CAUTIONS
from apps.calc.advice.results import Advice
from apps.calc.advice.texts import OF_THE_OFFICE, TEXTS
from apps.calc.callscript import STEPS
from apps.calc.dosing_plan.products import PRODUCTS
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Contact
from apps.field.paper import html_of as day_html
from apps.field.paper import paper_of
from apps.flows.letters import compose
from apps.flows.letters_on_the_way import late_letters
from apps.flows.office_letters import due_list_letter
from apps.flows.reminder_letters import reminder_letters
from apps.flows.report_letters import report_letters
from apps.flows.visit_letters import appointment_letters
from apps.flows.weather_watching import send_list
from apps.incidents.services import incident_answer, incident_open
from apps.reports.models import Letter, ReportVersion
from apps.reports.rendering.document import html_of
from apps.reports.services.letters import letter_make
from apps.visits.models import Reading, Visit
from tests import factories
from tests.field.conftest import Phone, phone, staff, ticking  # noqa: F401
from tests.field.test_ending import RUNNING, picture
from tests.language.clients import untranslated
from tests.language.conftest import everybody_reads, plain_on
from tests.language.pseudo import CODE, Pseudo
from tests.office.conftest import Desk, desk, empty, no_broker, refresh, standing_clock  # noqa: F401
from tests.reader import Reader as Browser

# harmful, out of band, near the edge, in band; each with what comes of it
BAD = {
    "temp": (31.0, "°C"), "ph": (8.3, ""), "alk": (27.0, "mg/L CaCO3"), "do": (3.9, "mg/L"),
    "tan": (2.6, "mg/L"), "no2": (1.4, "mg/L"), "no3": (140.0, "mg/L"), "ec": (2.4, "mS/cm"),
}  # fmt: skip


def seen_before(built: factories.Built) -> None:
    """Put readings of earlier weeks on record, a treatment and a weighing."""
    for days in (60, 45, 30, 14):
        at = factories.NOW - dt.timedelta(days=days)
        Reading.objects.bulk_create(
            Reading(
                loop=built.loop, measurand=name, value=value * (1 - days / 300), unit=unit,
                typed="x", taken_at=at, received_at=at, word="in_band",
            )
            for name, (value, unit) in BAD.items()
        )  # fmt: skip
    treatment = Treatment.objects.create(
        loop=built.loop, product="Saltbath", lot="L4", on_whose_word="Vet",
        began_on=factories.TODAY - dt.timedelta(days=3),
    )  # fmt: skip
    HarvestHold.objects.create(
        treatment=treatment, touches="fish", until=factories.TODAY + dt.timedelta(days=9)
    )
    Weighing.objects.create(
        batch=built.loop.fish_batches.get(), on=factories.TODAY - dt.timedelta(days=7),
        weights_g=[180.0, 190.0, 200.0], mean_g=190,
    )  # fmt: skip


@pytest.fixture
def told(desk: Desk, pseudo: Pseudo) -> Visit:  # noqa: F811
    """A written-up visit with bad readings, drawn and not yet released."""
    everybody_reads()
    seen_before(desk.built)
    visit = desk.written_up(**BAD)
    desk.drawn(visit)
    refresh(desk.built.system.pk)
    return visit


def letter_of(letter: Letter) -> Iterator[tuple[str, str]]:
    """Both parts of a letter, its subject, and its calendar's words as texts."""
    message = compose(letter)
    assert isinstance(message, EmailMultiAlternatives)
    yield "subject", f"<p>{message.subject}</p>"
    yield "text", "<p>" + str(message.body).replace("<", "&lt;") + "</p>"
    html = [str(part.content) for part in message.alternatives if part.mimetype == "text/html"]
    assert html
    yield from (("html", part) for part in html)


class TestOffice:
    @pytest.mark.parametrize("released", [False, True])
    def test_visit_and_system(self, desk: Desk, told: Visit, released: bool) -> None:  # noqa: F811
        if released:
            desk.post("visit_release", told.pk)
        system = desk.built.system
        for name, args in (
            ("visit", [told.pk]), ("system", [system.pk]), ("due", []), ("systems", []),
            ("place", [system.place_id]), ("plan", [system.pk]), ("letters", []), ("search", []),
        ):  # fmt: skip
            answer = desk.browser.get(reverse(f"office:{name}", args=args), {"q": "O"})
            assert not (plain := plain_on(answer.content.decode())), f"{name}: {plain}"

    @pytest.mark.parametrize(
        "asked",
        [{"goal": "alkalinity", "target": "60"}, {"goal": "k", "target": "40"},
         {"goal": "chloride"}, {"goal": "source", "target": "60"}, {"goal": "ph", "tan": "3"}],
    )  # fmt: skip
    def test_dosing(self, desk: Desk, pseudo: Pseudo, asked: dict[str, str]) -> None:  # noqa: F811
        page = desk.get("loop_dosing", desk.built.loop.pk, **{
            "every_days": "1", "who": "client", "scale_g": "0.1", "volume_l": "1500", "acid": "HCl",
            "alk": "30", "ph": "6.5", "temp": "25", "tan": "0.2", "k": "12", "no2": "1.5",
            "source_alk": "180", "source_ph": "7.8", "barrel_l": "200", "acid_pct": "37",
            "at_hand": ["KHCO3", "Ca(OH)2", "K2SO4", "CaCl2.2H2O", "HCl"], **asked,
        })  # fmt: skip
        assert (page.context["answer"] is None) == (asked["goal"] == "ph")
        text = page.content.decode()
        for code in [*PRODUCTS, "HNO3"]:
            # a formula is the same in every language
            text = text.replace(f", {code.replace('.', '·')}", "")
        assert not (plain := plain_on(text)), plain

    def test_booking_each_step(self, desk: Desk, pseudo: Pseudo) -> None:  # noqa: F811
        visit = desk.pencil()
        for act in ("booked", "under_way", "pencilled", "called_off"):
            page = desk.get("visit_step", visit.pk, act)
            assert not (plain := plain_on(page.content.decode())), plain
            answer = desk.browser.post(
                reverse("office:visit_step", args=[visit.pk, act]), {"reason": ""}, follow=True
            )
            assert not (plain := plain_on(answer.content.decode())), plain


class TestPaper:
    def test_a_printed_day(self, phone: Phone, pseudo: Pseudo) -> None:  # noqa: F811
        seen_before(phone.built)
        visit = phone.visit
        visit.place.gate_code, visit.place.dog = "4071", True
        visit.place.save()
        ana = visit.assignments.get().user
        for on in (factories.TODAY, factories.TODAY + dt.timedelta(days=1)):
            Visit.objects.filter(pk=visit.pk).update(
                start=visit.start + (on - factories.TODAY), end=visit.end + (on - factories.TODAY)
            )
            with translation.override(CODE):
                paper = paper_of(factories.actor(ana), ana, on)
                assert paper is not None
                page = day_html(paper)
            assert not (plain := plain_on(page)), plain


class TestPhone:
    def test_a_whole_visit(self, phone: Phone, pseudo: Pseudo) -> None:  # noqa: F811
        everybody_reads()
        pages = [phone.browser.get(reverse("field:round"), follow=True), phone.post("start")]
        for name, (value, _unit) in BAD.items():
            phone.read(name, str(value))
            pages.append(phone.browser.get(phone.reading_url(name)))
        # refused, doubted, not measured
        pages += [
            phone.read("ph", "71"),
            phone.read("ph", "seven"),
            phone.read("temp", "82"),
            phone.browser.get(phone.reading_url("temp")),
            phone.read("ph", "8.3"),
            phone.post("finding", {"sign": "", "text": ""}, key=uuid4()),
            phone.post("finding", {"sign": "fish_gasping", "photo": picture()}, key=uuid4()),
            phone.post("advice", {"advice": str(uuid4()), "decision": "burn"}),
            phone.post("left_running", {"tick": RUNNING[:2]}),
            phone.post("finish"),
        ]
        for line in phone.sheet.lines.all():
            pages.append(phone.get("line", line=line.pk))
            pages.append(phone.post("line", {"outcome": "not_done", "reason": ""}, line=line.pk))
        for name in ("visit", "sheet", "measure", "findings", "advice", "left_running", "finish"):
            pages.append(phone.get(name))
        phone.post("left_running", {"tick": RUNNING, "photo": picture()})
        pages += [phone.post("finish"), phone.get("result"), phone.get("visit"), phone.get("sheet")]
        found = {
            f"{page.request['PATH_INFO']}: {plain}"
            for page in pages
            if (plain := plain_on(page.content.decode(), "seven"))
        }
        assert not found, "\n".join(sorted(found))


class TestClient:
    def test_report(self, told: Visit, pseudo: Pseudo) -> None:
        snapshot = ReportVersion.objects.get().snapshot
        assert snapshot["language"] == "xx"
        pseudo.seen.clear()
        assert not (plain := plain_on(html_of(snapshot))), plain
        assert not untranslated(pseudo.seen)

    @pytest.mark.parametrize("units", ["metric", "us"])
    def test_page(
        self,
        units: str,
        desk: Desk,  # noqa: F811
        told: Visit,
        pseudo: Pseudo,
    ) -> None:
        desk.post("visit_release", told.pk)
        visit = desk.booked(start=factories.NOW + dt.timedelta(days=3))
        secret = link_issue(
            client_id=desk.place.client_id, purpose="page", at=factories.NOW, secret="s" * 43
        )
        for answer in ("", "confirmed", "other_time", "declined"):
            Visit.objects.filter(pk=visit.pk).update(client_answer=answer or "asked")
            pseudo.seen.clear()
            page = Browser().get(reverse("portal:page", args=[secret])).content.decode()
            assert "⟦" in page
            assert not (plain := plain_on(page)), plain
            assert not untranslated(pseudo.seen)

    def test_letters(self, desk: Desk, told: Visit, pseudo: Pseudo) -> None:  # noqa: F811
        desk.place.dog, desk.place.gate_code = True, "1234"
        desk.place.save()
        visit = desk.booked(start=factories.NOW + dt.timedelta(days=3))
        letters = [
            *report_letters(told, list(ReportVersion.objects.all()), factories.NOW),
            *appointment_letters(visit, "appointment", factories.NOW),
            *appointment_letters(visit, "called_off", factories.NOW),
            *reminder_letters([visit], factories.NOW), due_list_letter(factories.TODAY, factories.NOW),
        ]  # fmt: skip
        assert len({letter.kind for letter in letters}) == 5
        pseudo.seen.clear()
        for letter in letters:
            for where, part in letter_of(letter):
                assert not (plain := plain_on(part)), f"{letter.kind} {where}: {plain}"
            # the list of what is due, the last of them, is the office's own letter
            assert letter.kind == "due_list" or not untranslated(pseudo.seen)


class TestCall:
    """A call for help, and a weather that is coming, from the first question to the letters."""

    def test_every_answer(self, desk: Desk, pseudo: Pseudo) -> None:  # noqa: F811
        everybody_reads()
        incident = incident_open(
            system=desk.built.system, kind="gasping", by=desk.actor, at=factories.NOW
        )
        for step in STEPS.values():
            for answer in step.answers:
                incident_answer(
                    incident=incident, step=step.code, answer=answer.code, by=desk.actor,
                    at=factories.NOW,
                )  # fmt: skip
                page = desk.get("incident", incident.pk, step=step.code).content.decode()
                assert not (plain := plain_on(page)), f"{step.code} {answer.code}: {plain}"

    def test_somebody_sent_and_closed(self, desk: Desk, pseudo: Pseudo) -> None:  # noqa: F811
        everybody_reads()
        later = desk.booked(start=factories.NOW + dt.timedelta(minutes=20))
        incident = incident_open(
            system=desk.built.system, kind="power", by=desk.actor, at=factories.NOW
        )
        pages = [desk.get("incident", incident.pk)]
        for what in (f"send:{desk.ana.pk}", "stand:watching", "note", "answer:people:x"):
            data = {"do": what, "text": "", "key": str(uuid4())}
            pages.append(desk.post("incident", incident.pk, **data))
            pages.append(desk.get("incident", incident.pk))
        pages += [
            desk.get("running_late", incident.pk, later.pk), desk.get("due"),
            desk.post("incident_close", incident.pk, rev="9", cause="air", outcome="O"),
            desk.post("incident_close", incident.pk, rev="3", cause="air", outcome="O", fish_lost="2"),
            desk.get("incident", incident.pk), desk.get("incidents"),
            desk.get("system", desk.built.system.pk), desk.get("call", q="zzzz"),
        ]  # fmt: skip
        for page in pages:
            # the closing form came once too late: what was typed stands beside what is kept
            codes = ("no", "hurt", "wet", "unsure", "air", "power")
            plain = plain_on(page.content.decode(), "O", "zzzz", *codes)
            assert not plain, f"{page.request['PATH_INFO']}: {plain}"

    def test_letters(self, desk: Desk, pseudo: Pseudo) -> None:  # noqa: F811
        everybody_reads()
        visit = desk.booked()
        incident = incident_open(
            system=desk.built.system, kind="power", by=desk.actor, at=factories.NOW
        )
        late_letters(visit, incident.pk, factories.NOW, factories.NOW)
        for kind in ("heat", "frost", "storm"):
            send_list(
                kind=kind, systems=[desk.built.system], words="", by=desk.actor, at=factories.NOW
            )
            page = desk.get("weather_new", kind).content.decode()
            assert not (plain := plain_on(page)), plain
        for kind in ("on_my_way", "running_late"):
            letter_make(
                kind=kind, key=f"{kind} said", address="a@mail.example", visit=visit,
                contact=desk.place.client.contacts.first(), at=factories.NOW,
                parameters={"there": visit.start.isoformat(), "was": visit.start.isoformat(),
                            "by": str(desk.ana.pk)},
            )  # fmt: skip
        kinds = ["running_late", "weather", "on_my_way"]
        letters = list(Letter.objects.filter(kind__in=kinds))
        assert len(letters) == 6
        pseudo.seen.clear()
        for letter in letters:
            for where, part in letter_of(letter):
                assert not (plain := plain_on(part)), f"{letter.kind} {where}: {plain}"
        secret = link_issue(
            client_id=desk.place.client_id, purpose="page", at=factories.NOW, secret="w" * 43
        )
        page = Browser().get(reverse("portal:page", args=[secret])).content.decode()
        assert not (plain := plain_on(page)), plain
        assert not untranslated(pseudo.seen)


class TestAdvice:
    """Every rule's sentences, whether or not a page of this file shows them."""

    def test_rules(self, pseudo: Pseudo, db: None) -> None:
        for rule in [*TEXTS, *OF_THE_OFFICE]:
            draft = Advice(
                rule=rule, loop="", urgency="today", who="client", by_hours=12.0,
                recheck_hours=24.0, source="practice", priority=30,
                params={"no_dose": "measure_first"}, answers=("ph.low",),
            )  # fmt: skip
            assert not (plain := plain_on(f"<p>{advice_text(rule, asdict(draft))}</p>")), plain

    def test_cautions_formulas_assumptions(self, pseudo: Pseudo, db: None) -> None:
        held = catalogue_current()
        texts = caution_texts(CAUTIONS)
        for code in FORMULAS:
            how = {"formula": code, "assumptions": list(ASSUMPTIONS)}
            words = explanation_words(how, held)
            texts += [words["formula"], *words["assumptions"]]
        assert not (plain := plain_on("".join(f"<p>{text}</p>" for text in texts))), plain


def test_a_letter_of_a_report_is_in_its_readers_language(desk: Desk, told: Visit) -> None:  # noqa: F811
    """Of two who read about the same report each has days and figures in their own language."""
    Contact.objects.update(language="es")
    letter = report_letters(told, list(ReportVersion.objects.all()), factories.NOW)[0]
    message = compose(letter)
    assert "jue 11 jun" in message.body
    assert "Thu" not in message.body
