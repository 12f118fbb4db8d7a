"""What the firm can price of what its clients harvest."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from apps.batches.choices import Harvest, Per
from apps.batches.selectors import PriceKey, grown_here
from apps.catalogue.selectors import catalogue_current
from apps.office.wording import upper_first


def priced_names(held: Iterable[PriceKey]) -> list[tuple[str, PriceKey]]:
    """Return (name, (kind, code, per)) of what is eaten or has a price, by name: two queries."""
    catalogue = catalogue_current()
    known = grown_here() | {(kind, code) for kind, code, _per in held}
    rows = [
        (upper_first(_(catalogue.name(kind, code))), (kind, code, per))
        for kind, code in known
        if kind == Harvest.CROPS or (catalogue.get(kind, code) or {}).get("eaten")
        for per in Per.values
    ]
    return sorted(rows)
