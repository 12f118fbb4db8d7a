"""What households tell of themselves, what feed they weighed, what a kilogram costs in their shops."""

import datetime as dt

from apps.batches.choices import Harvest, Per
from apps.batches.models import HarvestPrice
from apps.care.choices import CountedBy
from apps.care.models import FeedCount
from apps.clients.choices import Backup
from apps.clients.models import TimeAway
from demo.firm.keys import key
from demo.firm.rows import Works

# invented: ten-thousandths of the firm's currency a kilogram, and by the head
PRICES = {
    (Harvest.CROPS, "basil"): 260_000, (Harvest.CROPS, "parsley"): 180_000,
    (Harvest.CROPS, "swiss_chard"): 45_000, (Harvest.CROPS, "kale"): 52_000,
    (Harvest.CROPS, "rocket"): 130_000, (Harvest.CROPS, "mizuna"): 95_000,
    (Harvest.CROPS, "tomato"): 42_000, (Harvest.CROPS, "cucumber"): 28_000,
    (Harvest.CROPS, "pak_choi"): 48_000, (Harvest.CROPS, "lettuce_loose_leaf"): 60_000,
    (Harvest.SPECIES, "nile_tilapia"): 110_000, (Harvest.SPECIES, "rainbow_trout"): 160_000,
}  # fmt: skip
BY_HEAD = {
    (Harvest.CROPS, "lettuce_loose_leaf"): 18_000, (Harvest.CROPS, "lettuce_head"): 19_000,
    (Harvest.CROPS, "pak_choi"): 16_000,
}  # fmt: skip
# system, days until they leave, days away, who comes, their number, air without mains, may we come
AWAY = (
    ("ruiz", 6, 7, "Tobias Renn", "0555 0731", Backup.YES, True),
    ("clarke", 9, 16, "", "", Backup.UNSURE, False),
)

# system, days since they weighed their feed, for how many days it was by what they gave that day
WEIGHED = (("rao", 3, 12), ("nyberg", 5, 60))


def counts_of(
    works: dict[str, Works], fed: dict[str, dict[dt.date, float]], today: dt.date, at: dt.datetime
) -> list[FeedCount]:
    """Return what feed was counted: one place where it runs out, one where it does not.

    `fed`: what each system's fish get [g], by day.
    """
    return [
        FeedCount(
            pk=key("feed", name), system=works[name].system, counted_by=CountedBy.CLIENT,
            amount_g=50.0 * round(days * fed[name][today - dt.timedelta(days=ago)] / 50),
            counted_at=at - dt.timedelta(days=ago), made_at=at - dt.timedelta(days=ago),
            by=f"client:{works[name].system.place.client.pk}",
        )
        for name, ago, days in WEIGHED
    ]  # fmt: skip


def away_of(works: dict[str, Works], today: dt.date, at: dt.datetime) -> list[TimeAway]:
    """Return who will not be at home: one with somebody who feeds, one without."""
    return [
        TimeAway(
            pk=key("away", name), place=works[name].system.place, made_at=at,
            by=f"client:{works[name].system.place.client.pk}",
            first=today + dt.timedelta(days=ahead),
            last=today + dt.timedelta(days=ahead + days - 1), carer_name=carer,
            carer_phone=phone, backup=backup, may_come=may_come,
            notes="The key hangs behind the water butt." if carer else "",
        )
        for name, ahead, days, carer, phone, backup, may_come in AWAY
    ]  # fmt: skip


def prices_of(office: str, at: dt.datetime) -> list[HarvestPrice]:
    """Return what the firm takes a kilogram of each crop and fish to cost, and heads of some."""
    return [
        HarvestPrice(
            pk=key("price", kind, code, per), kind=kind, code=code, per=per, amount=amount,
            changed_at=at, changed_by=office,
        )
        for per, prices in ((Per.KG, PRICES), (Per.PIECE, BY_HEAD))
        for (kind, code), amount in prices.items()
    ]  # fmt: skip
