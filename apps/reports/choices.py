"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class ReportKind(models.TextChoices):
    """What a report accounts for."""

    VISIT = "visit", _("visit")
    CALL_OUT = "call_out", _("call-out")
    HAND_OVER = "hand_over", _("hand-over")
    SUMMARY = "summary", _("summary")


class LetterKind(models.TextChoices):
    """What a letter is for."""

    REPORT = "report", _("report")
    APPOINTMENT = "appointment", _("appointment")
    CALLED_OFF = "called_off", _("appointment called off")
    REMINDER = "reminder", _("reminder")
    DUE_LIST = "due_list", _("due list for the office")
    CHECK_IN = "check_in", _("somebody who works alone")
    RUNNING_LATE = "running_late", _("we come later")
    WEATHER = "weather", _("list for a weather")
    TIMES = "times", _("times to choose from")
    ON_MY_WAY = "on_my_way", _("somebody is on the way")


class Delivery(models.TextChoices):
    """Where a letter stands."""

    QUEUED = "queued", _("waiting")
    SENDING = "sending", _("being sent")
    SENT = "sent", _("sent")
    UNSURE = "unsure", _("unsure")
    FAILED = "failed", _("failed")
    REPLACED = "replaced", _("a later letter went instead")


LETTER_SUBJECTS = {
    LetterKind.REPORT: "visit",
    LetterKind.APPOINTMENT: "visit",
    LetterKind.CALLED_OFF: "visit",
    LetterKind.REMINDER: "visit",
    LetterKind.DUE_LIST: "day",
    LetterKind.CHECK_IN: "visit",
    LetterKind.RUNNING_LATE: "visit",
    LetterKind.WEATHER: "weather",
    LetterKind.TIMES: "visit",
    LetterKind.ON_MY_WAY: "visit",
}

# what cannot wait for the end of quiet hours
AT_ONCE = frozenset({
    LetterKind.DUE_LIST, LetterKind.CHECK_IN, LetterKind.RUNNING_LATE, LetterKind.WEATHER,
    LetterKind.ON_MY_WAY,
})  # fmt: skip
