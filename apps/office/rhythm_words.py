"""A care task's rule in words."""

import datetime as dt
from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.care.choices import BY_LIMIT, Counter, Mode
from apps.care.models import CareTask
from apps.catalogue.selectors import Catalogue
from apps.core.dates import day_text
from apps.core.numbers import format_figure, format_plain, with_unit
from apps.core.phrases import either_words
from apps.flows.care_tasks import Passed


def rhythm_words(task: CareTask, catalogue: Catalogue) -> str:
    """Return a task's rule in words, with what may bring it round sooner."""
    own, sooner = _own(task), list(_sooner(task, catalogue))
    if not sooner:
        return own
    return _("%(either)s, whichever comes first") % {"either": either_words([own, *sooner])}


def _own(task: CareTask) -> str:
    if task.mode == Mode.METER:
        return _metered(task)
    if task.mode not in (Mode.AFTER_DONE, Mode.FIXED):
        return str(task.get_mode_display())
    every = {
        "day": ngettext("every day", "every %(n)d days", task.every_n),
        "week": ngettext("every week", "every %(n)d weeks", task.every_n),
        "month": ngettext("every month", "every %(n)d months", task.every_n),
    }[task.unit] % {"n": task.every_n}
    return (
        every if task.mode == Mode.AFTER_DONE else _("%(every)s, on fixed days") % {"every": every}
    )


def _metered(task: CareTask) -> str:
    shown = {"limit": format_plain(task.meter_limit or 0), "what": Counter(task.meter).label}
    return _("every %(limit)s %(what)s") % shown


def _sooner(task: CareTask, catalogue: Catalogue) -> Iterator[str]:
    """Yield what stands beside a task's own days: its counter, its limits."""
    if task.meter and task.mode != Mode.METER:
        yield _metered(task)
    if not task.condition or task.mode in BY_LIMIT:
        return
    code = str(task.condition["measurand"])
    entry = catalogue.measurand(code) or {}
    words = {"name": _(str(entry.get("name", code)))}
    for side, said in (
        ("below", _("once %(name)s reads under %(level)s")),
        ("above", _("once %(name)s reads over %(level)s")),
    ):
        level = task.condition.get(side)
        if level is not None:
            shown = with_unit(format_plain(level), str(entry.get("unit") or ""))
            yield said % {**words, "level": shown}


def late_at_once_words(days: int, task: CareTask, done_on: dt.date | None) -> str:
    """Return that a task would be late by so many days as soon as it is kept, and the ways out."""
    said = ngettext("%(count)s day", "%(count)s days", days)
    gaps = {"days": said % {"count": format_figure(days, 0)}}
    if done_on is not None:
        text = _(
            "Last done on %(day)s, it would be late by %(days)s at once. Look at “Last done on” "
            "and at how often it comes round, or tick that it is late."
        )
        return text % {**gaps, "day": day_text(done_on, "year")}
    if task.mode == Mode.ONCE or task.anchor is None:
        text = _(
            "“First on” %(day)s lies back: it would be late by %(days)s at once. Choose a day from "
            "today on, or tick that it is late."
        )
    else:
        text = _(
            "“First on” %(day)s lies back, and nothing says that it was done since: it would be "
            "late by %(days)s at once. When was it last done? Write that day under “Last done on”, "
            "choose a first day from today on, or tick that it is late."
        )
    return text % {**gaps, "day": day_text(task.anchor, "year") if task.anchor else ""}


def passed_words(passed: Passed, catalogue: Catalogue) -> str:
    """Return that the last reading lies beyond a task's mark already, so that it is due at once."""
    entry = catalogue.measurand(passed.measurand) or {}
    unit = str(entry.get("unit") or "")
    level = passed.below if passed.below is not None else passed.above
    text = (
        _("The mark is passed already: %(name)s read %(value)s on %(day)s, under %(level)s. The task is due at once.")
        if passed.below is not None
        else _("The mark is passed already: %(name)s read %(value)s on %(day)s, over %(level)s. The task is due at once.")
    )  # fmt: skip
    return text % {
        "name": _(str(entry.get("name", passed.measurand))), "day": day_text(passed.on),
        "value": with_unit(format_plain(passed.value), unit),
        "level": with_unit(format_plain(level or 0), unit),
    }  # fmt: skip
