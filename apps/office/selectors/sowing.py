"""What the page of sowings shows: the plan of one crop, and what will be picked of what stands."""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.batches.models import Planting
from apps.calc.sowing import Crop, Sowing, by_week
from apps.catalogue.selectors import Catalogue
from apps.core.dates import span_text
from apps.core.numbers import format_figure, format_plain, with_unit
from apps.office.wording import upper_first

WEEKS = 10
ONE_WEEK = dt.timedelta(days=7)


def crops_sown(catalogue: Catalogue) -> list[tuple[str, str]]:
    """Return the crops that are picked as heads and can be raised from seed, by name."""
    rows = [
        (code, upper_first(_(str(row["name"]))))
        for code, row in catalogue.of("crops").items()
        if row["group"] == "leafy" and crop_of(row) is not None
    ]
    return sorted(rows, key=lambda row: row[1])


def crop_of(row: Mapping[str, Any]) -> Crop | None:
    """Return a crop as the science of sowing knows it; None where its days are not known."""
    if row["transplant_day_low"] is None or row["harvest_days_low"] is None:
        return None
    return Crop(
        germination_days={float(t): float(d) for t, d in row["germination_days"].items()},
        normal_pct={float(t): float(p) for t, p in row["normal_seedlings_pct"].items()},
        transplant_days=(row["transplant_day_low"], row["transplant_day_high"]),
        harvest_days=(row["harvest_days_low"], row["harvest_days_high"]),
        per_m2=(row["per_m2_low"], row["per_m2_high"]) if row["per_m2_low"] else None,
        warm_limit_c=row.get("warm_germination_limit"),
        seed_life_years=row.get("seed_life_years_low"),
    )


def plan_words(found: Sowing, heads: float, temp_c: float) -> list[str]:
    """Return the plan in sentences."""
    said = [
        ngettext(
            "Sow %(seeds)d seed a week: %(share)s %% come up%(known)s, and nine of ten of those "
            "are planted out.",
            "Sow %(seeds)d seeds a week: %(share)s %% come up%(known)s, and nine of ten of those "
            "are planted out.", found.seeds,
        ) % {
            "seeds": found.seeds, "share": format_figure(found.share_pct, 0),
            "known": "" if found.share_known else _(" (assumed, for nothing is published)"),
        }
    ]  # fmt: skip
    if found.comes_up_days is not None:
        said.append(
            _("At %(temp)s °C they come up in about %(days)s days.")
            % {"temp": format_plain(temp_c), "days": format_figure(found.comes_up_days, 0)}
        )
    bed: dict[str, Any] = {"plants": found.plants_in_bed}
    if found.area_m2 is not None:
        bed |= {
            "low": format_figure(found.area_m2[1], 1),
            "high": with_unit(format_figure(found.area_m2[0], 1), "m²"),
        }
        said.append(_("%(plants)d plants then stand in the bed, on %(low)s to %(high)s.") % bed)
    else:
        said.append(_("%(plants)d plants then stand in the bed.") % bed)
    return said


def warnings(found: Sowing, crop: Crop, area_m2: float | None, heads: float) -> list[str]:
    """Return what speaks against it."""
    said = []
    if found.too_warm:
        said.append(
            _("Too warm for this seed: over %(limit)s °C few come up. Let them come up somewhere "
              "cooler, then bring them out.") % {"limit": format_plain(crop.warm_limit_c or 0)}
        )  # fmt: skip
    if found.too_cold:
        said.append(
            _("Colder than anybody published for this seed: whether it comes up, and when, is not "
              "known. Let it come up somewhere warmer, then bring it out.")
        )  # fmt: skip
    if found.seed_old:
        said.append(
            _("The seed is past its %(years)s years, cool and dry: test 20 of them first.")
            % {"years": format_plain(crop.seed_life_years or 0)}
        )
    if area_m2 and found.area_m2 and area_m2 < found.area_m2[1]:
        most = math.floor(heads * area_m2 / found.area_m2[1])
        said.append(
            ngettext(
                "The bed is too small even at the closest spacing: it gives about %(most)d head a week.",
                "The bed is too small even at the closest spacing: it gives about %(most)d heads a week.",
                most,
            ) % {"most": most}
        )  # fmt: skip
    return said


def sowings_shown(found: Sowing, first: dt.date) -> list[dict[str, Any]]:
    """Return the sowings of the next weeks with their days."""
    days = [first + ONE_WEEK * number for number in range(WEEKS)]
    return [
        {"sow": day, "out": _span(day, found.plant_out), "pick": _span(day, found.pick)}
        for day in days
    ]


def _span(day: dt.date, numbers: tuple[int, int]) -> str:
    first, last = (day + dt.timedelta(days=number) for number in numbers)
    return span_text(first, last)


def pickings_shown(
    plantings: Sequence[Planting], catalogue: Catalogue, on: dt.date
) -> list[dict[str, Any]]:
    """Return what will be picked of what stands, crop by crop and week by week from a day."""
    windows: dict[str, list[tuple[int, int, float]]] = {}
    for row in plantings:
        entry = catalogue.get("crops", row.crop_code)
        crop = crop_of(entry) if entry else None
        window = _window(row, crop, on) if crop else None
        if window is not None:
            windows.setdefault(row.crop_code, []).append((*window, float(row.count)))
    return [
        {
            "name": upper_first(_(catalogue.name("crops", code))),
            "weeks": [format_figure(value, 0) if value >= 0.5 else "" for value in
                      by_week(rows, WEEKS)],
        }
        for code, rows in sorted(windows.items())
    ]  # fmt: skip


def _window(row: Planting, crop: Crop, on: dt.date) -> tuple[int, int] | None:
    """Return the first and last day of picking, counted from a day."""
    low, high = crop.harvest_days
    if row.transplanted_on is not None:
        since = (row.transplanted_on - on).days
        return round(since + low), round(since + high)
    if row.sown_on is not None:
        since = (row.sown_on - on).days
        first, last = crop.transplant_days
        return round(since + first + low), round(since + last + high)
    return None


def weeks_shown(on: dt.date) -> list[str]:
    """Return the weeks from a day as spans."""
    return [
        span_text(on + ONE_WEEK * number, on + ONE_WEEK * number + dt.timedelta(days=6))
        for number in range(WEEKS)
    ]
