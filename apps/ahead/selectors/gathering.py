"""From rows to what the forecast of a loop starts from. Days count from midnight of the first."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median
from uuid import UUID

from django.utils import timezone

from apps.advice.models import Advice
from apps.ahead.choices import Assumed
from apps.ahead.selectors.fish import WEIGHED_DAYS, fish_groups, growing
from apps.ahead.selectors.rows import Rows, limits_of_task, rows_of
from apps.ahead.selectors.warmth import HORIZON_DAYS, heat_of, weather_of
from apps.calc import carbonate, filtration
from apps.calc.advice.doses import SUBSTANCES
from apps.calc.ahead.facts import (
    Dosed,
    Fed,
    FishGroup,
    Kind,
    LoopFacts,
    MakeUp,
    Observed,
    Renewed,
    Weather,
)
from apps.calc.ahead.steps import end_of, left_open, step_of
from apps.calc.away import CARER_SHARE
from apps.catalogue.selectors import Catalogue
from apps.clients.models import SourceWater
from apps.clients.selectors import days_of
from apps.systems.choices import BEDS, LoopKind, SystemKind
from apps.systems.models import Flow, Loop, System
from apps.systems.selectors import loop_sizes
from apps.visits.models import Reading
from apps.visits.selectors import LoopLife, band_for

# the share of protein and the depth where nobody has noted them, what a water change takes, and
# the sludge drained in a week as a share of the water (common practice)
PROTEIN, DEPTH_M, CHANGED, SLUDGE_WEEK = 0.32, 0.7, 0.2, 0.01
FEED_DAYS, SLUDGE_DAYS = 30, 60
FED_NOTED = dt.timedelta(hours=3)
DOSES = ("k", "ca", "na", "mg", "fe", "cl")
NOT_WATER = frozenset({"feed", "topup", "settler_sludge", "outage", "fed_ago", "mort", "bw"})


@dataclass(frozen=True)
class Gathered:
    """One loop's facts, what of them was assumed, and when its last reading was taken.

    `fed_by`: the loop of the same system whose water flows into this one, one way.
    """

    loop: Loop
    facts: LoopFacts
    assumed: tuple[str, ...]
    readings_until: dt.datetime | None
    fed_by: UUID | None = None


def gather(
    system_ids: Sequence[UUID], catalogue: Catalogue, on: dt.date, at: dt.datetime
) -> list[Gathered]:
    """Return what is known of each loop of the active ones of these systems: fourteen queries."""
    rows = rows_of(system_ids, catalogue, on, at)
    return [
        _Gathering(rows, system, loop, catalogue, on).gathered()
        for system in rows.systems
        for loop in rows.backgrounds[system.pk].loops
    ]


def _kind(system: System, loop: Loop) -> Kind:
    if loop.kind == LoopKind.PLANT or system.kind == SystemKind.PLANTS_ONLY:
        return "plants"
    if loop.kind == LoopKind.FISH or system.kind == SystemKind.FISH_ONLY:
        return "fish"
    return "coupled"


class _Gathering:
    """The facts of one loop in the making; `assumed` fills as they are asked for."""

    def __init__(
        self, rows: Rows, system: System, loop: Loop, catalogue: Catalogue, on: dt.date
    ) -> None:
        self.rows, self.system, self.loop, self.on = rows, system, loop, on
        self.catalogue = catalogue
        self.background = rows.backgrounds[system.pk]
        self.life: LoopLife = self.background.lives[loop.pk]
        self.sizes = loop_sizes(loop)
        self.parts = list(loop.fitted)  # type: ignore[attr-defined]
        self.seen = [
            row for row in self.background.readings if row.loop_id == loop.pk and row.trusted
        ]
        self.assumed: list[str] = []
        start = dt.datetime.combine(on, dt.time(), timezone.get_current_timezone())
        self.start = start

    def gathered(self) -> Gathered:
        """Return the facts."""
        until = max((row.taken_at for row in self.seen), default=None)
        facts = self._facts()
        facts = replace(facts, fish=growing(facts, self.life.fish, self._taken("temp")))
        order = list(Assumed)
        assumed = sorted(dict.fromkeys(self.assumed), key=lambda code: order.index(Assumed(code)))
        into = [flow for flow in self._one_way() if flow.target_id in self._own]
        fed_by = self._loop_of[into[0].source_id] if into else None
        return Gathered(self.loop, facts, tuple(assumed), until, fed_by)

    def _facts(self) -> LoopFacts:
        out = [flow for flow in self._one_way() if flow.source_id in self._own]
        into = [flow for flow in self._one_way() if flow.target_id in self._own]
        place = self.system.place
        return LoopFacts(
            kind=_kind(self.system, self.loop),
            volume_l=self.sizes.litres,
            fish_volume_l=self.sizes.tank_litres,
            media_area_m2=sum(
                filtration.media_area_m2(kind, litres)
                for kind, litres in self.sizes.media
                if kind in filtration.MEDIA
            ),
            plant_area_m2=sum(crop[2] for crop in self.life.crops),
            open_area_m2=self._open_area(),
            rain_area_m2=self._rain_area(),
            altitude_m=place.altitude_m,
            aeration_per_day=None,
            protein_fraction=self._assume(Assumed.PROTEIN, PROTEIN) if self.life.fish else PROTEIN,
            feed_g_day=self._feed(),
            drawn_off_l_day=self._drawn_off(),
            flow_out_l_day=sum(flow.litres_per_day or 0.0 for flow in out),
            flow_in_l_day=sum(flow.litres_per_day or 0.0 for flow in into),
            inflow=self._inflow(into),
            make_up=self._make_up(self.rows.sources.get(place.pk)),
            fish=self._fish(),
            weather=self._weather(),
            observed=tuple(self._observed()),
            fed=(*self._given(), *self._while_away()),
            dosed=tuple(self._dosed()),
            renewed=tuple(self._renewed()),
            limits=self._limits(), meals_a_day=self.system.meals_a_day,
        )  # fmt: skip

    @property
    def _own(self) -> set[UUID]:
        return {part.pk for part in self.parts}

    def _assume(self, code: Assumed, value: float) -> float:
        self.assumed.append(code)
        return value

    def _day(self, row: Reading) -> float:
        return self._days(row.taken_at)

    def _days(self, moment: dt.datetime) -> float:
        return (moment - self.start).total_seconds() / 86400

    def _weather(self) -> tuple[Weather, ...]:
        heated_to = heat_of(self.parts, [row.batch.species_code for row in self.life.fish])
        found, codes = weather_of(
            self.system.place, self.loop.rain_area_m2, self.rows.climates, self._taken("temp"),
            self.on, heated_to,
        )  # fmt: skip
        self.assumed += codes
        return found

    def _rain_area(self) -> float:
        area = self.loop.rain_area_m2
        return self._assume(Assumed.COVERED, 0.0) if area is None else area

    def _taken(self, measurand: str) -> list[tuple[dt.date, float]]:
        return [
            (timezone.localdate(row.taken_at), row.value)
            for row in self.seen
            if row.measurand == measurand
        ]

    @property
    def _loop_of(self) -> dict[UUID, UUID]:
        """The loop of each part of the system."""
        return {
            part.pk: loop.pk
            for loop in self.background.loops
            for part in loop.fitted  # type: ignore[attr-defined]
        }

    def _one_way(self) -> list[Flow]:
        loops = self._loop_of
        return [
            flow
            for flow in self.rows.flows
            if flow.source_id in loops
            and flow.target_id in loops
            and loops[flow.source_id] != loops[flow.target_id]
        ]

    def _open_area(self) -> float:
        """Surface open to the air: what holds water and is no bed."""
        total = 0.0
        for part in self.parts:
            if part.kind in BEDS or part.kind not in ("tank", "settler", "sump", "moving_bed"):
                continue
            depth = part.depth_m
            if not depth and part.litres:
                self.assumed.append(Assumed.AREA)
            total += part.area_m2 or (part.litres or 0.0) / 1000 / (depth or DEPTH_M)
        return total

    def _feed(self) -> float | None:
        since = -FEED_DAYS
        given = [
            row.value for row in self.seen if row.measurand == "feed" and self._day(row) >= since
        ]
        if given:
            return float(median(given))
        if self.life.fish:
            self.assumed.append(Assumed.FEED)
        return None

    def _given(self) -> list[Fed]:
        return [Fed(self._day(row), row.value) for row in self.seen if row.measurand == "feed"]

    def _while_away(self) -> list[Fed]:
        """Return what is fed while the household is away: half by somebody else, else nothing."""
        usual = self._feed() if self.life.fish else None
        noted = {int(fed.day // 1) for fed in self._given()}
        found = []
        for row in self.rows.away:
            if row.place_id != self.system.place_id or not self.life.fish:
                continue
            share = CARER_SHARE if row.carer_name else 0.0
            if share and usual is None:
                continue
            numbers = ((day - self.on).days for day in days_of(row))
            found += [
                Fed(float(number), (usual or 0.0) * share)
                for number in numbers
                if 0 <= number <= HORIZON_DAYS and number not in noted
            ]
        return found

    def _drawn_off(self) -> float:
        drained = [
            row.value
            for row in self.seen
            if row.measurand == "settler_sludge" and self._day(row) >= -SLUDGE_DAYS
        ]
        times = sum(
            1
            for system, code, day in self.rows.done
            if system == self.system.pk
            and code == "settler_drain"
            and (self.on - day).days <= SLUDGE_DAYS
        )
        if drained:
            return median(drained) * max(len(drained), times) / SLUDGE_DAYS
        if self.life.fish:
            return self._assume(Assumed.SLUDGE, self.sizes.litres * SLUDGE_WEEK / 7)
        return 0.0

    def _inflow(self, into: Sequence[Flow]) -> MakeUp:
        if not into:
            return MakeUp()
        before = self._loop_of[into[0].source_id]
        last = {
            row.measurand: row.value
            for row in self.background.readings
            if row.loop_id == before and row.trusted and row.measurand not in NOT_WATER
        }
        return MakeUp(tuple(sorted(last.items())))

    def _make_up(self, row: SourceWater | None) -> MakeUp:
        if row is None:
            self.assumed.append(Assumed.SOURCE)
            return MakeUp()
        values = {
            "ph": row.ph, "alk": row.alkalinity_mg_l_caco3, "gh": row.hardness_mg_l_caco3,
            "tan": row.tan_mg_l, "no3": row.nitrate_n_mg_l, "temp": row.temp_c,
        }  # fmt: skip
        return MakeUp(tuple((name, value) for name, value in values.items() if value is not None))

    def _fish(self) -> tuple[FishGroup, ...]:
        late = self.on - dt.timedelta(days=WEIGHED_DAYS)
        self.assumed += [Assumed.WEIGHT for row in self.life.fish if row.weighed_on < late]
        return fish_groups(self.life.fish, self._taken("temp"), self.on)

    def _observed(self) -> list[Observed]:
        by_kit: dict[tuple[str, str], list[float]] = {}
        rows = [row for row in self.seen if row.measurand not in NOT_WATER]
        for row in rows:
            by_kit.setdefault((row.measurand, row.method), []).append(row.value)
        kits = {
            key: (step_of(key[0], values, self._decimals(key[0])), end_of(key[0], values))
            for key, values in by_kit.items()
        }
        return [
            Observed(
                self._day(row), row.measurand, row.value,
                *left_open(row.measurand, row.value, *kits[(row.measurand, row.method)]),
                fed_ago_h=self._fed_ago(row) if row.measurand == "tan" else None,
            )
            for row in rows
        ]  # fmt: skip

    def _fed_ago(self, row: Reading) -> float | None:
        """Return the hours since the last feed, where they were noted about when a reading was taken."""
        told = [
            other.value + (row.taken_at - other.taken_at) / dt.timedelta(hours=1)
            for other in self.seen
            if other.measurand == "fed_ago" and abs(row.taken_at - other.taken_at) <= FED_NOTED
        ]
        return max(0.0, told[-1]) if told else None

    def _decimals(self, measurand: str) -> int:
        return int((self.catalogue.measurand(measurand) or {}).get("decimals") or 0)

    def _steps(self, unit: str) -> list[tuple[float, float, Advice]]:
        """Return (day, amount, advice) of what kept advice has put into the loop until now."""
        found = []
        for row in self.rows.advice:
            if row.loop_id != self.loop.pk or row.unit != unit or row.dose is None:
                continue
            steps = row.parameters.get("steps") or [{"after_hours": 0.0, "dose": row.dose}]
            for step in steps:
                moment = row.made_at + dt.timedelta(hours=float(step["after_hours"]))
                # what a later visit replaced was not gone on with
                if self._days(moment) < 0 and (row.closed_at is None or moment <= row.closed_at):
                    found.append((self._days(moment), float(step["dose"]), row))
        return found

    def _dosed(self) -> list[Dosed]:
        found = []
        for day, grams, row in self._steps("g"):
            code = str(row.parameters.get("substance") or "")
            salt = carbonate.SALTS.get(code)
            strength = 1.0 if code == "CaCO3" else salt.strength if salt else 0.0
            if strength:
                found.append(Dosed(day, "alk", grams * strength))
            known = SUBSTANCES.get(code)
            brings = {name: getattr(known, name, 0.0) for name in DOSES}
            found += [Dosed(day, name, grams * share) for name, share in brings.items() if share]
        return sorted(found, key=lambda item: (item.day, item.measurand))

    def _renewed(self) -> list[Renewed]:
        by_day = {}
        for system, code, day in self.rows.done:
            if system == self.system.pk and code == "water_change":
                # at noon of its day, of a size that nobody has noted
                by_day[(day - self.on).days] = CHANGED * self.sizes.litres
        for when, litres, _row in self._steps("L"):
            by_day[int(when // 1)] = litres
        return [Renewed(day + 0.5, litres) for day, litres in sorted(by_day.items())]

    def _limits(self) -> tuple[tuple[str, str, float], ...]:
        """Return where somebody has to act: beyond it a reading is out of band, or a task waits."""
        found = set()
        for code in self.catalogue.of("measurands"):
            band = band_for(self.catalogue, code, self.life.context)
            if band is None:
                continue
            for side, level in (
                ("below", band.amber_lo if band.amber_lo is not None else band.red_lo),
                ("above", band.amber_hi if band.amber_hi is not None else band.red_hi),
            ):
                if level is not None:
                    found.add((code, side, float(level)))
        for task in self.rows.limits:
            if task.system_id == self.system.pk and task.loop_id in (None, self.loop.pk):
                found.update(limits_of_task(task))
        return tuple(sorted(found))
