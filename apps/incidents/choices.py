"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Said(models.TextChoices):
    """What the caller says first."""

    GASPING = "gasping", _("fish gasping")
    STOPPED = "stopped", _("pump or air stopped")
    POWER = "power", _("power out")
    LEVEL = "level", _("leak or level falling")
    DEAD = "dead", _("dead fish")
    WATER = "water", _("water turned")
    HURT = "hurt", _("somebody hurt, or water on electrics")
    OTHER = "other", _("something else")


GRAVEST_FIRST = (
    Said.HURT, Said.GASPING, Said.POWER, Said.STOPPED, Said.LEVEL, Said.DEAD, Said.WATER, Said.OTHER,
)  # fmt: skip
# what a client wrote from their page, as the act of a note
ASKED = "asked"


class Stand(models.TextChoices):
    """Where an incident stands."""

    OPEN = "open", _("open")
    WATCHING = "watching", _("being watched")
    CLOSED = "closed", _("closed")


class Cause(models.TextChoices):
    """Why it happened, as far as anybody knows."""

    POWER = "power", _("power cut")
    AIR = "air", _("air failed")
    PUMP = "pump", _("pump failed")
    BLOCKED = "blocked", _("blocked intake, screen or filter")
    LEAK = "leak", _("leak or open valve")
    ADDED = "added", _("water or a chemical added")
    FEED = "feed", _("too much feed, or too many fish")
    HEAT = "heat", _("heat")
    COLD = "cold", _("cold")
    STORM = "storm", _("storm or rain")
    DISEASE = "disease", _("disease suspected")
    OURS = "ours", _("our own work")
    NOTHING = "nothing", _("nothing was wrong")
    UNKNOWN = "unknown", _("not known")


class Entry(models.TextChoices):
    """What a note of an incident holds."""

    NOTE = "note", _("note")
    ANSWER = "answer", _("answer")
    ACT = "act", _("what was done")


class Weather(models.TextChoices):
    """What weather is coming."""

    HEAT = "heat", _("heat")
    FROST = "frost", _("frost")
    STORM = "storm", _("storm or power cut")


class Reply(models.TextChoices):
    """What a client answers to the list of a weather."""

    NONE = "none", _("no answer yet")
    DONE = "done", _("done")
    HELP = "help", _("needs help")
