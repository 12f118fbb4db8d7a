"""A care task's rule in words."""

from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.care.choices import BY_LIMIT, Counter, Mode
from apps.care.models import CareTask
from apps.catalogue.selectors import Catalogue
from apps.core.numbers import format_plain, with_unit
from apps.core.phrases import either_words


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
