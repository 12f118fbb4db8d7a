"""The cast of the tests: two clients, two technicians, an office, a stranger."""

import datetime as dt
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from apps.accounts.models import Firm, User
from apps.batches.models import FishBatch, Planting
from apps.care.models import CareTask
from apps.care.services import plan_make
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Client, Contact, Place, SourceWater
from apps.core.scoping import Actor
from apps.systems.models import Component, Flow, Loop, System

NOW = dt.datetime(2026, 6, 11, 9, 0, tzinfo=dt.UTC)
TODAY = NOW.date()


def firm(**more: Any) -> Firm:
    """The firm; its letters go out at any hour, whatever the time at which the tests run."""
    more = {"quiet_from": dt.time(0), "quiet_until": dt.time(0)} | more
    return Firm.objects.create(
        id=1, name="Reed & Roach", street="Weir Lane 4", town="Tarnwick", phone="0555 0100",
        emergency_phone="0555 0199", email="office@reedandroach.example", **more,
    )  # fmt: skip


def user(name: str, role: str = "technician") -> User:
    """A member of the staff with the password `<name>-password-1`."""
    return User.objects.create_user(
        name, password=f"{name}-password-1", role=role, first_name=name.capitalize()
    )


def actor(member: User, at: dt.datetime = NOW) -> Actor:
    """A member of the staff as an actor."""
    return Actor(role=member.role, at=at, user_id=member.pk)


def client(name: str, **more: Any) -> Client:
    """A client with one contact, who allows photos."""
    asked = {
        "photos": "yes",
        "photos_on": TODAY,
        "photos_by": "office",
        "photos_how": "by word of mouth",
    }
    row = Client.objects.create(name=name, **asked | more)
    Contact.objects.create(
        client=row, name=f"Robin {name}", email=f"{name.lower()}@{name.lower()}.example"
    )
    return row


def place(owner: Client, **more: Any) -> Place:
    """A place of a client, with its source water."""
    values = {"name": f"{owner.name}, garden", "street": "Quarry Lane 31", "town": "Oldferry"}
    row = Place.objects.create(client=owner, **(values | more))
    SourceWater.objects.create(
        place=row, on=dt.date(2026, 1, 5), ph=7.2, alkalinity_mg_l_caco3=90, temp_c=24
    )
    return row


@dataclass
class Built:
    """A system with what the tests need of it."""

    system: System
    loop: Loop
    tank: Component
    raft: Component


def system(at: Place, name: str = "Patio", kind: str = "coupled", **more: Any) -> Built:
    """A small complete system: tank, moving bed, sump, raft; tilapia and lettuce; care plan."""
    row = System.objects.create(
        place=at, name=name, kind=kind, started_on=dt.date(2025, 3, 1), **more
    )
    loop_kind = {"plants_only": "plant", "fish_only": "fish"}.get(kind, "whole")
    loop = Loop.objects.create(system=row, kind=loop_kind)
    parts = [
        Component(loop=loop, kind="tank", name="Tank", litres=1000, place_in_flow=1),
        Component(
            loop=loop, kind="moving_bed", name="Moving bed", litres=80, place_in_flow=2,
            media="moving_bed", media_litres=40,
        ),
        Component(loop=loop, kind="sump", name="Sump", litres=120, place_in_flow=3),
        Component(loop=loop, kind="pump", name="Pump", flow_l_h=1200, place_in_flow=4),
        Component(loop=loop, kind="raft", name="Raft", litres=300, area_m2=2.0, place_in_flow=5),
        Component(loop=loop, kind="air_pump", name="Air pump", place_in_flow=6),
    ]  # fmt: skip
    Component.objects.bulk_create(parts)
    tank, bed, sump, _pump, raft, _air = parts
    for source, target, how in (
        (tank, bed, "gravity"), (bed, raft, "gravity"), (raft, sump, "gravity"),
        (sump, tank, "pumped"),
    ):  # fmt: skip
        Flow.objects.create(source=source, target=target, kind=how)
    FishBatch.objects.create(
        loop=loop, species_code="nile_tilapia", count=40, stocked_on=dt.date(2026, 2, 14),
        mean_weight_g=180,
    )  # fmt: skip
    Planting.objects.create(
        component=raft, crop_code="lettuce_loose_leaf", count=30,
        transplanted_on=dt.date(2026, 5, 20),
    )  # fmt: skip
    plan_make(
        system=row, catalogue=catalogue_current(), components=parts, has_fish=True,
        has_plants=True, anchor=TODAY - dt.timedelta(days=5), at=NOW,
    )  # fmt: skip
    return Built(row, loop, tank, raft)


def reading(
    built: Built, measurand: str, value: float, unit: str = "", **more: Any
) -> dict[str, Any]:
    """One reading as the API takes it."""
    return {
        "id": str(uuid4()), "loop": str(built.loop.pk), "measurand": measurand, "value": value,
        "unit": unit, "taken_at": (NOW - dt.timedelta(minutes=20)).isoformat(), **more,
    }  # fmt: skip


def quiet(built: Built) -> None:
    """Take every task of a system off the due list."""
    CareTask.objects.filter(system=built.system).update(
        next_open=None, next_due=None, next_late=None
    )
