"""The canary world: two clients whose every row holds a word that the other must never see."""

import datetime as dt
from dataclasses import dataclass, field
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.test import Client as Browser

from apps.accounts.models import AccessToken, CalendarFeed, ClientLink, Closure, StaffSession, User
from apps.accounts.selectors import firm_current
from apps.accounts.services import feed_issue, link_issue, token_issue
from apps.advice.models import Advice
from apps.batches.models import FishBatch, HarvestHold, Planting, Treatment
from apps.calc.design.wish import Site, Wish
from apps.care.models import (
    CareTask,
    FeedCount,
    MeterReading,
    MeterWithdrawal,
    Standing,
    StandingAppointment,
)
from apps.catalogue.models import Entry
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import (
    Client,
    Climate,
    ClimateMonth,
    Contact,
    Place,
    SourceWater,
    TimeAway,
    VisitingHours,
)
from apps.core import files
from apps.core.scoping import system
from apps.incidents.models import (
    Incident,
    IncidentNote,
    IncidentPhoto,
    PutOff,
    WeatherAsk,
    WeatherWatch,
)
from apps.proposals.designs import rules_of
from apps.proposals.models import (
    ProposalVersion,
    ProposalWord,
    Sending,
    SiteSurvey,
    SurveyPhoto,
)
from apps.proposals.services import proposal_make
from apps.proposals.snapshots import snapshot_of
from apps.reports.models import BlockedAddress, Letter, Release, Report, ReportCopy, ReportVersion
from apps.rounds.models import Absence, Hold, RoundPlan, TimeOffered, TimesOffered
from apps.systems.models import Component, Flow
from apps.visits.models import (
    Assignment,
    CallNote,
    CheckIn,
    Finding,
    Phone,
    PhoneRemark,
    Photo,
    Reading,
    ReadingPhoto,
    RefusedOperation,
    Sheet,
    Visit,
)
from tests import factories
from tests.ahead.outlooks import keep

JPEG = bytes.fromhex("ffd8ffe000104a46494600010100000100010000ffd9")


@dataclass
class House:
    """One household with a row of every kind; `canary` stands in each of its texts."""

    canary: str
    client: Client
    built: factories.Built
    visit: Visit
    rows: dict[str, Any] = field(default_factory=dict)
    link: str = ""
    calendar: str = ""


def house(canary: str, technician: User, hour: int) -> House:
    """Build a household around one canary word, with an assigned technician."""
    client = factories.client(canary, notes=f"note {canary}")
    place = factories.place(
        client, name=f"place {canary}", street=f"street {canary}", access_notes=f"gate {canary}",
        gate_code=f"code-{canary}", dog=True,
    )  # fmt: skip
    built = factories.system(place, f"system {canary}", notes=f"system note {canary}")
    start = factories.NOW + dt.timedelta(hours=hour)
    visit = Visit.objects.create(
        place=place, state="booked", start=start, end=start + dt.timedelta(hours=1),
        reason=f"reason {canary}", made_at=factories.NOW,
    )  # fmt: skip
    Assignment.objects.create(visit=visit, user=technician, start=visit.start, end=visit.end)
    sheet = Sheet.objects.create(visit=visit, system=built.system)
    from apps.visits.services.lines import lines_make

    lines_make(visit=visit, sheets=[sheet])
    rows = {"sheet": sheet} | _readings(built, sheet, canary)
    rows |= _reports(built, visit, canary, rows["photo"]) | _away(place, canary)
    treatment = Treatment.objects.create(
        loop=built.loop, product=f"product {canary}", lot=f"lot {canary}",
        on_whose_word=f"vet {canary}", began_on=factories.TODAY,
    )  # fmt: skip
    HarvestHold.objects.create(
        treatment=treatment, touches="fish", until=factories.TODAY + dt.timedelta(days=9)
    )
    VisitingHours.objects.create(place=place, weekday=1, opens=dt.time(8), closes=dt.time(18))
    CallNote.objects.create(
        client=client, system=built.system, at=factories.NOW, by="office", text=f"call {canary}"
    )
    link = link_issue(
        client_id=client.pk, purpose="page", at=factories.NOW, secret=f"secret-{canary}-0123456789"
    )
    rows |= {
        "technician": technician, "place": place, "contact": Contact.objects.get(client=client), "client": client,
        "component": Component.objects.filter(loop=built.loop).first(),
        "batch": FishBatch.objects.get(loop=built.loop),
        "planting": Planting.objects.get(component__loop=built.loop),
        "task": CareTask.objects.filter(system=built.system).first(),
        "metered": _metered(built, canary), "counted": _counted(built, canary),
        "feed_count": _feed(built, canary),
        "source": SourceWater.objects.get(place=place), "treatment": treatment,
        "link": ClientLink.objects.get(client_id=client.pk),
        "flow": Flow.objects.filter(source__loop=built.loop).first(),
        "line": sheet.lines.first(), "advice": _advice(built, sheet, canary),
    }  # fmt: skip
    rows |= _phone(visit, technician, canary) | {
        "round_plan": _round_plan(canary),
        "absence": Absence.objects.create(
            user=technician, first=factories.TODAY, last=factories.TODAY, reason=f"away {canary}"
        ),
    }  # fmt: skip
    rows["standing"] = StandingAppointment.objects.create(
        place=place, rrule="FREQ=WEEKLY;INTERVAL=2;BYDAY=TU", first=factories.TODAY,
        starts=dt.time(9), ends=dt.time(11), technician=technician, made_at=factories.NOW,
    )  # fmt: skip
    _visit_days(built, visit)
    keep(built)
    rows["closure"] = Closure.objects.create(
        name=f"closure {canary}", first=factories.TODAY + dt.timedelta(days=40 + hour),
        last=factories.TODAY + dt.timedelta(days=40 + hour),
    )  # fmt: skip
    rows["climate"] = Climate.objects.create(place=place, source=f"station {canary}")
    ClimateMonth.objects.bulk_create(
        ClimateMonth(climate=rows["climate"], month=month, low_c=5, high_c=15, rain_mm=60)
        for month in range(1, 13)
    )
    rows |= _incident(built, visit, canary)
    rows |= _proposal(place, canary)
    rows |= _weather(built, rows["contact"], canary) | _offer(visit, technician, hour)
    # the address of the client's calendar, and a calendar of the technician
    calendar = feed_issue(client_id=client.pk, at=factories.NOW, by=factories.actor(technician))
    rows["feed"] = CalendarFeed.objects.get(client_id=client.pk)
    feed_issue(user=technician, at=factories.NOW, by=factories.actor(technician))
    rows["own_feed"] = CalendarFeed.objects.get(user=technician)
    return House(canary, client, built, visit, rows, link, calendar)


def _proposal(place: Place, canary: str) -> dict[str, Any]:
    """Return a survey of the place, and a proposal with a version and prices."""
    survey = SiteSurvey.objects.create(
        place=place, on=factories.TODAY, surveyed_by=f"surveyor {canary}", wants=f"wants {canary}",
        shade=f"shade {canary}", comers=f"cats {canary}", allowed="free",
        allowed_by=f"office {canary}", notes=f"seen {canary}", species="nile_tilapia", rcd="none",
        made_at=factories.NOW, made_by="office", changed_at=factories.NOW, changed_by="office",
    )  # fmt: skip
    proposal = proposal_make(
        place=place, name=f"proposal {canary}",
        wish=Wish("beds", 4, "nile_tilapia", "leafy", "raft"), site=Site(18, 30),
        rules=rules_of(catalogue_current()), crop="", by=system("world", factories.NOW),
        at=factories.NOW, today=factories.TODAY,
    )  # fmt: skip
    proposal.words, proposal.left_out = f"words {canary}", f"without {canary}"
    proposal.answer_words = f"said {canary}"
    proposal.prices = {"tank": 4_500}
    proposal.extras = [{"text": f"extra {canary}", "amount": 350_000}]
    proposal.save()
    snapshot = snapshot_of(proposal, version=1, firm=firm_current(), contact=None, at=factories.NOW)
    pdf, digest = files.store("proposals", b"%PDF-1.7 proposal " + canary.encode(), "pdf")
    version = ProposalVersion.objects.create(
        proposal=proposal, number=1, snapshot=snapshot, template="1", language="en", pdf=pdf,
        pdf_size=10, sha256=digest, made_at=factories.NOW, made_by="office",
    )  # fmt: skip
    Sending.objects.create(version=version, at=factories.NOW, by="office")
    word = ProposalWord.objects.create(
        version=version, kind="question", words=f"asked {canary}", at=factories.NOW,
        contact=Contact.objects.get(client=place.client),
    )  # fmt: skip
    stored, digest = files.store("photos", JPEG + b"site " + canary.encode(), "jpg")
    photo = SurveyPhoto.objects.create(
        survey=survey, number=1, caption=f"wall {canary}", screen=stored, small=stored, sha256=digest,
        width=1, height=1, kept_at=factories.NOW, kept_by=f"by {canary}",
    )  # fmt: skip
    return {
        "survey": survey, "proposal": proposal, "proposal_version": version,
        "proposal_word": word, "survey_photo": photo,
    }  # fmt: skip


def _round_plan(canary: str) -> RoundPlan:
    """Return a plan of rounds of which nothing came."""
    return RoundPlan.objects.create(
        first=factories.TODAY, days=1, iterations=1, state="failed", made_at=factories.NOW,
        made_by="office", failed_code="refused",
        failed_params={"text": canary, "params": {}},
    )  # fmt: skip


def _offer(visit: Visit, technician: User, hour: int) -> dict[str, Any]:
    """Return a time that the client may still choose, next week."""
    offer = TimesOffered.objects.create(
        visit=visit, until=factories.NOW + dt.timedelta(days=1), made_by="office",
        made_at=factories.NOW,
    )  # fmt: skip
    start = factories.NOW + dt.timedelta(days=7, hours=hour)
    time = TimeOffered.objects.create(
        offer=offer, start=start, end=start + dt.timedelta(hours=1), told_from=start,
        told_until=start + dt.timedelta(hours=2), extra=70_000, metres=9_000,
    )  # fmt: skip
    hold = Hold.objects.create(time=time, user=technician, start=time.start, end=time.end)
    return {"offer": offer, "time": time, "hold": hold}


def _visit_days(built: factories.Built, visit: Visit) -> None:
    """Plan the place's visit days, with a change of each kind and a question."""
    from apps.care.models import DayQuestion
    from apps.flows.visit_days import visit_days_make

    plan = visit_days_make(place_id=visit.place_id, at=factories.NOW)
    assert plan is not None
    row = {"task": "", "code": "flow_test", "system": str(built.system.pk)}
    days = [("2026-06-18", "2026-06-19"), (None, "2026-06-19"), ("2026-06-18", None)]
    whys = ["day_closed", "new_task", "kept_apart"]
    plan.changes = [
        row | {"old": old, "new": new, "why": why}
        for (old, new), why in zip(days, whys, strict=True)
    ]
    plan.changed_at = factories.NOW
    plan.save()
    DayQuestion.objects.filter(visit_id=visit.pk).delete()
    DayQuestion.objects.create(
        place=visit.place, visit_id=visit.pk, on=factories.TODAY, reason="fewer_visits",
        instead=factories.TODAY + dt.timedelta(days=1),
    )  # fmt: skip


def _weather(built: factories.Built, contact: Contact, canary: str) -> dict[str, Any]:
    """Return a list for a heat wave that went out, not answered yet."""
    watch = WeatherWatch.objects.create(
        kind="heat", words=f"words {canary}", made_at=factories.NOW, by=f"by {canary}"
    )
    ask = WeatherAsk.objects.create(watch=watch, contact=contact)
    ask.systems.add(built.system)
    return {"watch": watch, "ask": ask}


def _incident(built: factories.Built, visit: Visit, canary: str) -> dict[str, Any]:
    """Return a call for help that the visit followed and had to wait for: a note, a client's photo."""
    incident = Incident.objects.create(
        system=built.system, kind="gasping", opened_at=factories.NOW, opened_by=f"by {canary}",
        said=f"said {canary}", caller=f"caller {canary}", visit=visit, answers={"people": "no"},
    )  # fmt: skip
    IncidentNote.objects.create(
        incident=incident, at=factories.NOW, by=f"by {canary}", text=f"note of {canary}"
    )
    PutOff.objects.create(
        incident=incident, visit=visit, was=visit.start - dt.timedelta(minutes=20),
        now=visit.start, at=factories.NOW,
    )  # fmt: skip
    note = IncidentNote.objects.create(
        incident=incident, at=factories.NOW, by=f"by {canary}", kind="act", text=f"asks {canary}",
        what={"act": "asked", "signs": ["gasping"], "photos": 1, "caller": f"caller {canary}"},
    )  # fmt: skip
    name, digest = files.store("photos", JPEG + b"help " + canary.encode(), "jpg")
    photo = IncidentPhoto.objects.create(
        note=note, position=0, screen=name, small=name, sha256=digest, width=1, height=1
    )
    return {"incident": incident, "incident_photo": photo}


def _metered(built: factories.Built, canary: str) -> CareTask:
    """Return a task that waits for a counter."""
    return CareTask.objects.create(
        system=built.system, loop=built.loop, code="records_read", mode="meter",
        meter="run_hours", meter_limit=500.0, max_days=365,
    )  # fmt: skip


def _counted(built: factories.Built, canary: str) -> MeterReading:
    """Return what the counter of that task showed; what it showed before was withdrawn."""
    first, second = (
        MeterReading.objects.create(
            system=built.system, loop=built.loop, meter="run_hours", value=value,
            taken_on=factories.TODAY, by=f"by {canary}", made_at=factories.NOW,
        )
        for value in (1.0, 2.0)
    )  # fmt: skip
    MeterWithdrawal.objects.create(
        reading=first, reason=f"withdrawn {canary}", by=f"by {canary}", made_at=factories.NOW
    )
    return second


def _feed(built: factories.Built, canary: str) -> FeedCount:
    """Return a count of feed, with the day until which it lasts."""
    row = FeedCount.objects.create(
        system=built.system, amount_g=400.0, counted_at=factories.NOW, counted_by="client",
        by=f"by {canary}", made_at=factories.NOW,
    )  # fmt: skip
    Standing.objects.filter(system=built.system).update(
        feed_count=str(row.pk), feed_until=factories.TODAY + dt.timedelta(days=5),
        feed={"amount_g": 400.0, "counted_on": "2026-06-11", "soonest": "2026-06-15",
              "latest": "2026-06-17"},
    )  # fmt: skip
    return row


def _phone(visit: Visit, technician: User, canary: str) -> dict[str, Any]:
    """Return a technician's phone, with an answer that could not be taken and a check-in."""
    phone = Phone.objects.create(
        user=technician, first_at=factories.NOW, last_at=factories.NOW, version="3f2a91c07d11"
    )
    refused = RefusedOperation.objects.create(
        operation=f"op {canary}", device=str(phone.pk), seq=1, why=[{"message": f"why {canary}"}],
        payload={"path": "roof", "value": f"refused {canary}"}, received_at=factories.NOW,
        by=f"technician:{technician.pk}",
    )  # fmt: skip
    return {
        "phone": phone,
        "remark": PhoneRemark.objects.create(
            kind="refused", device=str(phone.pk), visit=visit, refused=refused,
            made_at=factories.NOW,
        ),
        "check_in": CheckIn.objects.create(
            visit=visit, by=f"technician:{technician.pk}", fine_by=factories.NOW
        ),
    }  # fmt: skip


def _advice(built: factories.Built, sheet: Sheet, canary: str) -> Advice:
    from apps.advice.services import advice_row
    from apps.calc.advice.results import Advice as Drafted

    draft = Drafted(
        rule="alkalinity_low", loop=str(built.loop.pk), urgency="today", who="client", by_hours=12.0,
        recheck_hours=24.0, source="practice", priority=30, params={"alk": 27.0},
    )  # fmt: skip
    row = advice_row(draft, sheet, 0, factories.NOW)
    row.decision, row.decision_text, row.decision_reason = "edit", f"advice {canary}", "why"
    row.save()
    return row


def _readings(built: factories.Built, sheet: Sheet, canary: str) -> dict[str, Any]:
    reading = Reading.objects.create(
        loop=built.loop, sheet=sheet, measurand="ph", value=6.4, unit="", typed="6.4",
        taken_at=factories.NOW - dt.timedelta(days=1), received_at=factories.NOW, word="in_band",
        by=f"by {canary}", instrument=f"meter {canary}",
    )  # fmt: skip
    name, digest = files.store("photos", JPEG + canary.encode(), "jpg")
    photo = Photo.objects.create(
        sheet=sheet, caption=f"caption {canary}", screen=name, small=name, sha256=digest, width=1,
        height=1, taken_at=factories.NOW, by=f"by {canary}",
    )  # fmt: skip
    finding = Finding.objects.create(
        sheet=sheet, text=f"finding {canary}", seen_at=factories.NOW, photo_ids=[str(photo.pk)]
    )
    tube = ReadingPhoto.objects.create(
        reading=reading, screen=name, small=name, sha256=digest, width=1, height=1
    )
    return {"reading": reading, "photo": photo, "finding": finding, "reading_photo": tube}


def _away(place: Place, canary: str) -> dict[str, Any]:
    """Return days on which nobody is at home."""
    first = factories.TODAY + dt.timedelta(days=3)
    row = TimeAway.objects.create(
        place=place, first=first, last=first + dt.timedelta(days=7), carer_name=f"carer {canary}",
        carer_phone=f"number {canary}", notes=f"key {canary}", made_at=factories.NOW,
        by=f"by {canary}",
    )  # fmt: skip
    return {"away": row}


def _reports(built: factories.Built, visit: Visit, canary: str, photo: Photo) -> dict[str, Any]:
    old = Visit.objects.create(
        place=visit.place, state="written_up", start=factories.NOW - dt.timedelta(days=3),
        end=factories.NOW - dt.timedelta(days=3, hours=-1), made_at=factories.NOW,
        started_at=factories.NOW - dt.timedelta(days=3),
        finished_at=factories.NOW - dt.timedelta(days=3), reason=f"old {canary}",
    )  # fmt: skip
    Sheet.objects.create(visit=old, system=built.system)
    report = Report.objects.create(
        number=Report.objects.count() + 1, system=built.system, visit=old, made_at=factories.NOW
    )
    pdf, digest = files.store("reports", b"%PDF-1.7 " + canary.encode(), "pdf")
    snapshot = {
        "template": "1", "language": "en", "units": "metric", "time_zone": "UTC", "number": 1,
        "version": 1, "reason": "", "client": f"client {canary}", "readings": [], "derived": [],
        "advice": [], "lines": [], "findings": [], "fish": [], "plants": [], "holds": [],
        "sketch": [], "next": {"booked": None, "due": None, "tasks": []},
        "photos": [{"id": str(photo.pk), "file": photo.small, "caption": photo.caption,
                    "on": factories.TODAY.isoformat()}],
        "firm": {"name": "Reed & Roach", "street": "", "town": "", "phone": "1",
                 "emergency_phone": "2", "email": "office@reedandroach.example"},
        "place": {"name": f"place {canary}", "address": f"address {canary}"},
        "system": {"id": str(built.system.pk), "name": f"system {canary}", "kind": "coupled"},
        "visit": {"id": str(old.pk), "start": old.start.isoformat(),
                  "started": old.start.isoformat(), "finished": old.end.isoformat(),
                  "technicians": [f"tech {canary}"], "reason": ""},
    }  # fmt: skip
    version = ReportVersion.objects.create(
        report=report, number=1, snapshot=snapshot, template="1", language="en", pdf=pdf,
        pdf_size=10, sha256=digest, made_at=factories.NOW,
    )  # fmt: skip
    ReportCopy.objects.create(
        version=version, language="es", units="us", pdf=pdf, pdf_size=10, sha256=digest,
        made_at=factories.NOW,
    )  # fmt: skip
    Release.objects.create(version=version, at=factories.NOW, by="office")
    summary = Report.objects.create(
        number=Report.objects.count() + 1, system=built.system, kind="summary",
        period_from=factories.TODAY - dt.timedelta(days=90), period_to=factories.TODAY,
        made_at=factories.NOW,
    )  # fmt: skip
    ReportVersion.objects.create(
        report=summary, number=1, snapshot=snapshot | {"kind": "summary"}, template="2",
        language="en", pdf=pdf, pdf_size=10, sha256=digest, made_at=factories.NOW,
    )  # fmt: skip
    letter = Letter.objects.create(
        kind="report", key=f"key {canary}", contact=Contact.objects.get(client=visit.place.client),
        address=f"{canary}@mail.example".lower(), visit=visit, message_id=f"<{canary}@x>",
        subject_line=f"subject {canary}", state="failed", made_at=factories.NOW,
        last_error=f"error {canary}", parameters={"versions": [str(version.pk)]},
    )  # fmt: skip
    blocked = BlockedAddress.objects.create(
        address=f"{canary}@gone.example".lower(), why="bounced", words=f"words {canary}",
        since=factories.NOW, letter=letter,
    )  # fmt: skip
    return {
        "report": report, "version": version, "letter": letter, "old_visit": old,
        "blocked": blocked, "summary": summary,
    }  # fmt: skip


@dataclass
class Canaries:
    """Both houses and everybody who may ask."""

    office: User
    ana: User
    marek: User
    first: House
    second: House
    tokens: dict[str, str]
    sessions: dict[str, str]


def build() -> Canaries:
    """Ana is assigned to the first house, Marek to the second."""
    factories.firm()
    office, ana, marek = (
        factories.user("office", "office"), factories.user("ana"), factories.user("marek"),
    )  # fmt: skip
    first = house("KINGFISHER", ana, 1)
    second = house("DRAGONFLY", marek, 2)
    tokens = {
        user.username: token_issue(user=user, name="t", at=factories.NOW)
        for user in (office, ana, marek)
    }
    StaffSession.objects.create(session_key="k" * 32, user=marek, began_at=factories.NOW)
    sessions = {user.username: _session(user) for user in (office, ana, marek)}
    return Canaries(office, ana, marek, first, second, tokens, sessions)


def _session(user: User) -> str:
    """Return the cookie of a signed-in browser."""
    browser = Browser()
    browser.force_login(user)
    return browser.cookies[settings.SESSION_COOKIE_NAME].value


def fresh_key() -> str:
    """Return a key that nothing has."""
    return str(uuid4())


def rows_of_everything() -> dict[str, list[Any]]:
    """Every row of every table of ours, to compare before and after."""
    from django.apps import apps

    return {
        model._meta.label: sorted(
            map(
                repr,
                # the catalogue is large; every change of an entry raises its revision
                model._default_manager.values_list(*(("pk", "rev") if model is Entry else ())),
            )
        )
        for model in apps.get_models()
        if model.__module__.startswith("apps.") and model not in (AccessToken,)
    }
