"""What is said of how fast a batch grows: by its weighings, against its species."""

import datetime as dt
from collections.abc import Sequence
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.batches.selectors import FishNow
from apps.calc.species import species_table
from apps.calc.weighings import Taken, growth_weighed
from apps.core.numbers import format_figure
from apps.visits.selectors import temperatures


def growth_said(fish: Sequence[FishNow], now: dt.datetime) -> dict[UUID, str]:
    """Return a sentence for each batch: one query where one was weighed twice, else none."""
    twice = [row for row in fish if _times(row) > 1]
    temps: dict[UUID, list[tuple[dt.date, float]]] = {}
    if twice:
        for reading in temperatures({row.batch.loop_id for row in twice}, now):
            day = timezone.localdate(reading.taken_at)
            temps.setdefault(reading.loop_id, []).append((day, reading.value))
    return {row.batch.pk: _said(row, temps.get(row.batch.loop_id, ())) for row in fish}


def _times(row: FishNow) -> int:
    return len({day for day, _mean in row.weighed})


def _said(row: FishNow, temps: Taken) -> str:
    kind = species_table().get(row.batch.species_code)
    if kind is None:
        return _("Nothing is known of how these fish grow.")
    usual = format_figure(kind.tgc, 2)
    found = growth_weighed(row.weighed, temps, kind)
    if found is None:
        words = ngettext(
            "Growth as usual for these fish, coefficient %(usual)s: weighed on %(count)d day, two tell more.",
            "Growth as usual for these fish, coefficient %(usual)s: weighed on %(count)d days, in warmth that they feed in two tell more.",
            _times(row),
        )  # fmt: skip
        return words % {"usual": usual, "count": _times(row)}
    return _(
        "Growth by %(count)s weighings: coefficient %(fitted)s (give or take %(spread)s), usual for these "
        "fish %(usual)s: %(share)s %% of it. Forecasts go by that."
    ) % {
        "count": _times(row), "fitted": format_figure(found.tgc, 2),
        "spread": format_figure(found.spread, 2), "usual": usual,
        "share": format_figure(100 * found.tgc / kind.tgc, 0),
    }  # fmt: skip
