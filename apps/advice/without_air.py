"""How long the fish of a system last without air, from what is known of it at a time.

The office's page of a call and the client's page ask the same code, so both name the same minutes.
"""

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.advice.known import before_of
from apps.advice.selectors import ingredients_of
from apps.calc import oxygen
from apps.calc.advice.facts import Facts
from apps.catalogue.selectors import Catalogue
from apps.systems.models import Loop, System
from apps.visits.models import Reading, Sheet
from apps.visits.selectors import LoopLife, backgrounds_of, bands_of, latest

# from here on whole hours are said
LONG = 6 * 60


@dataclass(frozen=True)
class AirLeft:
    """How long fish last without air, at least, and the readings that it is counted from.

    `minutes`: infinite where nothing limits them, None where oxygen or temperature was never read.
    `fresh`: the readings are new enough to count as they are. `alone`: minutes in the tank's own
    water after a feed, as where the pump stands too; None where the litres of no tank are known.
    """

    minutes: float | None
    do: Reading | None
    temp: Reading | None
    fresh: bool = False
    inputs: Mapping[str, float] = field(default_factory=dict)
    alone: float | None = None


@dataclass(frozen=True)
class LoopNow:
    """One body of water as it is known now; `last`: its last trusted readings by code."""

    loop: Loop
    facts: Facts
    life: LoopLife
    last: Mapping[str, Reading]
    air: AirLeft | None


def loops_now(system: System, catalogue: Catalogue, at: dt.datetime) -> list[LoopNow]:
    """Return the loops of a system as they are known at a time: a fixed number of queries."""
    background = backgrounds_of([system], catalogue, timezone.localdate(at), at)[system.pk]
    # the science asks for a sheet; nobody is there yet, so it is one that is not kept
    sheet = Sheet(system=system)
    situation = before_of(ingredients_of([sheet], {system.pk: background}, at)[sheet.pk])
    read = latest([row for row in background.readings if row.trusted])
    found = []
    for loop, known in zip(background.loops, situation.loops, strict=True):
        facts = Facts(situation, known, bands_of(catalogue))
        last = {code: row for (pk, code), row in read.items() if pk == loop.pk}
        air = air_left(facts, last) if facts.has_fish else None
        found.append(LoopNow(loop, facts, background.lives[loop.pk], last, air))
    return found


def air_left(facts: Facts, last: Mapping[str, Reading]) -> AirLeft:
    """Return the lower bound: as the phone has it from fresh readings, else from the last ones.

    Old readings say nothing of feeding, so the fish count as fed, which halves the time.
    """
    do, temp = last.get("do"), last.get("temp")
    minutes = facts.minutes_without_air
    if do is None or temp is None or (minutes is None and not facts.loop.volume_l):
        return AirLeft(None, do, temp)
    new_do, new_temp = (facts.reading(code) for code in ("do", "temp"))
    fresh = minutes is not None and new_do is not None and new_temp is not None
    oxygen_mg_l = new_do.value if fresh and new_do else do.value
    temp_c = new_temp.value if fresh and new_temp else temp.value
    if minutes is None:
        minutes = oxygen.minutes_without_air(
            oxygen_mg_l, temp_c, facts.biomass_kg, facts.loop.volume_l, facts.oxygen_limit, fed=True
        )
    inputs = {
        "do": oxygen_mg_l, "temp": temp_c, "biomass": facts.biomass_kg,
        "volume_l": facts.loop.volume_l, "limit": facts.oxygen_limit,
    }  # fmt: skip
    alone = None
    if facts.loop.tank_l:
        alone = oxygen.minutes_without_air(
            oxygen_mg_l, temp_c, facts.biomass_kg, facts.loop.tank_l, facts.oxygen_limit, fed=True
        )
    return AirLeft(minutes, do, temp, fresh, inputs, alone)


def minutes_words(minutes: float) -> str:
    """Return a time without air as it is said: whole minutes, never rounded up; hours from six on."""
    if math.isinf(minutes):
        return _("no limit")
    whole = math.floor(minutes)
    if whole >= LONG:
        return ngettext("%(count)d hour", "%(count)d hours", whole // 60) % {"count": whole // 60}
    return ngettext("%(count)d minute", "%(count)d minutes", whole) % {"count": whole}


def pump_words(left: AirLeft) -> str:
    """Return how long they last where the pump stands as well, by the tank alone; else nothing."""
    if left.minutes is None or left.alone is None or left.alone >= left.minutes:
        return ""
    return _("If the pump stands too: %(time)s.") % {"time": minutes_words(left.alone)}
