"""Rows to look at: those of the demo firm, and a few made for states that it has none of.

Names are `<whose>_<kind>`, such as bare_system; without a prefix they are those of a full page.
"""

import datetime as dt
import io
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db.models import Max
from django.utils import timezone
from PIL import Image

from apps.accounts.choices import Purpose
from apps.accounts.models import CalendarFeed, Closure, User
from apps.accounts.services import feed_issue, link_issue, links_revoke
from apps.advice.models import Advice
from apps.batches.models import FishBatch, Planting
from apps.care.models import CareTask, MeterReading, StandingAppointment, VisitDay
from apps.care.services import meter_add, meter_withdraw, task_save
from apps.clients.models import Client, Climate, ClimateMonth, Contact, Place, TimeAway
from apps.core import clock
from apps.core.scoping import Actor
from apps.flows import offering, visit_booking, visit_closing
from apps.flows.ahead import forecasts_make
from apps.flows.home_help import Asked, help_ask
from apps.flows.rounds import plan_now
from apps.flows.weather_watching import send_list
from apps.incidents import services as incidents
from apps.incidents.models import Incident, WeatherAsk
from apps.office.services import system_make
from apps.reports.models import BlockedAddress, Letter, Report, ReportVersion
from apps.rounds.choices import WhyFailed
from apps.rounds.codec import work_of
from apps.rounds.models import Absence
from apps.rounds.planning.effort import Effort
from apps.rounds.services import plan_failed, plan_new
from apps.systems.models import Component, Flow, Loop, System
from apps.visits.models import Assignment, Line, Operation, Phone, Reading, Sheet, Visit
from apps.visits.services.phones import check_in_set, refused_keep
from apps.visits.services.steps import author
from demo.firm.keys import key
from tests.reader import number_of
from tests.screens.proposal_samples import proposal_samples

SPACE = UUID("6f1c1b52-6f0e-4f5e-9d53-0a4f7a2f3c11")
BARE = "Alder"
ASKED = {
    "people": "no", "gasping": "no", "power": "running", "level": "normal", "added": "tap",
    "readings": "high", "deaths": "few", "weather": "heat",
}  # fmt: skip


def samples(facts: dict[str, Any]) -> dict[str, str]:
    """Return the keys of all rows that the table asks for."""
    users = {u["role"]: u["id"] for u in reversed(facts["users"])}
    office = Actor(role="office", at=clock.now(), user_id=UUID(users["office"]))
    technician = Actor(role="technician", at=clock.now(), user_id=UUID(users["technician"]))
    # each walk makes new ones
    CalendarFeed.objects.filter(revoked_at=None).update(revoked_at=office.at)
    done = Visit.objects.select_related("place").get(pk=facts["visit_id"])
    feed_issue(client_id=done.place.client_id, at=office.at, by=office)
    ana = User.objects.filter(role="technician").order_by("username")[0]
    feed_issue(user=ana, at=office.at, by=technician)
    return (
        _full(facts, technician) | _of_states() | _letters() | _links(office)
        | _bare(office, technician) | _phone(technician) | _phones(technician)
        | _incidents(facts, office) | _weather(office) | _from_home(facts, office)
        | _plans(office) | _offers(office) | _road(technician) | _away(office)
        | _apart(office)
        | _starting() | proposal_samples(facts, office)
    )  # fmt: skip


def _full(facts: dict[str, Any], technician: Actor) -> dict[str, str]:
    done = Visit.objects.get(pk=facts["visit_id"])
    sheet = done.sheets.get()
    system = sheet.system
    forecasts_make(system_ids=[system.pk], at=clock.now())
    loop = system.loops.first()
    advice = (
        Advice.objects.filter(sheet__system=system, closed_as="").first() or Advice.objects.first()
    )
    stocked = FishBatch.objects.filter(loop__system=system).first()
    mine = Visit.objects.visible_to(technician).filter(state="reported").order_by("-end").first()
    rows = {
        "place": system.place, "client": system.place.client, "system": system, "loop": loop, "visit": done, "done_visit": mine or done,
        "contact": Contact.objects.filter(client=system.place.client).first(),
        "component": Component.objects.filter(loop=loop, removed_on=None).first(),
        "flow": Flow.objects.filter(source__loop=loop).first(),
        "task": CareTask.objects.filter(system=system).first(),
        "metered": _metered(loop), "counted": _counted(loop), "closure": _closure(),
        "climate": _climate(system.place),
        "standing": _standing(system.place),
        "plants_loop": Loop.objects.filter(kind="plant").order_by("system__name").first(),
        "batch": stocked or FishBatch.objects.first(),
        "planting": Planting.objects.first(),
        "reading": Reading.objects.filter(sheet=sheet).first(), "advice": advice,
        "report": Report.objects.filter(visit=done).first(), "summary": _summary(system),
        "letter": Letter.objects.filter(state="failed").first() or Letter.objects.first(),
    }  # fmt: skip
    secret = facts["client_link"].rstrip("/").rsplit("/", 1)[1]
    return {name: str(row.pk) for name, row in rows.items()} | {
        "secret": secret, "key": str(uuid5(SPACE, "finding")),
    }  # fmt: skip


def _summary(system: System) -> Report:
    """Return a summary of a system that waits to be released, its file another report's."""
    today = clock.today()
    row, _made = Report.objects.get_or_create(
        system=system, kind="summary", period_from=today - dt.timedelta(days=91), period_to=today,
        defaults={
            "number": Report.objects.aggregate(Max("number"))["number__max"] + 1,
            "made_at": clock.now(),
        },
    )  # fmt: skip
    like = ReportVersion.objects.filter(report__kind="visit").order_by("made_at", "pk")[0]
    ReportVersion.objects.get_or_create(
        report=row, number=1,
        defaults={"snapshot": {"kind": "summary"}, "template": "2", "language": "en",
                  "pdf": like.pdf, "pdf_size": like.pdf_size, "sha256": like.sha256,
                  "made_at": clock.now()},
    )  # fmt: skip
    return row


def _starting() -> dict[str, str]:
    """Return the system whose filter is coming in."""
    return {"starting_system": str(key("system", "kim"))}


def _incidents(facts: dict[str, Any], office: Actor) -> dict[str, str]:
    """Return calls for help: being asked about and having made a visit wait, all asked, closed."""
    done = Visit.objects.get(pk=facts["visit_id"])
    system, now = done.sheets.get().system, office.at
    keys = {name: uuid5(SPACE, f"incident {name}") for name in ("now", "asked", "closed")}
    if not Incident.objects.filter(pk=keys["now"]).exists():
        held = {
            name: incidents.incident_open(
                system=system, kind=kind, pk=keys[name], by=office, at=now - dt.timedelta(minutes=7),
                said="They have hung at the top since dawn.", caller="Ottoline Marsh",
            )
            for name, kind in (("now", "gasping"), ("asked", "water"), ("closed", "power"))
        }  # fmt: skip
        by = {"by": office, "at": now}
        incidents.incident_answer(incident=held["now"], step="people", answer="no", **by)
        incidents.incident_note(incident=held["now"], text="Pump hums, no bubbles.", **by)
        incidents.incident_followed(
            incident=held["now"], visit=done, technician="", there=now.isoformat(),
            put_off=[(done, done.start - dt.timedelta(minutes=45), done.start)], **by,
        )  # fmt: skip
        for step, answer in ASKED.items():
            incidents.incident_answer(incident=held["asked"], step=step, answer=answer, **by)
        incidents.incident_close(
            incident=held["closed"], cause="power", outcome="Back after forty minutes, all well.",
            cause_words="The whole street", fish_lost=2, rev=held["closed"].rev, **by,
        )  # fmt: skip
    return {
        "incident": str(keys["now"]), "asked_incident": str(keys["asked"]),
        "closed_incident": str(keys["closed"]),
    }  # fmt: skip


def _from_home(facts: dict[str, Any], office: Actor) -> dict[str, str]:
    """Return what clients wrote: a call for help with photos, times away with a carer and without."""
    done = Visit.objects.select_related("place").get(pk=facts["visit_id"])
    system = (
        System.objects.filter(active=True, loops__fish_batches__isnull=False)
        .exclude(place=done.place_id)
        .select_related("place")
        .order_by("name")[0]
    )
    by = Actor(role="client", at=office.at, client_id=system.place.client_id)
    key = uuid5(SPACE, "help from home")
    asked = Asked(
        key=key, signs=["gasping", "power"], caller="Ottoline Marsh, 0555 0142",
        words="They hang at the top since the lights went out.",
        photos=[("tank.jpg", _picture("#7fb3b0")), ("pump.jpg", _picture("#52616b"))],
    )  # fmt: skip
    taken = help_ask(system=system, asked=asked, by=by, at=office.at)
    secret = link_issue(
        client_id=system.place.client_id, purpose=Purpose.PAGE, at=office.at,
        secret="screens-help-" + "a" * 30,
    )  # fmt: skip
    return {
        "sent_secret": secret, "sent_system": str(system.pk), "sent_incident": str(taken.incident.pk),
        "away": _away_from_home(done.place, "Robin Oake", office),
    }  # fmt: skip


def _picture(colour: str) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (800, 600), colour).save(out, "JPEG")
    return out.getvalue()


def _away_from_home(place: Place, carer: str, office: Actor) -> str:
    """Return days on which nobody of a place is at home; without a carer for three weeks."""
    first = clock.today() + dt.timedelta(days=8)
    row, _made = TimeAway.objects.get_or_create(
        place=place, withdrawn_at=None,
        defaults={
            "first": first, "last": first + dt.timedelta(days=7 if carer else 20),
            "carer_name": carer, "carer_phone": "0555 0171" if carer else "",
            "backup": "yes" if carer else "unsure", "may_come": bool(carer),
            "notes": "The spare key hangs in the shed." if carer else "", "made_at": office.at,
            "by": author(office),
        },
    )  # fmt: skip
    return str(row.pk)


def _weather(office: Actor) -> dict[str, str]:
    """Return a list for a heat wave with answers of each kind, and the page of who has not answered."""
    asks = list(WeatherAsk.objects.order_by("contact__name")[:3])
    if not asks:
        systems = System.objects.filter(active=True).exclude(place__client__name=BARE)
        watch = send_list(
            kind="heat", systems=systems.order_by("name")[:6], by=office, at=office.at,
            words="From Saturday noon, up to 36 °C.",
        )  # fmt: skip
        asks = list(watch.asks.order_by("contact__name")[:3])
        for ask, reply in zip(asks[1:], ("done", "help"), strict=False):
            by = Actor(role="client", at=office.at, client_id=ask.contact.client_id)
            incidents.ask_answer(ask=ask, reply=reply, words="No shade left.", by=by, at=office.at)
    secret = link_issue(
        client_id=asks[0].contact.client_id, purpose=Purpose.PAGE, at=office.at,
        contact_id=asks[0].contact_id, secret="screens-weather-" + "a" * 27,
    )  # fmt: skip
    return {"watch": str(asks[0].watch_id), "weather_secret": secret}


def _road(technician: Actor) -> dict[str, str]:
    """Return a visit to which the technician is on the way, and the page of its client."""
    mine = Visit.objects.visible_to(technician).filter(state="booked", end__gt=technician.at)
    visit = mine.order_by("start")[0]
    phone = Phone.objects.filter(user_id=technician.user_id).first()
    there = max(technician.at + dt.timedelta(minutes=25), visit.start)
    for number, (path, outcome) in enumerate(
        (("on_my_way", "told"), ("running_late", "too_late"), ("running_late", "nobody"))
    ):
        Operation.objects.get_or_create(
            pk=uuid5(SPACE, f"said {visit.pk} {number}"),
            defaults={"visit": visit, "path": path, "device": str(phone.pk) if phone else "",
                      "value": {"minutes": 25, "there": there.isoformat()}, "at": technician.at,
                      "received_at": technician.at, "by": author(technician), "outcome": outcome},
        )  # fmt: skip
    secret = link_issue(
        client_id=visit.place.client_id, purpose=Purpose.APPOINTMENT, at=technician.at,
        subject_id=visit.pk, secret=f"screens-road-{visit.pk.hex}",
    )  # fmt: skip
    return {"road_visit": str(visit.pk), "road_secret": secret}


def _away(office: Actor) -> dict[str, str]:
    """Return an absence over booked visits from tomorrow on, which others have room for."""
    tomorrow = timezone.localtime(office.at).replace(hour=0, minute=0) + dt.timedelta(days=1)
    booked = Assignment.objects.filter(
        visit__state="booked", start__gt=tomorrow, user__role="technician"
    )
    first = booked.order_by("start")[0]
    row, _made = Absence.objects.get_or_create(
        user=first.user, first=timezone.localdate(first.start),
        last=timezone.localdate(first.start) + dt.timedelta(days=2), reason="Screens",
    )  # fmt: skip
    secret = link_issue(
        client_id=first.visit.place.client_id, purpose=Purpose.APPOINTMENT, at=office.at,
        subject_id=first.visit_id, secret="screens-cannot-" + "a" * 30,
    )  # fmt: skip
    return {"absence": str(row.pk), "cannot_secret": secret}


def _apart(office: Actor) -> dict[str, str]:
    """Return a booked visit that lacks lines of its day, and is too short for them."""
    days = VisitDay.objects.filter(kept_for__isnull=False, on__gt=clock.today())
    for day in days.order_by("on", "pk"):
        visit = Visit.objects.filter(pk=day.kept_for, state="booked").first()
        planned = list(day.tasks.exclude(task__who="client").values_list("task_id", flat=True))
        if visit is None or len(planned) < 2:
            continue
        Line.objects.filter(sheet__visit=visit, task__in=planned[:2]).delete()
        CareTask.objects.filter(pk=planned[0]).update(minutes=240)
        return {"apart_visit": str(visit.pk)}
    raise SystemExit("bin/screens: no booked visit stands on a visit day")


def _metered(loop: Loop) -> CareTask:
    """Return a task that waits for a counter; the demo firm has none."""
    rule = {"meter": "run_hours", "meter_limit": 500.0, "max_days": 365, "anchor": clock.today()}
    held = CareTask.objects.filter(loop=loop, mode="meter").first()
    return held or task_save(
        task=CareTask(system=loop.system, loop=loop, code="records_read", mode="meter", **rule),
        at=clock.now(),
    )


def _counted(loop: Loop) -> MeterReading:
    """Return what the counter showed last; a reading of the day before was withdrawn."""
    rows = MeterReading.objects.filter(loop=loop, meter="run_hours", withdrawal=None)
    last = rows.order_by("taken_on", "made_at").last()
    if last is not None:
        return last
    office = Actor(role="office", at=clock.now())
    common = {"system": loop.system, "loop": loop, "meter": "run_hours", "by": office}
    for ago, value in ((9, 1200.0), (1, 13140.0)):
        day = clock.today() - dt.timedelta(days=ago)
        wrong = meter_add(value=value, taken_on=day, at=office.at, **common)
    meter_withdraw(reading=wrong, reason="A digit too many.", by=office, at=office.at)
    return meter_add(value=1314.0, taken_on=clock.today(), at=office.at, **common)


def _standing(place: Place) -> StandingAppointment:
    """Return what is agreed with a client."""
    held, _made = StandingAppointment.objects.get_or_create(
        place=place, rrule="FREQ=WEEKLY;INTERVAL=2;BYDAY=TU",
        defaults={"first": clock.today(), "starts": dt.time(9), "ends": dt.time(11),
                  "made_at": clock.now()},
    )  # fmt: skip
    return held


def _climate(place: Place) -> Climate:
    """Return climate normals of a place's own, those of the firm with colder nights."""
    row, made = Climate.objects.get_or_create(
        place=place, defaults={"source": "The dyke, 2001 to 2020"}
    )
    if made:
        months = ClimateMonth.objects.filter(climate__whole_firm=True).order_by("month")
        ClimateMonth.objects.bulk_create(
            ClimateMonth(climate=row, month=item.month, low_c=item.low_c - 1.5,
                         high_c=item.high_c, rain_mm=item.rain_mm)
            for item in months
        )  # fmt: skip
    return row


def _closure() -> Closure:
    """Return days off that lie ahead."""
    first = clock.today() + dt.timedelta(days=60)
    held, _made = Closure.objects.get_or_create(
        name="Stocktaking", defaults={"first": first, "last": first}
    )
    return held


def _plans(office: Actor) -> dict[str, str]:
    """Return a plan of rounds that is ready, one that waits, one that failed, and a stop of the first."""
    first = clock.today() + dt.timedelta(days=1)
    values = {"days": 4, "effort": Effort(iterations=30), "today": clock.today(), "by": office}
    ready = plan_now(first=first, at=office.at, **values)
    waits = plan_new(first=first, at=office.at, **values)
    failed = plan_new(first=first, at=office.at, **values)
    plan_failed(pk=failed.pk, code=WhyFailed.BROKE_OFF, at=office.at)
    stop = next(name for name, work in work_of(ready.work).items() if work.kind != "fixed")
    ana = User.objects.filter(role="technician").order_by("username")[0]
    return {
        "round_plan": str(ready.pk), "waiting_round_plan": str(waits.pk),
        "failed_round_plan": str(failed.pk), "stop": stop, "ana": str(ana.pk),
    }  # fmt: skip


def _offers(office: Actor) -> dict[str, str]:
    """Return a visit that times can be offered for, one whose client may choose, one whose did not."""
    plain, asked, over = (_pencilled(office, number) for number in range(3))
    offers = {
        visit.pk: visit.times_offered.first() or offering.offer(visit=visit, by=office, at=at)
        for visit, at in ((asked, office.at), (over, office.at - dt.timedelta(days=3)))
    }  # fmt: skip
    offering.lapse(offer_id=offers[over.pk].pk, at=office.at)
    secrets = {
        f"{name}_secret": link_issue(
            client_id=visit.place.client_id, purpose=Purpose.APPOINTMENT, at=office.at,
            subject_id=visit.pk, secret=f"screens-{name}-" + "a" * 30,
        )
        for name, visit in (("times", asked), ("over", over))
    }  # fmt: skip
    offer = str(offers[asked.pk].pk)
    return secrets | {
        "offerable_visit": str(plain.pk), "offered_visit": str(asked.pk), "offer": offer,
        "lapsed_visit": str(over.pk),
    }  # fmt: skip


def _pencilled(office: Actor, number: int) -> Visit:
    """Return a visit in a night of the week after next, to a place on the map whose client reads."""
    reason = f"Times to choose from, {number}"
    held = Visit.objects.filter(reason=reason).select_related("place__client").first()
    if held is not None:
        return held
    places = Place.objects.filter(
        latitude__isnull=False, client__just_tell=False, client__contacts__gets_letters=True,
        systems__active=True,
    )  # fmt: skip
    place = places.distinct().order_by("name", "id")[number]
    day = clock.today() + dt.timedelta(days=12)
    start = dt.datetime.combine(day, dt.time(1 + number, 7), dt.UTC)
    return visit_booking.pencil(
        place=place, systems=list(place.systems.filter(active=True)[:1]), start=start,
        end=start + dt.timedelta(minutes=50), by=office, at=office.at, reason=reason, any_hour=True,
        technicians=[User.objects.filter(role="technician").order_by("username")[0]],
    )  # fmt: skip


def _of_states() -> dict[str, str]:
    """Return a visit of each state that the firm has, newest first."""
    wanted = {
        "coming_visit": "booked", "pencilled_visit": "pencilled", "called_off_visit": "called_off",
        "written_up_visit": "written_up",
    }  # fmt: skip
    found = {}
    for name, state in wanted.items():
        row = Visit.objects.filter(state=state, sheets__isnull=False).order_by("-start").first()
        if row is None:
            raise SystemExit(f"bin/screens: the firm has no visit that is {state}")
        found[name] = str(row.pk)
    return found


def _letters() -> dict[str, str]:
    sent = Letter.objects.filter(state="sent")[0]
    blocked, _made = BlockedAddress.objects.get_or_create(
        address="moved.away@tarnwick.example",
        defaults={"why": "bounced", "words": "5.1.1 no such mailbox here", "letter": sent,
                  "since": clock.now() - dt.timedelta(hours=5)},
    )  # fmt: skip
    return {
        "sent_letter": str(sent.pk), "waits_letter": str(_waiting(sent).pk),
        "blocked": str(blocked.pk),
    }  # fmt: skip


def _waiting(like: Letter) -> Letter:
    """Return a letter that waits for the morning; no job sends it."""
    held, _made = Letter.objects.get_or_create(
        key="screens waits",
        defaults={"kind": "reminder", "contact": like.contact, "address": like.address,
                  "visit": like.visit, "message_id": "<screens-waits@x>", "made_at": clock.now(),
                  "parameters": {"sequence": 1},
                  "not_before": clock.now() + dt.timedelta(hours=9)},
    )  # fmt: skip
    return held


def _links(office: Actor) -> dict[str, str]:
    """Return a link to one appointment and one that is revoked."""
    visit = Visit.objects.filter(state="booked", start__gt=office.at).order_by("start")[0]
    secrets = {
        "appointment_secret": link_issue(
            client_id=visit.place.client_id, purpose=Purpose.APPOINTMENT, at=office.at,
            subject_id=visit.pk, secret="screens-appointment-" + "a" * 24,
        )
    }  # fmt: skip
    gone, _made = Client.objects.get_or_create(name="Hazel")
    secrets["revoked_secret"] = link_issue(
        client_id=gone.pk, purpose=Purpose.PAGE, at=office.at, secret="screens-revoked-" + "a" * 27
    )
    links_revoke(client_id=gone.pk, at=office.at, by=office)
    reader = (
        Contact.objects.filter(gets_letters=True, language="en").exclude(email="").order_by("pk")[0]
    )
    closed = link_issue(
        client_id=reader.client_id, purpose=Purpose.PAGE, at=office.at, contact_id=reader.pk,
        secret="screens-closed-" + "a" * 28,
    )  # fmt: skip
    return secrets | {"closed_secret": number_of(closed)}


def _bare(office: Actor, technician: Actor) -> dict[str, str]:
    """Return a client's place with a system that nothing is known of, and a visit begun there."""
    client, made = Client.objects.get_or_create(name=BARE)
    if made:
        place = Place.objects.create(
            client=client, name="yard", street="Alder Way 2", town="Tarnwick"
        )
        system = System(place=place, name=f"{BARE}, yard", kind="coupled")
        system_make(system=system, by=office, at=office.at)
        empty = Place.objects.create(
            client=client, name="roof", street="Alder Way 2", town="Tarnwick"
        )
        visit = _begun(place, system, office, technician)
    else:
        empty, place = client.places.order_by("name")
        system = place.systems.get()
        visit = Visit.objects.filter(place=place)[0]
    secret = link_issue(
        client_id=client.pk, purpose=Purpose.PAGE, at=office.at, secret="screens-bare-" + "a" * 30
    )
    return {
        "bare_away": _away_from_home(place, "", office),
        "bare_place": str(empty.pk), "bare_client": str(empty.client_id), "bare_system": str(system.pk), "bare_visit": str(visit.pk),
        "bare_sheet": str(visit.sheets.get().pk), "bare_secret": secret,
    }  # fmt: skip


def _begun(place: Place, system: System, office: Actor, technician: Actor) -> Visit:
    """Book a visit in the night, where nobody is elsewhere, and begin it."""
    start = dt.datetime.combine(clock.today(), dt.time(1, 7), dt.UTC)
    visit = visit_booking.pencil(
        place=place, systems=[system], start=start, end=start + dt.timedelta(minutes=20),
        technicians=[User.objects.get(pk=technician.user_id)], by=office, at=office.at,
    )  # fmt: skip
    for to in ("booked", "under_way"):
        visit = visit_booking.step(visit=visit, to=to, by=office, at=office.at)
    return visit


def _phone(technician: Actor) -> dict[str, str]:
    """Return a visit of the technician's that is under way, with readings, a finding, an answer."""
    visit = (
        Visit.objects.visible_to(technician).filter(state__in=["booked", "under_way"])
        .exclude(place__client__name=BARE).filter(sheets__isnull=False).order_by("start").first()
    )  # fmt: skip
    if visit is None:
        raise SystemExit("bin/screens: the technician has no visit to open")
    if visit.state == "booked":
        visit = visit_booking.step(visit=visit, to="under_way", by=technician, at=technician.at)
    sheet = visit.sheets.first()
    lines = list(sheet.lines.exclude(code="left_running").order_by("position", "id"))
    loop = sheet.system.loops.first()
    _answer(visit, sheet, str(loop.pk), str(lines[0].pk), technician)
    mine = Visit.objects.visible_to(technician).filter(state="booked").order_by("start")[0]
    return {
        "mine_visit": str(mine.pk), "phone_visit": str(visit.pk), "phone_sheet": str(sheet.pk), "phone_loop": str(loop.pk),
        "phone_line": str(lines[1].pk), "phone_key": str(uuid5(SPACE, "finding")),
        "met_visit": str(visit.pk), "met_sheet": str(sheet.pk), "met_line": str(lines[0].pk),
    }  # fmt: skip


def _phones(technician: Actor) -> dict[str, str]:
    """Return a phone that asks for somebody, and one on which all is well."""
    now, by = technician.at, author(technician)
    loud, made = Phone.objects.get_or_create(
        pk=uuid5(SPACE, "loud phone"),
        defaults={"user_id": technician.user_id, "first_at": now, "version": "3f2a91c07d11",
                  "last_at": now - dt.timedelta(hours=5), "pending_ops": 5, "pending_photos": 1,
                  "oldest_at": now - dt.timedelta(hours=6), "last_seq": 9, "clock_off_s": -900},
    )  # fmt: skip
    quiet, _made = Phone.objects.get_or_create(
        pk=uuid5(SPACE, "quiet phone"),
        defaults={"user_id": technician.user_id, "first_at": now, "last_at": now,
                  "version": "3f2a91c07d11", "persisted": True, "standalone": True},
    )  # fmt: skip
    visit = Visit.objects.visible_to(technician).filter(state="under_way").order_by("start")[0]
    if made:
        row = {"id": str(uuid4()), "seq": 3, "visit": str(visit.pk), "value": "twelve o'clock",
               "path": "checkin/none/fine_by"}  # fmt: skip
        why = [{"code": "answer", "message": "a time with its offset is needed"}]
        refused_keep(device=str(loud.pk), row=row, why=why, by=by, at=now)
        key = uuid5(SPACE, "check-in")
        check_in_set(visit=visit, key=key, fine_by=now - dt.timedelta(minutes=25), by=by)
    return {"phone": str(loud.pk), "bare_phone": str(quiet.pk)}


def _answer(visit: Visit, sheet: Sheet, loop: str, line: str, technician: Actor) -> None:
    taken_at = (technician.at - dt.timedelta(minutes=10)).isoformat()
    readings = [
        {"id": str(uuid5(SPACE, f"{sheet.pk}{name}")), "loop": loop, "measurand": name,
         "value": value, "unit": unit, "taken_at": taken_at}
        for name, value, unit in (("temp", 25.4, "°C"), ("ph", 6.1, ""), ("alk", 27, "mg/L CaCO3"))
    ]  # fmt: skip
    finding = {"id": str(uuid5(SPACE, "finding")), "text": "Two leaves with pale veins, north end."}
    part = {
        "system": str(sheet.system_id), "readings": readings, "findings": [finding],
        "lines": [{"id": line, "outcome": "done", "note": "Strainer rinsed."}],
    }  # fmt: skip
    visit_closing.submit(
        visit=visit, body={"sheets": [part]}, key=str(uuid4()), by=technician, at=technician.at
    )
