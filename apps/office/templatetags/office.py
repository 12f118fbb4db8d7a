"""Filters of the office's pages: readings' names and units in a table, labels of places."""

import re

from django import template
from django.conf import settings
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from apps.clients.models import Place
from apps.core.numbers import unit_word
from apps.office.wording import place_label as label_of

register = template.Library()
# "nitrate as N", "mg/L CaCO3": what the figure is counted as stands apart in a narrow column
_CARBONATE = " CaCO3"
_TAIL = re.compile(r"\s(as [A-Z]\w*|at 25 °C)$")


@register.filter
def name_head(name: str) -> str:
    """A measurand's name without what it is counted as: "Nitrate as N" gives "Nitrate"."""
    return _TAIL.sub("", name)


@register.filter
def name_tail(name: str) -> str:
    """What a measurand is counted as: "Nitrate as N" gives "as N"; empty where it says nothing."""
    found = _TAIL.search(name)
    return found.group(1) if found else ""


@register.filter
def unit_head(unit: str) -> str:
    """A unit without the substance after it: "mg/L CaCO3" gives "mg/L"."""
    return unit_word(unit.removesuffix(_CARBONATE))


@register.filter
def unit_tail(unit: str) -> str:
    """The substance after a unit: "mg/L CaCO3" gives "CaCO3"; empty where there is none."""
    return _CARBONATE.strip() if unit.endswith(_CARBONATE) else ""


@register.filter
def language_label(code: str) -> str:
    """A language by its own name, as the settings list it."""
    return str(dict(settings.LANGUAGES).get(code, code))


@register.filter
def place_label(place: Place) -> str:
    """A place with its client, each once: "Osei, terrace"."""
    return label_of(place)


@register.filter
def mark_found(text: str, query: str) -> SafeString:
    """A text with the words of a search marked where they stand in it."""
    words = [re.escape(word) for word in query.split()[:6]]
    if not words:
        return format_html("{}", text)
    parts = re.split(f"({'|'.join(words)})", str(text), flags=re.IGNORECASE)
    return format_html_join(
        "", "{}{}{}",
        (
            (mark_safe("<mark>"), part, mark_safe("</mark>")) if index % 2 else ("", part, "")
            for index, part in enumerate(parts)
        ),
    )  # fmt: skip
