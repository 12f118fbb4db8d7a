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
    OVERDUE = "overdue", _("something is past its day")
    QUIET = "quiet", _("how it goes")
    LOW_STOCK = "low_stock", _("something runs out")
    RENEWAL = "renewal", _("the agreement ends")
    SEVERAL = "several", _("several notices")
    OWN = "own", _("our own words")
    PROPOSAL = "proposal", _("proposal")
    HELP = "help", _("a client asks for help")
    PAGE = "page", _("link to the page")
    SUMMARY = "summary", _("summary")


class Delivery(models.TextChoices):
    """Where a letter stands."""

    QUEUED = "queued", _("waiting")
    SENDING = "sending", _("being sent")
    SENT = "sent", _("sent")
    UNSURE = "unsure", _("unsure")
    FAILED = "failed", _("failed")
    REPLACED = "replaced", _("a later letter went instead")
    RETURNED = "returned", _("came back")
    WITHHELD = "withheld", _("not sent")


# what the office has to look at, and what it may send once more
TROUBLED = (Delivery.FAILED, Delivery.UNSURE, Delivery.RETURNED)
SENDABLE = (*TROUBLED, Delivery.WITHHELD)


class Channel(models.TextChoices):
    """How a letter travels."""

    MAIL = "mail", _("mail")
    TEXT = "text", _("text message")


class WhyBlocked(models.TextChoices):
    """Why an address gets no letters."""

    BOUNCED = "bounced", _("its mail came back")
    COMPLAINED = "complained", _("marked as spam")


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
    LetterKind.OVERDUE: "notice",
    LetterKind.QUIET: "notice",
    LetterKind.LOW_STOCK: "notice",
    LetterKind.RENEWAL: "notice",
    LetterKind.SEVERAL: "notice",
    LetterKind.OWN: "client",
    LetterKind.PROPOSAL: "client",
    LetterKind.HELP: "incident",
    LetterKind.PAGE: "client",
    LetterKind.SUMMARY: "report",
}
# what a reader may stop by one press; appointments, reports and answers are the service itself
NOTICES = frozenset(kind for kind, subject in LETTER_SUBJECTS.items() if subject == "notice")

# what comes with a paper, attached or by a link as its reader chose
PAPERS = frozenset({LetterKind.REPORT, LetterKind.SUMMARY, LetterKind.PROPOSAL})

# what cannot wait for the end of quiet hours
AT_ONCE = frozenset({
    LetterKind.DUE_LIST, LetterKind.CHECK_IN, LetterKind.RUNNING_LATE, LetterKind.WEATHER,
    LetterKind.ON_MY_WAY, LetterKind.HELP, LetterKind.PAGE,
})  # fmt: skip
