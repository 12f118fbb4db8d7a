"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Mode(models.TextChoices):
    """What brings a task round again."""

    AFTER_DONE = "after_done", _("some time after it was done")
    FIXED = "fixed", _("on fixed days")
    CALENDAR = "calendar", _("by a rule of the calendar")
    ONCE = "once", _("once")
    EVERY_VISIT = "every_visit", _("at every visit")
    CONDITION = "condition", _("after a reading")
    METER = "meter", _("by a meter")
    FORECAST = "forecast", _("by the forecast")


# what comes round by a limit on a measurand: once it is read beyond it, or forecast to be
BY_LIMIT = (Mode.CONDITION, Mode.FORECAST)
# what comes round on days of its own; a counter or a limit beside it may bring it sooner
BY_DAYS = (Mode.AFTER_DONE, Mode.FIXED, Mode.CALENDAR)


class Counter(models.TextChoices):
    """What a meter counts, with its unit."""

    RUN_HOURS = "run_hours", _("hours run")
    FEED_G = "feed_g", _("grams of feed")
    LITRES = "litres", _("litres")


class Unit(models.TextChoices):
    """Units of an interval."""

    DAY = "day", _("days")
    WEEK = "week", _("weeks")
    MONTH = "month", _("months")


class MonthEnd(models.TextChoices):
    """A month without that day."""

    CLAMP = "clamp", _("its last day")
    SKIP = "skip", _("none")
    LAST = "last", _("always the last day")


class OffSeason(models.TextChoices):
    """Outside the season."""

    HOLD = "hold", _("wait for the opening")
    SKIP = "skip", _("let it go")


class Holiday(models.TextChoices):
    """On a holiday."""

    KEEP = "keep", _("keep")
    NEXT = "next", _("next working day")
    PREVIOUS = "previous", _("previous working day")


class Basis(models.TextChoices):
    """Where the next dates come from."""

    CALENDAR = "calendar", _("calendar")
    CONDITION = "condition", _("a reading")
    FORECAST = "forecast", _("the forecast")
    MANUAL = "manual", _("set by hand")


class Who(models.TextChoices):
    """Who does a task."""

    TECHNICIAN = "technician", _("technician")
    CLIENT = "client", _("client")
    ELECTRICIAN = "electrician", _("licensed electrician")


class CountedBy(models.TextChoices):
    """Who counted what is left at a place."""

    OFFICE = "office", _("the office")
    TECHNICIAN = "technician", _("technician")
    CLIENT = "client", _("client")


class Criticality(models.TextChoices):
    """What happens if it is not done."""

    A = "A", _("fish die within hours")
    B = "B", _("crop or water drifts within days")
    C = "C", _("cosmetic")


class Urgency(models.TextChoices):
    """How soon an action is wanted."""

    NOW = "now", _("now")
    TODAY = "today", _("today")
    WITHIN_3_DAYS = "within_3_days", _("within 3 days")
    NEXT_VISIT = "next_visit", _("next visit")
    GOOD_TO_KNOW = "good_to_know", _("good to know")


class Way(models.TextChoices):
    """How visit days were found: the first way that takes the tasks, from far-sighted to plain."""

    AHEAD = "ahead", _("looking ahead")
    CHEAPEST = "cheapest", _("for the windows as they stand")
    FEWEST = "fewest", _("with the fewest visits")


class WhyThere(models.TextChoices):
    """Why a task lies outside its window on a visit day."""

    OVERDUE = "overdue", _("it is late already")
    OVER_THE_LIMIT = "over_the_limit", _("no more visits a year are agreed")


class WhyNot(models.TextChoices):
    """Why a task is on no visit day."""

    NO_ALLOWED_DAY = "no_allowed_day", _("somebody may come on no day of its time")
    SKILL_MISSING = "skill_missing", _("nobody who can do it may come in its time")
    OVER_THE_LIMIT = "over_the_limit", _("no more visits a year are agreed")
    KEPT_APART = "kept_apart", _("it must not be done on one day with another task")
    CLIENT_DOES_IT = "client_does_it", _("the client does it")
    CAN_WAIT = "can_wait", _("it can wait until after these weeks")


class WhyAsked(models.TextChoices):
    """Why the office is asked about a visit that is held on its day."""

    DAY_CLOSED = "day_closed", _("nobody is sent out, or nobody may come, on this day")
    NOTHING_DUE = "nothing_due", _("nothing falls due on this day")
    FEWER_VISITS = "fewer_visits", _("on another day it would save a visit")
