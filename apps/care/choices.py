"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Mode(models.TextChoices):
    """What brings a task round again."""

    AFTER_DONE = "after_done", _("some time after it was done")
    FIXED = "fixed", _("on fixed days")
    ONCE = "once", _("once")
    EVERY_VISIT = "every_visit", _("at every visit")
    CONDITION = "condition", _("after a reading")
    METER = "meter", _("by a meter")
    FORECAST = "forecast", _("by the forecast")


BUILT_MODES = (Mode.AFTER_DONE, Mode.FIXED, Mode.ONCE, Mode.EVERY_VISIT, Mode.CONDITION)


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
    MANUAL = "manual", _("set by hand")


class Who(models.TextChoices):
    """Who does a task."""

    TECHNICIAN = "technician", _("technician")
    CLIENT = "client", _("client")
    ELECTRICIAN = "electrician", _("licensed electrician")


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
