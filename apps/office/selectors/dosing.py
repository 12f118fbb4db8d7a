"""What a dosing plan starts from: the loop as the science knows it, and what was given lately."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace

from django.utils import timezone

from apps.advice.known import before_of, brought
from apps.advice.selectors import ingredients_of
from apps.calc.advice.facts import ROOM_NEEDED_PCT, Facts
from apps.calc.advice.situation import Loop as KnownLoop
from apps.calc.advice.situation import Reading, Situation, Source
from apps.calc.dosing_plan.products import PRODUCTS
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.systems.models import Loop
from apps.visits.models import Sheet
from apps.visits.selectors import backgrounds_of, bands_of

# the readings that a plan may rest on, in the order in which they are asked
READINGS = ("ph", "alk", "temp", "tan", "no2", "k", "ca", "mg", "fe", "po4", "na", "cl")
_NEAR = 1e-9


@dataclass(frozen=True)
class Given:
    """A dose of the log that counts: when it fell due, of what, how many grams."""

    at: dt.datetime
    product: str
    grams: float


@dataclass(frozen=True)
class DosingStart:
    """One loop as it is known now; `source_on`: when the source water was measured."""

    situation: Situation
    known: KnownLoop
    given: tuple[Given, ...]
    source_on: dt.date | None
    now: dt.datetime
    catalogue: Catalogue

    @property
    def in_catalogue(self) -> list[str]:
        """Return the products that the catalogue keeps, by code."""
        held = self.catalogue.of(EntryKind.CONSUMABLE)
        return [code for code, product in PRODUCTS.items() if product.consumable in held]

    @property
    def base_hours_ago(self) -> float | None:
        """Return the hours since the last base of the log, None without one in seven days."""
        last = max((row.at for row in self.given if PRODUCTS[row.product].strength), default=None)
        return (self.now - last).total_seconds() / 3600 if last else None

    def taken_at(self, code: str) -> dt.datetime | None:
        """Return when a reading was taken, None without one."""
        found = self.known.readings.get(code)
        return self.now - dt.timedelta(hours=found.age_h) if found else None

    def facts(
        self,
        values: Mapping[str, float | None],
        litres: float | None,
        source: Source | None,
        *,
        just_measured: bool,
    ) -> Facts:
        """Return the facts with what was typed: what differs from the record was measured now."""
        readings = {
            code: self._reading(code, value, just_measured=just_measured)
            for code, value in values.items() if value is not None
        }  # fmt: skip
        same = litres is not None and abs(litres - self.known.volume_l) <= _NEAR
        loop = replace(
            self.known, readings={**self._others(values), **readings}, volume_l=litres or 0.0,
            volume_within_pct=self.known.volume_within_pct if same else ROOM_NEEDED_PCT,
        )  # fmt: skip
        loops = tuple(loop if one.id == loop.id else one for one in self.situation.loops)
        situation = replace(self.situation, loops=loops, source=source)
        return Facts(situation, loop, bands_of(self.catalogue))

    def _others(self, values: Mapping[str, float | None]) -> dict[str, Reading]:
        return {code: row for code, row in self.known.readings.items() if code not in values}

    def _reading(self, code: str, value: float, *, just_measured: bool) -> Reading:
        held = self.known.readings.get(code)
        if held and not just_measured and abs(held.value - value) <= _NEAR:
            return held
        return Reading(value)


def dosing_start(loop: Loop, catalogue: Catalogue, now: dt.datetime) -> DosingStart:
    """Return what is known of a loop, with its fish, plants, readings and doses: 15 queries."""
    system, on = loop.system, timezone.localdate(now)
    background = backgrounds_of([system], catalogue, on, now)[system.pk]
    # the science asks for a sheet; nobody is there now, so it is one that is not kept
    sheet = Sheet(system=system)
    parts = ingredients_of([sheet], {system.pk: background}, now)[sheet.pk]
    situation = before_of(parts)
    given = [
        Given(at, code, grams)
        for row in parts.doses if row.loop_id == loop.pk
        for at, code, grams in brought(row, now)
        if code in PRODUCTS
    ]  # fmt: skip
    return DosingStart(
        situation, next(one for one in situation.loops if one.id == str(loop.pk)),
        tuple(sorted(given, key=lambda row: row.at)), parts.source.on if parts.source else None,
        now, catalogue,
    )  # fmt: skip
