"""How readings, states, dates and figures stand on a page: drawings and words, never one alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django import template
from django.conf import settings
from django.template.context import RequestContext
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from apps.core import numbers
from apps.core.dates import day_text
from apps.core.drawing import marks, sparkline, waterline, words
from apps.core.drawing.ink import PRINT
from apps.core.drawing.scale import BandLike

register = template.Library()

# Where a water line stands: width, height, numbers under the limits, size of the numbers.
_LINE_SIZES: dict[str, tuple[float, float, bool, float]] = {
    "due": (146, 40, False, 12.5),
    "table": (250, 42, False, 12.5),
    "office": (330, 58, True, 13),
    "phone": (300, 62, True, 16),
    "client": (346, 36, False, 16),
    "paper": (168, 25, False, 12.5),
}
_ORNAMENTS = {
    "masthead": marks.masthead_mark,
    "search": marks.search_mark,
    "tick": marks.tick_mark,
    "stamp": marks.stamp_mark,
    "hold": marks.hold_mark,
    "empty": marks.empty_line,
    "lost": marks.lost_line,
}
_WORDS = (
    ("due", gettext_lazy("Due")),
    ("rounds", gettext_lazy("Rounds")),
    ("places", gettext_lazy("Places")),
    ("systems", gettext_lazy("Systems")),
    ("proposals", gettext_lazy("Proposals")),
    ("calculators", gettext_lazy("Calculators")),
    ("stores", gettext_lazy("Stores")),
    ("letters", gettext_lazy("Letters")),
    ("phones", gettext_lazy("Phones")),
    ("ledger", gettext_lazy("Ledger")),
    ("reference", gettext_lazy("Reference")),
)


@register.simple_tag(takes_context=True)
def masthead_words(context: RequestContext) -> list[dict[str, Any]]:
    """The words of the masthead whose pages exist: label, url, and whether we are on it."""
    request = context.get("request")
    path = getattr(request, "path", "")
    found = []
    for name, label in _WORDS:
        try:
            url = reverse(f"office:{name}")
        except NoReverseMatch:
            continue
        here = path == url or (url != "/" and path.startswith(url))
        found.append({"label": label, "url": url, "here": here})
    return found


@register.filter(is_safe=True)
def run(text: str) -> str:
    """A value as a run of its own where the page's writing goes from right to left."""
    return numbers.run(str(text or ""))


@register.simple_tag
def map_credit() -> str:
    """Whom to name for the street map under sketches; empty where there is none."""
    return settings.MAP_TILES.credit if settings.MAP_TILES else ""


@register.simple_tag
def water_line(
    *,
    band: BandLike,
    word: str,
    title: str,
    today: float | None = None,
    last: float | None = None,
    last_word: str | None = None,
    log: bool = False,
    below_limit: float | None = None,
    size: str = "table",
    printed: bool = False,
) -> SafeString:
    """A reading on its water line; `size` is due, table, office, phone, client or paper.

    `printed` writes the colours out, for PDF pages that do not load the style sheet.
    """
    width, height, with_numbers, number_size = _LINE_SIZES[size]
    return waterline.water_line(
        band=band,
        today=today,
        last=last,
        word=word,
        last_word=last_word,
        width=width,
        height=height,
        numbers=with_numbers,
        number_size=number_size,
        log=log,
        below_limit=below_limit,
        title=title,
        palette=PRINT if printed else None,
    )


@register.simple_tag(name="sparkline")
def sparkline_tag(
    *,
    values: Sequence[float | None],
    band: BandLike,
    word: str,
    title: str,
    positions: Sequence[float] | None = None,
    printed: bool = False,
) -> SafeString:
    """The readings of the last 90 days against their band."""
    return sparkline.sparkline(
        values=values,
        band=band,
        word=word,
        title=title,
        positions=positions,
        palette=PRINT if printed else None,
    )


@register.simple_tag
def judgement_mark(word: str, extra: str = "", *, printed: bool = False) -> SafeString:
    """Mark and word of a judgement; `extra` follows the word."""
    return format_html(
        '<span class="judged judged-{}">{}<span>{}{}</span></span>',
        word.replace("_", "-"),
        marks.judgement_mark(word, palette=PRINT if printed else None),
        words.JUDGEMENT_WORDS[word],
        extra,
    )


@register.filter
def judgement_word(word: str) -> str:
    """The word of a judgement, for a place where its drawing already stands."""
    return str(words.JUDGEMENT_WORDS[word])


@register.filter
def css_word(code: str) -> str:
    """A code as the tail of a class name: `out_of_band` gives `out-of-band`."""
    return str(code).replace("_", "-")


@register.simple_tag
def urgency_gauge(code: str) -> SafeString:
    """Water gauge and word of an urgency."""
    return format_html(
        '<span class="urgency urgency-{}">{}<span>{}</span></span>',
        code.replace("_", "-"),
        marks.urgency_gauge(code),
        words.URGENCY_WORDS[code],
    )


@register.simple_tag
def mark(name: str) -> SafeString:
    """An ornament by name: masthead, search, tick, stamp, hold, empty, lost."""
    return _ORNAMENTS[name]()


@register.simple_tag
def sent_mark(*, sent: bool) -> SafeString:
    """The phone's outline: all sent, or kept on the phone."""
    return marks.sent_mark(sent=sent)


@register.simple_block_tag
def hold(content: str) -> SafeString:
    """The red frame of a hold around what it says: until when, and what it touches."""
    return format_html('<div class="hold">{}<div>{}</div></div>', marks.hold_mark(), content)


def _as_date(value: date | datetime) -> date:
    if isinstance(value, datetime):
        return timezone.localtime(value).date() if timezone.is_aware(value) else value.date()
    return value


@register.filter
def weekday_date(value: date | datetime | None, style: str = "short") -> str:
    """A date with its weekday: short "Thu 11 June", long "Thursday 11 June", year "... 2026"."""
    if value is None or value == "":
        return ""
    return day_text(_as_date(value), style)


@register.filter
def weekday_clock(value: datetime | None, style: str = "short") -> str:
    """A date with its weekday in a style, and the local time of day: "Thu 11 June, 08:20"."""
    if value is None or value == "":
        return ""
    said = {"day": weekday_date(value, style), "time": clock_time(value)}
    return _("%(day)s, %(time)s") % said


@register.filter
def clock_time(value: datetime | None) -> str:
    """The local time of day, "08:20"."""
    if value is None or value == "":
        return ""
    local = timezone.localtime(value) if timezone.is_aware(value) else value
    return local.strftime("%H:%M")


@register.filter
def decimals(value: float | Decimal | None, count: int) -> str:
    """A number rounded half-up to a fixed count of decimals; nothing for None."""
    return "" if value is None else numbers.format_figure(value, int(count))


@register.filter
def figure(value: float | Decimal | str | None, unit: str = "") -> str:
    """Number and unit held together; a text (from `decimals`) stands as it is, None is nothing."""
    if value is None or value == "":
        return ""
    text = value if isinstance(value, str) else numbers.format_plain(value)
    return numbers.with_unit(text, unit)


@register.filter
def days_late(count: int) -> str:
    """ "6 days late", or nothing."""
    if not count or count < 0:
        return ""
    return _("1 day late") if count == 1 else _("%(days)d days late") % {"days": count}
