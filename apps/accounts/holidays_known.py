"""Public holidays of a country, or of a part of it, by the library `holidays`."""

import datetime as dt
import re
from functools import lru_cache

import holidays
from django.utils.translation import gettext as _

from apps.core.exceptions import Invalid

_COUNTRY = re.compile(r"[A-Z]{2}")
_KNOWN_YEAR = 2026


def where_checked(country: str, subdivision: str) -> tuple[str, str]:
    """Return both codes as they are kept: "at" and "AT-9" give ("AT", "9").

    `country` is of ISO 3166-1, two letters; `subdivision` the part after the hyphen of ISO 3166-2;
    both may be empty. Raises Invalid that names the field.
    """
    land = country.strip().upper()
    part = subdivision.strip().upper().removeprefix(f"{land}-")
    if not land and part:
        raise _invalid("country", country, _("a part of a country needs its country"))
    if not land:
        return "", ""
    # spelled out, as the library would take any of its classes' names
    if not _COUNTRY.fullmatch(land) or not hasattr(holidays, land):
        message = _("no list of holidays for this code; two letters of ISO 3166 such as AT or NZ")
        raise _invalid("country", country, message)
    known = holidays.country_holidays(land, years=_KNOWN_YEAR).subdivisions
    if part and part not in known:
        raise _invalid("subdivision", subdivision, _part_message(land, tuple(known)))
    return land, part


def _part_message(country: str, known: tuple[str, ...]) -> str:
    if not known:
        return _("holidays are the same in all of this country; leave this empty")
    message = _("not a part of %(country)s; one of %(codes)s")
    return message % {"country": country, "codes": ", ".join(known)}


def _invalid(field: str, value: str, message: str) -> Invalid:
    return Invalid([{"pointer": f"/{field}", "value": value, "message": f"{field}: {message}"}])


@lru_cache(maxsize=64)
def holidays_of(country: str, subdivision: str, year: int, language: str) -> dict[dt.date, str]:
    """Return a year's public holidays with their names, in `language` where the list has it.

    Raises NotImplementedError for codes that `where_checked` refuses.
    """
    part = subdivision or None
    listed = holidays.country_holidays(country, subdiv=part, years=year)
    base = language.split("-")[0]
    spoken = [
        code
        for code in listed.supported_languages or ()
        if code.replace("_", "-").split("-")[0] == base
    ]
    if spoken:
        listed = holidays.country_holidays(
            country, subdiv=part, years=year, language=sorted(spoken)[0]
        )
    return {day: name for day, name in listed.items() if day.year == year}
