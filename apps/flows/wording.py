"""Reasons of the due list in words."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.advice.selectors import advice_text
from apps.care.selectors import Reason
from apps.catalogue.selectors import Catalogue
from apps.core.dates import day_text
from apps.core.drawing.words import JUDGEMENT_WORDS
from apps.core.numbers import format_figure, with_unit


def _day(reason: Reason) -> str:
    if reason.since is None:
        return ""
    return day_text(reason.since)


def _reading(reason: Reason, catalogue: Catalogue) -> str:
    code = str(reason.parameters.get("measurand", ""))
    entry = catalogue.measurand(code) or {}
    name = _(str(entry.get("name", code)))
    figure = format_figure(reason.value or 0.0, int(entry.get("decimals") or 0))
    return _("%(name)s stood at %(figure)s on %(day)s: %(word)s.") % {
        "name": name if name.startswith("pH") else name[:1].upper() + name[1:],
        "figure": with_unit(figure, reason.unit),
        "day": _day(reason),
        "word": JUDGEMENT_WORDS[reason.code],
    }


def reason_text(reason: Reason, catalogue: Catalogue) -> str:
    """Return a reason as a sentence in the active language."""
    if reason.code in ("advice_now", "advice_today"):
        own = str(reason.parameters.get("text") or "")
        return own or advice_text(reason.parameters["rule"], reason.parameters["parameters"])
    if reason.code in ("harmful", "out_of_band"):
        return _reading(reason, catalogue)
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
