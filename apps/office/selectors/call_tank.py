"""What of a tank stands before whoever is on the telephone: water, fish, air, readings, people."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from apps.advice.explaining import explanation_words
from apps.advice.without_air import AirLeft, LoopNow, loops_now, minutes_words, pump_words
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.clients.models import Contact
from apps.core.numbers import format_figure, with_unit
from apps.core.scoping import Actor
from apps.office.selectors.due import hours_words
from apps.office.wording import age_words
from apps.systems.models import Component, System
from apps.visits.models import Reading, Visit
from apps.visits.shown import Shown, loop_name, reading_data, shown

ASKED = ("do", "temp", "tan", "no2", "ph", "alk", "chlorine", "no3")
PUMPS, AIR, BACKUP = ("pump",), ("air_pump", "backup_air"), "backup_air"
ASSUMED = ("surface_ignored", "others_breathe")


@dataclass(frozen=True)
class Seen:
    """A reading in words, and how old it is."""

    code: str
    item: Shown
    age: str


@dataclass(frozen=True)
class Minutes:
    """How long the fish last without air, at least; `why` says what it rests on, or why it is missing."""

    figure: str
    why: list[str]
    known: bool = True
    explained: Mapping[str, Any] = field(default_factory=dict)


@dataclass
class LoopFacts:
    """One body of water with what lives in it."""

    name: str
    litres: float
    kg: float
    count: int
    species: str
    minutes: Minutes | None
    seen: list[Seen]
    pumps: list[Component]
    air: list[Component]

    @property
    def has_backup(self) -> bool:
        """Whether backup air is known of."""
        return any(part.kind == BACKUP for part in self.air)


@dataclass
class Tank:
    """A system as the telephone needs it."""

    system: System
    loops: list[LoopFacts]
    last_visit: Visit | None
    contacts: list[Contact]
    hours: str

    @property
    def main(self) -> LoopFacts | None:
        """The loop with the most fish, else the first one."""
        return max(self.loops, key=lambda loop: loop.kg, default=None)


def tank_of(actor: Actor, system: System, catalogue: Catalogue) -> Tank:
    """Return what is known of a system now: a fixed number of queries."""
    place = system.place
    visits = Visit.objects.visible_to(actor).filter(
        sheets__system=system, finished_at__isnull=False
    )
    return Tank(
        system,
        [_loop(row, actor.at, catalogue) for row in loops_now(system, catalogue, actor.at)],
        visits.order_by("-finished_at").first(),
        list(Contact.objects.visible_to(actor).filter(client=place.client_id).order_by("name")),
        hours_words(list(place.hours.all())),
    )


def _loop(row: LoopNow, now: dt.datetime, catalogue: Catalogue) -> LoopFacts:
    fitted = list(row.loop.fitted)  # type: ignore[attr-defined]
    names = dict.fromkeys(
        _(catalogue.name(EntryKind.SPECIES, fish.batch.species_code)) for fish in row.life.fish
    )
    return LoopFacts(
        name=loop_name(row.loop.kind),
        litres=row.facts.loop.volume_l,
        kg=row.facts.biomass_kg,
        count=sum(fish.count for fish in row.life.fish),
        species=", ".join(names),
        minutes=_minutes(row.air, now, catalogue) if row.air else None,
        seen=[
            Seen(code, shown(reading_data(row.last[code], None, [], catalogue)),
                 age_words(row.last[code].taken_at, now))
            for code in ASKED if code in row.last
        ],
        pumps=[part for part in fitted if part.kind in PUMPS],
        air=[part for part in fitted if part.kind in AIR],
    )  # fmt: skip


def _minutes(left: AirLeft, now: dt.datetime, catalogue: Catalogue) -> Minutes:
    """Return the lower bound in words, with what it rests on."""
    if left.minutes is None or left.do is None or left.temp is None:
        missing = _(
            "Oxygen or temperature was never read here, so no time can be given: air on now."
        )
        return Minutes("", [missing], known=False)
    told = {
        "formula": "minutes_without_air", "sources": ("practice",), "assumptions": ASSUMED,
        "inputs": left.inputs,
    }  # fmt: skip
    why = [line for line in (pump_words(left), _rests_on(left.do, left.temp, now)) if line]
    if not left.fresh:
        why.append(_("Those readings are old: less may be left. The fish count as fed."))
    return Minutes(minutes_words(left.minutes), why, explained=explanation_words(told, catalogue))


def _rests_on(do: Reading, temp: Reading, now: dt.datetime) -> str:
    ages = {"do": age_words(do.taken_at, now), "temp": age_words(temp.taken_at, now)}
    return _("From oxygen read %(do)s ago and temperature read %(temp)s ago.") % ages


def step_figures(tank: Tank, codes: tuple[str, ...]) -> list[tuple[str, str]]:
    """Return the figures of a tank that stand beside a question: (name, value); unknown ones say so."""
    loop = tank.main
    rows = []
    for code in codes:
        if code == "address":
            rows.append((_("Address"), tank.system.place.address))
        elif loop is not None:
            rows += _beside(loop, code)
    return rows


def _beside(loop: LoopFacts, code: str) -> list[tuple[str, str]]:
    unknown = _("not known")
    if code == "minutes":
        return (
            [(_("Without air they last, at least"), loop.minutes.figure or unknown)]
            if loop.minutes
            else []
        )
    if code in ("air_parts", "pump_parts"):
        label, parts = (_("Air"), loop.air) if code == "air_parts" else (_("Pumps"), loop.pumps)
        return [(label, ", ".join(part.name for part in parts) or unknown)]
    amounts = {
        "litres": (_("Water in the loop"), with_unit(format_figure(loop.litres, 0), "L")),
        "quarter": (_("A quarter of the water"), with_unit(format_figure(loop.litres / 4, 0), "L")),
        "biomass": (_("Fish, together"), with_unit(format_figure(loop.kg, 1), "kg")),
        "fish_count": (_("Number of fish"), format_figure(loop.count, 0)),
        "two_percent": (_("Two in a hundred of them"), format_figure(loop.count * 0.02, 0)),
    }
    if code in amounts:
        return [amounts[code]]
    seen = next((row for row in loop.seen if row.code == code), None)
    if seen is None:
        return []
    text = _("%(figure)s, %(age)s ago") % {
        "figure": with_unit(seen.item.figure, seen.item.unit), "age": seen.age,
    }  # fmt: skip
    return [(seen.item.name, text)]
