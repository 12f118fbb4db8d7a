"""Reasons of the due list in words."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.advice.selectors import advice_text
from apps.care.selectors import Reason
from apps.catalogue.selectors import Catalogue
from apps.core.dates import day_text, span_text
from apps.core.drawing.words import JUDGEMENT_WORDS
from apps.core.measures import measured, measured_plain


def _day(reason: Reason) -> str:
    if reason.since is None:
        return ""
    return day_text(reason.since)


def _reading(reason: Reason, catalogue: Catalogue) -> str:
    code = str(reason.parameters.get("measurand", ""))
    entry = catalogue.measurand(code) or {}
    name = _(str(entry.get("name", code)))
    return _("%(name)s stood at %(figure)s on %(day)s: %(word)s.") % {
        "name": name if name.startswith("pH") else name[:1].upper() + name[1:],
        "figure": measured(reason.value or 0.0, reason.unit, int(entry.get("decimals") or 0)),
        "day": _day(reason),
        "word": JUDGEMENT_WORDS[reason.code],
    }


def crossing_text(seen: Mapping[str, Any], catalogue: Catalogue) -> str:
    """Return a crossing as it is kept (codes, figures, days as text) as a sentence.

    The most likely day with the range in which it lies four times in five; where the limit is
    more likely kept than passed, the day from which it may be passed all the same.
    """
    days = {
        name: dt.date.fromisoformat(seen[name]) if seen.get(name) else None
        for name in ("soonest", "middle", "latest")
    }
    likely = days["middle"] or days["soonest"]
    code = str(seen.get("measurand", ""))
    entry = catalogue.measurand(code) or {}
    name = _(str(entry.get("name", code)))
    words = {
        "name": name if name.startswith("pH") else name[:1].upper() + name[1:],
        "level": measured_plain(seen["level"], str(entry.get("unit") or "")),
        "day": day_text(likely) if likely else "",
        "span": _span(days["soonest"], days["latest"]),
    }
    below = seen.get("side") == "below"
    if seen.get("already"):
        return (
            _("%(name)s may be below %(level)s already.")
            if below
            else _("%(name)s may be over %(level)s already.")
        ) % words
    if days["middle"] is None:
        return (
            _(
                "%(name)s may fall below %(level)s from %(day)s on, though it more likely stays above."
            )
            if below
            else _(
                "%(name)s may pass %(level)s from %(day)s on, though it more likely stays below."
            )
        ) % words
    return (
        _("%(name)s may fall below %(level)s around %(day)s (80 %%: %(span)s).")
        if below
        else _("%(name)s may pass %(level)s around %(day)s (80 %%: %(span)s).")
    ) % words


def _span(first: dt.date | None, last: dt.date | None) -> str:
    if first is None or last is None:
        known = first or last
        return _("from %(day)s on") % {"day": day_text(known, "bare")} if known else ""
    return span_text(first, last)


def reason_text(reason: Reason, catalogue: Catalogue) -> str:
    """Return a reason as a sentence in the active language."""
    if reason.code in ("advice_now", "advice_today"):
        own = str(reason.parameters.get("text") or "")
        return own or advice_text(reason.parameters["rule"], reason.parameters["parameters"])
    if reason.code in ("harmful", "out_of_band"):
        return _reading(reason, catalogue)
    if reason.code == "ahead":
        return crossing_text(reason.parameters, catalogue)
    count = int(reason.value or 1)
    task = _(catalogue.name("tasks", str(reason.parameters.get("task", ""))))
    words = {
        "late_a": ngettext(
            "Late since %(day)s, and the fish depend on it: %(task)s.",
            "Late since %(day)s, and the fish depend on them: %(task)s and %(more)s more.", count,
        ),
        "late": ngettext(
            "Late since %(day)s: %(task)s.",
            "Late since %(day)s: %(task)s and %(more)s more.", count,
        ),
        "due": ngettext(
            "Due since %(day)s: %(task)s.",
            "Due since %(day)s: %(task)s and %(more)s more.", count,
        ),
    }  # fmt: skip
    return words[reason.code] % {"day": _day(reason), "task": task, "more": count - 1}
