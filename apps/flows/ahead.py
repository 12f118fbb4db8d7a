"""Ahead: forecasts are made in the worker, at night for all and after a visit for one system."""

import datetime as dt
import logging
from collections.abc import Iterable, Mapping, Sequence
from uuid import UUID

from django.utils import timezone

from apps.ahead.codec import learnt_kept, record_kept
from apps.ahead.selectors import Gathered, gather, records_read
from apps.ahead.services import Made, feed_left_refresh, forecasts_keep
from apps.calc.ahead.drive import inflow_from
from apps.calc.ahead.facts import MakeUp
from apps.calc.ahead.pooling import Sums, pooled, sums_of
from apps.catalogue.selectors import catalogue_current
from apps.core import outbox
from apps.systems.models import System

logger = logging.getLogger(__name__)
EFFECT = "ahead.make"
# systems that are worked out side by side, and kept in one transaction
BATCH = 40


def forecast_ask(system_ids: Iterable[UUID], at: dt.datetime) -> None:
    """Have the forecasts of some systems made anew: one effect a system and minute."""
    minute = timezone.localtime(at).strftime("%Y%m%d%H%M")
    wanted = {
        f"{EFFECT}:{pk}:{minute}": {"system_ids": [str(pk)]} for pk in sorted(system_ids, key=str)
    }
    outbox.enqueue_all(EFFECT, wanted, at=at)


def night_ask(on: dt.date, at: dt.datetime, run_at: dt.datetime | None = None) -> int:
    """Have the forecasts of all active systems made anew once a night; return how many effects.

    They wait until `run_at`.
    """
    ids = System.objects.filter(active=True).order_by("pk").values_list("pk", flat=True)
    known = [str(pk) for pk in ids]
    batches = [known[start : start + BATCH] for start in range(0, len(known), BATCH)]
    for number, batch in enumerate(batches):
        key = f"{EFFECT}:{on.isoformat()}:{number}"
        outbox.enqueue(EFFECT, key, {"system_ids": batch}, at=at, run_at=run_at)
    return len(batches)


def forecasts_make(*, system_ids: Sequence[UUID], at: dt.datetime) -> int:
    """Make and keep the forecasts of some systems; return of how many loops.

    The same again gives the same. Systems that ended, and loops of which no litres are known, have
    none. A system that cannot be worked out does not keep the others from theirs. Until when the feed
    at each place lasts follows.
    """
    on = timezone.localdate(at)
    found = [
        item for item in gather(system_ids, catalogue_current(), on, at) if item.facts.volume_l > 0
    ]
    made = _made(found)
    forecasts_keep(made=made, on=on, at=at)
    feed_left_refresh(system_ids, at)
    return len(made)


def _made(found: Sequence[Gathered]) -> list[Made]:
    """Return the forecasts: of loops that others feed, after those of the ones that feed them."""
    kept = records_read()
    firm, own = sums_of(kept.values()), {pk: sums_of([row]) for pk, row in kept.items()}
    here = {item.loop.pk for item in found}
    first = [item for item in found if item.fed_by not in here]
    made = _side_by_side(first, firm, own, {})
    comes = {item.found.loop.pk: inflow_from(item.outlook) for item in made}
    return made + _side_by_side([item for item in found if item.fed_by in here], firm, own, comes)


def _side_by_side(
    found: Sequence[Gathered],
    firm: Sums,
    own: Mapping[UUID, Sums],
    comes: Mapping[UUID, tuple[MakeUp, ...]],
) -> list[Made]:
    # numpy is loaded here, in the worker, and never by the web process
    from apps.ahead.engine import forecasts

    try:
        drawn = forecasts(
            [item.facts for item in found],
            elsewhere=[pooled(firm, own.get(item.loop.pk, {})) for item in found],
            inflows=[comes.get(item.fed_by) if item.fed_by else None for item in found],
        )
    except (ValueError, ArithmeticError, LookupError):
        if len(found) == 1:
            logger.exception("no forecast of loop %s", found[0].loop.pk)
            return []
        return [row for item in found for row in _side_by_side([item], firm, own, comes)]
    return [
        Made(item, one.outlook, learnt_kept(one.kept), record_kept(one.own))
        for item, one in zip(found, drawn, strict=True)
    ]
