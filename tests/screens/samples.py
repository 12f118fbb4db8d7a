"""Rows to look at: those of the demo firm, and a few made for states that it has none of.

Names are `<whose>_<kind>`, such as bare_system; without a prefix they are those of a full page.
"""

import datetime as dt
from typing import Any
from uuid import UUID, uuid4, uuid5

from apps.accounts.choices import Purpose
from apps.accounts.models import User
from apps.accounts.services import link_issue, links_revoke
from apps.advice.models import Advice
from apps.batches.models import FishBatch, Planting
from apps.care.models import CareTask
from apps.clients.models import Client, Contact, Place
from apps.core import clock
from apps.core.scoping import Actor
from apps.flows import visit_booking, visit_closing
from apps.office.services import system_make
from apps.reports.models import Letter, Report
from apps.systems.models import Component, Flow, System
from apps.visits.models import Phone, Reading, Sheet, Visit
from apps.visits.services.phones import check_in_set, refused_keep
from apps.visits.services.steps import author

SPACE = UUID("6f1c1b52-6f0e-4f5e-9d53-0a4f7a2f3c11")
BARE = "Alder"


def samples(facts: dict[str, Any]) -> dict[str, str]:
    """Return the keys of all rows that the table asks for."""
    users = {u["role"]: u["id"] for u in reversed(facts["users"])}
    office = Actor(role="office", at=clock.now(), user_id=UUID(users["office"]))
    technician = Actor(role="technician", at=clock.now(), user_id=UUID(users["technician"]))
    return (
        _full(facts) | _of_states() | _letters() | _links(office)
        | _bare(office, technician) | _phone(technician) | _phones(technician)
    )  # fmt: skip


def _full(facts: dict[str, Any]) -> dict[str, str]:
    done = Visit.objects.get(pk=facts["visit_id"])
    sheet = done.sheets.get()
    system = sheet.system
    loop = system.loops.first()
    advice = (
        Advice.objects.filter(sheet__system=system, closed_as="").first() or Advice.objects.first()
    )
    stocked = FishBatch.objects.filter(loop__system=system).first()
    rows = {
        "place": system.place, "system": system, "loop": loop, "visit": done, "done_visit": done,
        "contact": Contact.objects.filter(client=system.place.client).first(),
        "component": Component.objects.filter(loop=loop, removed_on=None).first(),
        "flow": Flow.objects.filter(source__loop=loop).first(),
        "task": CareTask.objects.filter(system=system).first(),
        "batch": stocked or FishBatch.objects.first(),
        "planting": Planting.objects.first(),
        "reading": Reading.objects.filter(sheet=sheet).first(), "advice": advice,
        "report": Report.objects.filter(visit=done).first(),
        "letter": Letter.objects.filter(state="failed").first() or Letter.objects.first(),
    }  # fmt: skip
    secret = facts["client_link"].rstrip("/").rsplit("/", 1)[1]
    return {name: str(row.pk) for name, row in rows.items()} | {
        "secret": secret, "key": str(uuid5(SPACE, "finding")),
    }  # fmt: skip


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
    return {"sent_letter": str(Letter.objects.filter(state="sent")[0].pk)}


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
    return secrets


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
        "bare_place": str(empty.pk), "bare_system": str(system.pk), "bare_visit": str(visit.pk),
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
