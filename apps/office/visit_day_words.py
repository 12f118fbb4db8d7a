"""Why visit days moved, in words: the codes of a plan's changes."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from apps.calc.bundling.changes import (
    COMES_LATER,
    COMES_ROUND,
    DAY_CLOSED,
    FEWER_VISITS,
    NEW_TASK,
    NOW_POSSIBLE,
    PROMISED_DAY,
    TASK_GONE,
    TOGETHER,
    WINDOW_MOVED,
)
from apps.care.choices import WhyNot
from apps.office.wording import day_words

_WHY = {
    NEW_TASK: gettext_lazy("the task is new"),
    TASK_GONE: gettext_lazy("the task is no longer in the plan"),
    NOW_POSSIBLE: gettext_lazy("a day for it is found"),
    WINDOW_MOVED: gettext_lazy("its time has moved, since it was done or its rule changed"),
    DAY_CLOSED: gettext_lazy("nobody is sent out, or may come, on that day any more"),
    PROMISED_DAY: gettext_lazy("a visit is on the calendar now, and it goes along"),
    FEWER_VISITS: gettext_lazy("one visit is saved"),
    TOGETHER: gettext_lazy("it goes with others on a better day"),
    COMES_ROUND: gettext_lazy("it comes round once more"),
    COMES_LATER: gettext_lazy("it comes round later"),
}


def why_words(code: str) -> str:
    """Return why a task moved, came or went."""
    held = _WHY.get(code) or dict(WhyNot.choices).get(code)
    return str(held or code)


def change_words(row: dict[str, Any], names: Sequence[str]) -> str:
    """Return a change as it was kept with its plan: which tasks, from which day to which, and why.

    `names`: of the tasks that this happened to alike.
    """
    count = len(names)
    several = ngettext("%(count)d task", "%(count)d tasks", count) % {"count": count}
    gaps = {"task": names[0] if count == 1 else several, "why": why_words(row["why"])}
    for end in ("old", "new"):
        gaps[end] = day_words(dt.date.fromisoformat(row[end])) if row[end] else ""
    if row["old"] and row["new"]:
        text = _("%(task)s: from %(old)s to %(new)s, because %(why)s")
    elif row["new"]:
        text = _("%(task)s: on %(new)s, because %(why)s")
    else:
        text = _("%(task)s: not on %(old)s, because %(why)s")
    return text % gaps
