"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class State(models.TextChoices):
    """Where a visit stands."""

    PENCILLED = "pencilled", _("pencilled")
    BOOKED = "booked", _("booked")
    UNDER_WAY = "under_way", _("under way")
    WRITTEN_UP = "written_up", _("written up")
    REPORTED = "reported", _("reported")
    CALLED_OFF = "called_off", _("called off")


# from -> to: which roles may; 'flow' is a step that only the job itself takes
TRANSITIONS: dict[str, dict[str, tuple[str, ...]]] = {
    State.PENCILLED: {
        State.BOOKED: ("office",),
        State.CALLED_OFF: ("office",),
    },
    State.BOOKED: {
        State.UNDER_WAY: ("office", "technician"),
        State.PENCILLED: ("office", "technician"),
        State.CALLED_OFF: ("office",),
    },
    State.UNDER_WAY: {
        State.WRITTEN_UP: ("flow",),
        State.BOOKED: ("office", "technician"),
        State.PENCILLED: ("office", "technician"),
    },
    State.WRITTEN_UP: {
        State.REPORTED: ("flow",),
        State.UNDER_WAY: ("office",),
    },
    State.REPORTED: {},
    State.CALLED_OFF: {},
}
NEEDS_REASON = {
    (State.BOOKED, State.PENCILLED),
    (State.UNDER_WAY, State.BOOKED),
    (State.UNDER_WAY, State.PENCILLED),
    (State.WRITTEN_UP, State.UNDER_WAY),
    (State.BOOKED, State.CALLED_OFF),
}
HOLDING = (State.PENCILLED, State.BOOKED, State.UNDER_WAY)


class Way(models.TextChoices):
    """How a word was had with a client that is noted by hand."""

    CALL = "call", _("call")
    MESSAGE = "message", _("message")
    MET = "met", _("in person")


class Answer(models.TextChoices):
    """What the client said to the appointment."""

    NOT_ASKED = "not_asked", _("not asked")
    ASKED = "asked", _("asked")
    CONFIRMED = "confirmed", _("confirmed")
    OTHER_TIME = "other_time", _("wants another time")
    DECLINED = "declined", _("declined")


class Outcome(models.TextChoices):
    """How a line of the checklist ended."""

    DONE = "done", _("done")
    NOT_DONE = "not_done", _("not done")
    NOT_HERE = "not_here", _("not here")


class When(models.TextChoices):
    """Before or after the work."""

    BEFORE = "before", _("before")
    AFTER = "after", _("after")


class TakenBy(models.TextChoices):
    """Who took a reading."""

    TECHNICIAN = "technician", _("technician")
    CLIENT = "client", _("client")
    OFFICE = "office", _("office")
    SENSOR = "sensor", _("sensor")


class Word(models.TextChoices):
    """How a reading is judged."""

    IN_BAND = "in_band", _("in band")
    NEAR_EDGE = "near_edge", _("near the edge")
    OUT_OF_BAND = "out_of_band", _("out of band")
    HARMFUL = "harmful", _("harmful")
    MEASURE_AGAIN = "measure_again", _("measure again")


class Remark(models.TextChoices):
    """What a phone brought that a person of the office should look at."""

    REFUSED = "refused", _("could not be taken")
    LATE = "late", _("arrived after the report")
    DIFFERS = "differs", _("worked out otherwise on the phone")


WORST_FIRST = (Word.HARMFUL, Word.OUT_OF_BAND, Word.NEAR_EDGE, Word.IN_BAND)
LEFT_RUNNING = "left_running"
GREETING_MINUTES = 15
"""What a visit takes besides its lines: ringing, words at the door, packing up (common practice)."""
SHORTEST_MINUTES = 30
"""No visit is planned for less."""
