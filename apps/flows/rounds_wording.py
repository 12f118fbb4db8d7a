"""What a plan of rounds says in words: why something was left out, what was stretched, what breaks."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from apps.calc.wording import Text
from apps.core.dates import day_text
from apps.core.numbers import format_figure, with_unit
from apps.rounds.choices import WhyFailed
from apps.rounds.planning.problem import DAY, MONEY, Stop
from apps.rounds.selectors.axis import STEP
from apps.rounds.selectors.shown import PlanShown

LEFT_OUT: dict[str, Any] = {
    "no_coordinates": gettext_lazy(
        "%(stop)s is not on the map yet; put latitude and longitude on its place's page"
    ),
    "no_window": gettext_lazy("nobody may come to %(stop)s in these days for as long as it takes"),
    "skill_missing": gettext_lazy("nobody who works then has what it needs: %(skills)s"),
    "technician_away": gettext_lazy("%(technicians)s, who was promised, does not work then"),
    "second_person_missing": gettext_lazy("it needs two people, and only one works on these days"),
    "no_window_in_shift": gettext_lazy("nobody works while somebody may come (%(days)s)"),
    "too_far": gettext_lazy(
        "the way there and back with the work takes %(needed)s, longer than a day of %(shift)s"
    ),
    "cost_more_than_it_is_worth": gettext_lazy(
        "going there would cost %(cost)s now, more than waiting does"
    ),
    "no_time_left": gettext_lazy("the days on which it may be are full (%(days)s)"),
    "not_reached": gettext_lazy("the planning was stopped before it came to this"),
}
NOTES: dict[str, Any] = {
    "base_assumed": gettext_lazy(
        "Nobody has set where the base is; it was taken to lie amid the places."
    ),
    "drive_too_short": gettext_lazy(
        "%(day)s, %(technician)s: there is too little time to drive from %(stop)s to %(next)s."
    ),
    "day_stretched": gettext_lazy(
        "%(day)s, %(technician)s: the day runs from %(start)s to %(end)s for what is booked."
    ),
    "no_lunch": gettext_lazy("%(day)s, %(technician)s: what is booked leaves no time for lunch."),
    "disease_not_last": gettext_lazy(
        "Disease is suspected at %(stop)s, and another visit stands after it that day."
    ),
    "roads_estimated": gettext_lazy(
        "The road engine did not answer, or not as roads can be, for %(ways)s of %(of)s ways: those "
        "are estimated from distances. Tell whoever looks after it, and plan anew when it is back."
    ),
    "fish_not_first": gettext_lazy("Live fish go to %(stop)s, and another visit stands before it."),
}
BROKEN: dict[str, Any] = {
    "promise_broken": gettext_lazy("%(stop)s: the time or the person promised would not hold"),
    "outside_window": gettext_lazy("%(stop)s: nobody may come then"),
    "skill_missing": gettext_lazy("%(stop)s: nobody who goes has what it needs (%(skills)s)"),
    "people_wrong": gettext_lazy("%(stop)s: another number of people is needed"),
    "not_together": gettext_lazy("%(stop)s: two people would not begin together"),
    "frozen_day_changed": gettext_lazy("%(day)s is settled already; nothing joins or leaves it"),
    "outside_shift": gettext_lazy("%(technician)s would work outside the hours of %(day)s"),
    "too_much_overtime": gettext_lazy("%(technician)s would work too long on %(day)s"),
    "lunch_missing": gettext_lazy("%(technician)s would have no lunch on %(day)s"),
    "not_last_of_day": gettext_lazy("%(stop)s: disease is suspected, so nothing may come after it"),
    "not_first_of_day": gettext_lazy(
        "%(stop)s: live fish are on board, so nothing may come before"
    ),
}


def clock(seconds: int) -> str:
    """Return a time of the axis as the clock shows it.

    >>> clock(86400 + 8 * 3600 + 300)
    '08:05'
    """
    return f"{seconds % DAY // 3600:02}:{seconds % 3600 // 60:02}"


def duration(seconds: int) -> str:
    """Return a time span in hours and minutes."""
    return _("%(hours)s h %(minutes)s min") % {
        "hours": seconds // 3600, "minutes": f"{seconds % 3600 // 60:02}",
    }  # fmt: skip


def money(amount: int) -> str:
    """Return an amount of the planner with two decimals; the currency stands beside the total."""
    return format_figure(amount / MONEY, 2)


def km(metres: int) -> str:
    """Return a distance in kilometres."""
    return format_figure(metres / 1000, 1)


def left_out_text(shown: PlanShown, stop: str, reason: str, params: Mapping[str, Any]) -> str:
    """Return why a stop has no place in the plan."""
    return str(LEFT_OUT[reason]) % _filled(shown, {**params, "stop": stop})


def note_text(shown: PlanShown, code: str, params: Mapping[str, Any]) -> str:
    """Return something that the office should know of a plan."""
    return str(NOTES[code]) % _filled(shown, params)


def broken_text(shown: PlanShown, found: Mapping[str, Any]) -> str:
    """Return what a change would break; the judge's own word where no sentence fits."""
    sentence = BROKEN.get(found["code"])
    if sentence is None:
        return str(found["code"])
    params = {name: found[name] for name in ("stop", "technician", "day")}
    return str(sentence) % _filled(shown, {**found["params"], **params})


def longer_words(stop: Stop, booked: int | None) -> str:
    """Return by how much a plan makes a visit last longer than it stood [min], and why; else nothing."""
    more = stop.on_site // 60 - booked if booked is not None else 0
    if booked is None or more <= 0:
        return ""
    said = []
    if stop.service // 60 - booked >= STEP // 60:
        text = _("its checklist takes %(work)s, with words at the door and packing up")
        said.append(text % {"work": _minutes(stop.service)})
    elif stop.service // 60 > booked:
        said.append(_("times are planned in full five minutes"))
    if stop.disinfecting:
        text = _("disease is suspected there, so %(time)s go into cleaning boots, nets and tools")
        said.append(text % {"time": _minutes(stop.disinfecting)})
    return _("%(more)s longer than it stood: %(why)s") % {
        "more": _minutes(more * 60), "why": "; ".join(said),
    }  # fmt: skip


def _minutes(seconds: int) -> str:
    return with_unit(str(seconds // 60), _("min"))


FAILED: dict[str, Any] = {
    WhyFailed.JUDGE: gettext_lazy(
        "The plan was found wrong by its judge and is not shown; plan anew."
    ),
    WhyFailed.BROKE_OFF: gettext_lazy("The planning broke off; plan anew."),
}


def refusal(error: ValueError) -> dict[str, Any]:
    """Return why the planner refused something as it is stored: its sentence's name and its gaps."""
    said = error.args[0] if error.args else ""
    if not isinstance(said, Text):
        return {"text": str(error), "params": {}}
    params = {
        name: value if isinstance(value, int | float) else str(value)
        for name, value in said.params.items()
    }
    return {"text": said.msgid, "params": params}


def failed_text(shown: PlanShown) -> str:
    """Return why no plan came of it; empty where one did."""
    row = shown.row
    if row.failed_code != WhyFailed.REFUSED:
        return str(FAILED.get(row.failed_code, ""))
    said = row.failed_params
    return _refused(shown, str(said["text"]), said["params"])


def _refused(shown: PlanShown, msgid: str, params: Mapping[str, Any]) -> str:
    if not params:
        return _(msgid) if msgid else ""
    filled = {name: _named(shown, name, value) for name, value in params.items()}
    return _(msgid).format(**filled)


def planner_text(shown: PlanShown, error: ValueError) -> str:
    """Return why the planner refused something, with names for its ids."""
    said = error.args[0] if error.args else ""
    if not isinstance(said, Text):
        return str(error)
    return _refused(shown, said.msgid, said.params)


def _named(shown: PlanShown, gap: str, value: Any) -> str:
    if gap == "stop":
        return shown.place(str(value))
    if gap == "who":
        return ", ".join(shown.person(name) for name in str(value).split(", "))
    return day_text(shown.day(int(value))) if gap == "day" else str(value)


def _filled(shown: PlanShown, params: Mapping[str, Any]) -> dict[str, str]:
    """Return what fills the gaps of a sentence: names for ids, words for figures."""
    ways: dict[str, Callable[[Any], str]] = {
        "stop": shown.place, "next": shown.place, "technician": shown.person,
        "technicians": lambda names: ", ".join(shown.person(name) for name in names),
        "day": lambda day: day_text(shown.day(day)),
        "days": lambda days: _days(shown, days),
        "skills": ", ".join, "start": clock, "end": clock,
        "needed": duration, "shift": duration, "cost": money, "prize": money,
    }  # fmt: skip
    return {name: ways.get(name, str)(value) for name, value in params.items()}


def _days(shown: PlanShown, days: Iterable[int]) -> str:
    return ", ".join(day_text(shown.day(day)) for day in days)
