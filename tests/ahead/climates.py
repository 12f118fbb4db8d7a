"""Climate normals for tests: an invented town in the temperate north."""

from apps.calc.climate_months import Month
from apps.clients.models import Climate
from apps.clients.services import climate_set
from apps.core.scoping import system
from tests import factories

MONTHS = tuple(
    Month(low, high, rain)
    for low, high, rain in (
        (-1, 5, 62), (-1, 7, 56), (2, 11, 62), (5, 16, 60), (9, 20, 62), (13, 24, 60),
        (15, 26, 62), (14, 26, 62), (11, 21, 60), (7, 15, 62), (3, 9, 60), (0, 6, 62),
    )
)  # fmt: skip


def climate(place=None, months=MONTHS, source="Weir Hill, 1991 to 2020") -> Climate:
    """Enter normals of a place, or of the firm."""
    by = system("test", factories.NOW)
    return climate_set(place=place, months=months, source=source, rev=None, by=by, at=factories.NOW)
