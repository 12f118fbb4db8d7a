"""What of a tank stands before whoever is on the telephone: water, fish, air, readings, people."""

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.advice.explaining import explanation_words
from apps.advice.known import before_of
from apps.advice.selectors import ingredients_of
from apps.calc import oxygen
from apps.calc.advice.facts import Facts
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.clients.models import Contact
from apps.core.numbers import format_figure, with_unit
from apps.core.scoping import Actor
from apps.office.selectors.due import hours_words
from apps.office.wording import age_words
from apps.systems.models import Component, Loop, System
from apps.visits.models import Reading, Sheet, Visit
from apps.visits.selectors import Background, backgrounds_of, bands_of, latest
from apps.visits.shown import Shown, loop_name, reading_data, shown

ASKED = ("do", "temp", "tan", "no2", "ph", "alk", "chlorine", "no3")
PUMPS, AIR, BACKUP = ("pump",), ("air_pump", "backup_air"), "backup_air"
LONG = 6 * 60
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
    on = timezone.localdate(actor.at)
    background = backgrounds_of([system], catalogue, on, actor.at)[system.pk]
    # the science asks for a sheet; nobody is there yet, so it is one that is not kept
    sheet = Sheet(system=system)
    parts = ingredients_of([sheet], {system.pk: background}, actor.at)[sheet.pk]
    situation = before_of(parts)
    read = latest([row for row in background.readings if row.trusted])
    loops = [
        _loop(loop, Facts(situation, known, bands_of(catalogue)), read, background, actor.at, catalogue)
        for loop, known in zip(background.loops, situation.loops, strict=True)
    ]  # fmt: skip
    place = system.place
    visits = Visit.objects.visible_to(actor).filter(
        sheets__system=system, finished_at__isnull=False
    )
    return Tank(
        system, loops, visits.order_by("-finished_at").first(),
        list(Contact.objects.visible_to(actor).filter(client=place.client_id).order_by("name")),
        hours_words(list(place.hours.all())),
    )  # fmt: skip


def _loop(
    loop: Loop,
    facts: Facts,
    read: Mapping[Any, Reading],
    background: Background,
    now: dt.datetime,
    catalogue: Catalogue,
) -> LoopFacts:
    own = {code: read[(loop.pk, code)] for code in ASKED if (loop.pk, code) in read}
    life = background.lives[loop.pk]
    fitted = list(loop.fitted)  # type: ignore[attr-defined]
    names = dict.fromkeys(
        _(catalogue.name(EntryKind.SPECIES, row.batch.species_code)) for row in life.fish
    )
    return LoopFacts(
        name=loop_name(loop.kind),
        litres=facts.loop.volume_l,
        kg=facts.biomass_kg,
        count=sum(row.count for row in life.fish),
        species=", ".join(names),
        minutes=_minutes(facts, own, now, catalogue) if facts.has_fish else None,
        seen=[
            Seen(code, shown(reading_data(row, None, [], catalogue)), age_words(row.taken_at, now))
            for code, row in own.items()
        ],
        pumps=[part for part in fitted if part.kind in PUMPS],
        air=[part for part in fitted if part.kind in AIR],
    )


def _minutes(
    facts: Facts, own: Mapping[str, Reading], now: dt.datetime, catalogue: Catalogue
) -> Minutes:
    """Return the lower bound: as the phone has it from fresh readings, else from the last ones.

    Old readings say nothing of feeding, so the fish count as fed, which halves the time.
    """
    found = facts.minutes_without_air
    if found is None and ("do" not in own or "temp" not in own or not facts.loop.volume_l):
        missing = _(
            "Oxygen or temperature was never read here, so no time can be given: air on now."
        )
        return Minutes("", [missing], known=False)
    do, temp = (facts.reading(code) for code in ("do", "temp"))
    fresh = found is not None and do is not None and temp is not None
    oxygen_mg_l = do.value if fresh and do else own["do"].value
    temp_c = temp.value if fresh and temp else own["temp"].value
    if found is None:
        found = oxygen.minutes_without_air(
            oxygen_mg_l, temp_c, facts.biomass_kg, facts.loop.volume_l, facts.oxygen_limit, fed=True
        )
    told = {
        "formula": "minutes_without_air", "sources": ("practice",), "assumptions": ASSUMED,
        "inputs": {"do": oxygen_mg_l, "temp": temp_c, "biomass": facts.biomass_kg,
                   "volume_l": facts.loop.volume_l, "limit": facts.oxygen_limit},
    }  # fmt: skip
    why = [_rests_on(own, now)]
    if not fresh:
        why.append(_("Those readings are old: less may be left. The fish count as fed."))
    return Minutes(_figure(found), why, explained=explanation_words(told, catalogue))


def _rests_on(own: Mapping[str, Reading], now: dt.datetime) -> str:
    ages = {code: age_words(own[code].taken_at, now) for code in ("do", "temp")}
    return _("From oxygen read %(do)s ago and temperature read %(temp)s ago.") % ages


def _figure(minutes: float) -> str:
    if math.isinf(minutes):
        return _("no limit")
    whole = math.floor(minutes)
    if whole >= LONG:
        return ngettext("%(count)d hour", "%(count)d hours", whole // 60) % {"count": whole // 60}
    return ngettext("%(count)d minute", "%(count)d minutes", whole) % {"count": whole}


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
