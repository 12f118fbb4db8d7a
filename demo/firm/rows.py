"""From the invented firm to unsaved rows: clients, places, systems, parts, fish and plants."""

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

from apps.batches.models import Deaths, FishBatch, HarvestHold, Picking, Planting, Treatment
from apps.clients.models import (
    Client,
    Climate,
    ClimateMonth,
    Contact,
    Place,
    SourceWater,
    VisitingHours,
)
from apps.systems.models import Component, Flow, Loop, System
from demo.firm.builds import BUILDS, CODES, MAKES, WARRANTY_YEARS, Part, parts_of
from demo.firm.fish import Batch
from demo.firm.keys import chance, key
from demo.firm.people import WATERS, Home, hours_of, spot
from demo.firm.plants import Crop
from demo.firm.systems import Spec
from demo.firm.weather import MONTHS, OPEN_TO_RAIN_M2, WAVE_FROM, wave_year

# (system, part, days ago, why the old one went)
SWAPS = (
    ("lindqvist", "pump", 140), ("murray", "pump", 96), ("haddad", "air", 205),
    ("tennant", "probe", 21), ("gallo", "air", 118), ("okafor", "heater", 160),
    ("novak", "pump", 251), ("cafe_yard", "air", 63), ("young", "pump", 300),
)  # fmt: skip

# what a level scoop holds in grams; some households have none
SCOOPS = (12.0, None, 15.0, 20.0)


@dataclass
class Estate:
    """The rows of one place."""

    client: Client
    contacts: list[Contact]
    place: Place
    hours: list[VisitingHours]
    waters: list[SourceWater]


def estate_of(home: Home, today: dt.date) -> Estate:
    """Return a client with contacts and the place."""
    since = today - dt.timedelta(days=chance(today, home.key, "since").randrange(420, 1500))
    client = Client(
        pk=key("client", home.key), name=home.client, kind=home.kind, since=since, photos="yes",
        photos_on=since, photos_by="office", photos_how="said so at the first visit",
    )  # fmt: skip
    contacts = [
        Contact(
            pk=key("contact", home.key), client=client, name=home.contact, email=home.email,
            phone=f"0555 0{300 + 7 * _number(home)}", units=home.units, language=home.language,
        )
    ]  # fmt: skip
    if home.second:
        contacts.append(
            Contact(
                pk=key("contact", home.key, 2), client=client, name=home.second,
                phone=f"0555 0{301 + 7 * _number(home)}", gets_letters=False,
            )
        )  # fmt: skip
    latitude, longitude = spot(home)
    place = Place(
        pk=key("place", home.key), client=client, name=home.place_name, street=home.street,
        town=home.town, area=home.town, latitude=latitude, longitude=longitude,
        altitude_m=260 if home.town == "Crannock" else 20, access_notes=home.notes,
        gate_code=home.gate, dog=home.dog,
    )  # fmt: skip
    hours = [
        VisitingHours(pk=key("hours", home.key, day), place=place, weekday=day, opens=o, closes=c)
        for day, o, c in hours_of(home)
    ]
    return Estate(client, contacts, place, hours, _waters(home, place, today))


def _number(home: Home) -> int:
    return _letters(home.key) % 97


def _letters(name: str) -> int:
    return sum(ord(letter) for letter in name)


def _waters(home: Home, place: Place, today: dt.date) -> list[SourceWater]:
    water, found = WATERS[home.water], []
    for ago in (372, 150):
        rng = chance(today, home.key, "source", ago)
        found.append(
            SourceWater(
                pk=key("source", home.key, ago), place=place, on=today - dt.timedelta(days=ago),
                ph=round(water.ph + rng.uniform(-0.06, 0.06), 2),
                alkalinity_mg_l_caco3=float(round(water.alk * rng.uniform(0.96, 1.04))),
                hardness_mg_l_caco3=float(round(water.hardness * rng.uniform(0.96, 1.04))),
                nitrate_n_mg_l=water.nitrate_n, total_chlorine_mg_l=water.chlorine,
                chloramine=water.chloramine, temp_c=water.temp_c,
            )
        )  # fmt: skip
    return found


def normals() -> list[list[Any]]:
    """Return the firm's climate normals: those of the invented town."""
    row = Climate(pk=key("climate", "firm"), whole_firm=True, source="Tarnwick weir, 1991 to 2020")
    return [[row], [
        ClimateMonth(pk=key("climate", "firm", str(number)), climate=row, month=number, low_c=low,
                     high_c=high, rain_mm=rain, wet_days=days)
        for number, (low, high, rain, days) in enumerate(MONTHS, start=1)
    ]]  # fmt: skip


@dataclass
class Works:
    """The rows of one system; `parts` by (loop kind, part key) are those that are fitted now."""

    spec: Spec
    system: System
    loops: dict[str, Loop]
    parts: dict[tuple[str, str], Component]
    gone: list[Component] = field(default_factory=list)
    flows: list[Flow] = field(default_factory=list)

    def loop_parts(self, kind: str) -> list[Component]:
        """Return the fitted parts of a loop in the order of the flow."""
        return [part for (loop, _key), part in self.parts.items() if loop == kind]

    def find(self, name: str) -> Component | None:
        """Return a fitted part by its key."""
        return next((part for (_loop, key_), part in self.parts.items() if key_ == name), None)


def works_of(spec: Spec, place: Place, today: dt.date) -> Works:
    """Return a system with its loops, parts and flows."""
    system = System(
        pk=key("system", spec.key), place=place, name=spec.name, kind=spec.kind,
        started_on=today - dt.timedelta(days=spec.started),
        scoop_g=SCOOPS[_letters(spec.key) % len(SCOOPS)] if spec.fish else None,
    )  # fmt: skip
    works = Works(spec, system, {}, {})
    for kind, parts in parts_of(spec.design, spec.key, spec.climate, spec.fish).items():
        loop = Loop(
            pk=key("loop", spec.key, kind), system=system, kind=kind,
            volume_known_within_pct=BUILDS[spec.design].known_within_pct,
            rain_area_m2=OPEN_TO_RAIN_M2 if spec.climate == "outdoor" else 0.0,
        )  # fmt: skip
        works.loops[kind] = loop
        for number, part in enumerate(parts):
            works.parts[(kind, part.key)] = _component(spec, loop, part, number + 1, today)
    _swap(works, today)
    if spec.key in ("murray", "novak"):
        _second_air(works, today)
    by_key = {name: part for (_loop, name), part in works.parts.items()}
    works.flows = [
        Flow(
            pk=key("flow", spec.key, pipe.source, pipe.target), source=by_key[pipe.source],
            target=by_key[pipe.target], kind=pipe.kind, one_way=pipe.one_way,
            litres_per_hour=_sized(pipe.litres_per_hour, spec.scale, 10),
            litres_per_day=_sized(pipe.litres_per_day, spec.scale, 1),
        )
        for pipe in BUILDS[spec.design].pipes
    ]  # fmt: skip
    return works


def _sized(value: float, scale: float, step: float) -> float | None:
    return round(value * scale / step) * step if value else None


def _component(spec: Spec, loop: Loop, part: Part, number: int, today: dt.date) -> Component:
    fitted = today - dt.timedelta(days=spec.started)
    years = WARRANTY_YEARS.get(part.kind, 0)
    rng = chance(today, spec.key, part.key, "serial")
    serial = f"{CODES[part.kind]}-{rng.randrange(10000, 99999)}" if part.kind in CODES else ""
    return Component(
        pk=key("part", spec.key, part.key), loop=loop, kind=part.kind, name=part.name,
        place_in_flow=number, litres=_sized(part.litres, spec.scale, 10 if part.litres > 99 else 5),
        area_m2=round(part.area_m2 * spec.scale, 1) or None, depth_m=part.depth_m or None,
        media=part.media, media_litres=_sized(part.media_litres, spec.scale, 5),
        flow_l_h=_sized(part.flow_l_h, spec.scale, 10), lift_m=part.lift_m or None,
        watts=_sized(part.watts, spec.scale, 1), make=MAKES.get(part.kind, ""), serial=serial,
        fitted_on=fitted,
        warranty_until=fitted + dt.timedelta(days=365 * years) if years else None,
    )  # fmt: skip


def _swap(works: Works, today: dt.date) -> None:
    for name, part_key, ago in SWAPS:
        if name != works.spec.key:
            continue
        for place, old in list(works.parts.items()):
            if place[1] != part_key:
                continue
            on = today - dt.timedelta(days=ago)
            fresh = _component(works.spec, old.loop, _part(works.spec, part_key),
                               old.place_in_flow, today)  # fmt: skip
            fresh.pk = key("part", works.spec.key, part_key, "new")
            fresh.fitted_on, fresh.replaces = on, old
            fresh.serial = (
                f"{CODES[old.kind]}-{chance(today, name, part_key).randrange(10000, 99999)}"
            )
            years = WARRANTY_YEARS.get(old.kind, 1)
            fresh.warranty_until = on + dt.timedelta(days=365 * years)
            old.removed_on = on
            works.gone.append(old)
            works.parts[place] = fresh


def _part(spec: Spec, part_key: str) -> Part:
    parts = parts_of(spec.design, spec.key, spec.climate, spec.fish)
    return next(part for row in parts.values() for part in row if part.key == part_key)


def _second_air(works: Works, today: dt.date) -> None:
    """After the heat wave a second air line was fitted."""
    on = dt.date(wave_year(today), *WAVE_FROM) + dt.timedelta(days=11)
    place = next(p for p in works.parts if p[1] == "air")
    first = works.parts[place]
    works.parts[(place[0], "air_2")] = Component(
        pk=key("part", works.spec.key, "air_2"), loop=first.loop, kind="air_pump",
        name="Second air pump", place_in_flow=first.place_in_flow + 4, flow_l_h=1200, watts=12,
        make=MAKES["air_pump"], serial=f"AI-{chance(today, works.spec.key).randrange(10000, 99999)}",
        fitted_on=on, warranty_until=on + dt.timedelta(days=730),
    )  # fmt: skip


@dataclass
class Life:
    """Rows of what lives in a system."""

    batches: list[FishBatch] = field(default_factory=list)
    deaths: list[Deaths] = field(default_factory=list)
    plantings: list[Planting] = field(default_factory=list)
    pickings: list[Picking] = field(default_factory=list)
    treatments: list[Treatment] = field(default_factory=list)
    holds: list[HarvestHold] = field(default_factory=list)


def life_of(works: Works, batches: list[Batch], crops: list[Crop], today: dt.date) -> Life:
    """Return fish, deaths, plantings and pickings; the hill tunnel also its treatment."""
    life = Life()
    kind = "fish" if "fish" in works.loops else "whole"
    for batch in batches:
        row = FishBatch(
            pk=key("batch", batch.key), loop=works.loops[kind], species_code=batch.species,
            count=batch.count, stocked_on=batch.stocked, mean_weight_g=batch.mean_g,
            supplier=batch.supplier, ended_on=batch.ended,
        )  # fmt: skip
        life.batches.append(row)
        for number, (on, count, note) in enumerate(batch.deaths):
            life.deaths.append(
                Deaths(
                    pk=key("deaths", batch.key, number), batch=row, on=on, count=count, note=note
                )
            )
    for crop in crops:
        part = works.find(crop.part)
        planting = Planting(
            pk=key("planting", crop.key), component=part, crop_code=crop.crop, count=crop.count,
            sown_on=crop.sown, transplanted_on=crop.set_out, ended_on=crop.ended,
        )  # fmt: skip
        life.plantings.append(planting)
        life.pickings += [
            Picking(
                pk=key("picking", crop.key, n), planting=planting, on=on, heads=heads, mass_kg=kg
            )
            for n, (on, heads, kg) in enumerate(crop.pickings)
        ]
    if works.spec.key == "dunmore":
        _treat(works, life, today)
    return life


def _treat(works: Works, life: Life, today: dt.date) -> None:
    treatment = Treatment(
        pk=key("treatment", "dunmore"), loop=works.loops["fish"],
        product="Bath against gill flukes (vet's prescription)", lot="OR-2291",
        on_whose_word="Dr Sabine Orrel, fish-health practice, Oldferry",
        reason="gill flukes under the microscope",
        began_on=today - dt.timedelta(days=19), ended_on=today - dt.timedelta(days=17),
    )  # fmt: skip
    life.treatments.append(treatment)
    life.holds.append(
        HarvestHold(
            pk=key("hold", "dunmore"), treatment=treatment, touches="fish",
            until=today + dt.timedelta(days=12),
        )
    )  # fmt: skip
