"""The weather that a forecast counts with: warmth of the water, evaporation, rain."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from uuid import UUID

from apps.ahead.choices import Assumed
from apps.calc.ahead.facts import Weather
from apps.calc.ahead.normals import UNKNOWN_C, Site, weather_ahead
from apps.calc.climate_months import Month
from apps.calc.species import species_table
from apps.clients.models import Place
from apps.systems.models import Component

HORIZON_DAYS = 42


def weather_of(
    place: Place,
    rain_area_m2: float | None,
    climates: Mapping[UUID | None, tuple[Month, ...]],
    taken: Sequence[tuple[dt.date, float]],
    on: dt.date,
    heated_to: float | None,
) -> tuple[tuple[Weather, ...], list[Assumed]]:
    """Return the days ahead and what was assumed for them.

    The place's own climate normals go before the firm's (under None), and those before the usual
    year of the latitude. `taken`: (day, °C) of the water, oldest first.
    """
    months = climates.get(place.pk) or climates.get(None) or ()
    if months:
        codes = [Assumed.NORMALS_PLACE if place.pk in climates else Assumed.NORMALS]
    else:
        codes = [Assumed.CLIMATE if place.latitude is not None else Assumed.PLACE]
    if rain_area_m2 and not months:
        codes.append(Assumed.NO_RAIN)
    if not taken:
        codes.append(Assumed.UNREAD if heated_to is None else Assumed.HEATED)
    site = Site(place.latitude, place.altitude_m, months)
    return weather_ahead(site, taken, on, HORIZON_DAYS + 1, heated_to=heated_to), codes


def heat_of(parts: Iterable[Component], species: Iterable[str]) -> float | None:
    """Return as warm as a heater is taken to keep the water [°C]; None where there is none.

    As warm as the warmest of its fish like it at least; 20 °C where none is known.
    """
    if not any(part.kind == "heater" for part in parts):
        return None
    known = species_table()
    return max((known[code].best_low_c for code in species if code in known), default=UNKNOWN_C)
