"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class PlanState(models.TextChoices):
    """Where a plan of rounds stands."""

    WORKING = "working", _("being made")
    READY = "ready", _("ready")
    ACCEPTED = "accepted", _("accepted")
    DROPPED = "dropped", _("dropped")
    FAILED = "failed", _("failed")


class WhyFailed(models.TextChoices):
    """Why no plan came of it."""

    JUDGE = "judge", _("its judge found it wrong")
    REFUSED = "refused", _("the planner refused what it was given")
    BROKE_OFF = "broke_off", _("the planning broke off")


class StartsFrom(models.TextChoices):
    """Where a technician's day begins and ends."""

    HOME = "home", _("from home")
    BASE = "base", _("from the base")


class Part(models.TextChoices):
    """Which part of a day somebody is away."""

    WHOLE = "whole", _("the whole day")
    MORNING = "morning", _("the morning")
    AFTERNOON = "afternoon", _("the afternoon")


class Kind(models.TextChoices):
    """What a stop of a plan is."""

    FIXED = "fixed", _("stands already")
    OFFERED = "offered", _("offered to the client")
    MOVABLE = "movable", _("pencilled in")
    DUE = "due", _("due, without a visit")


class OfferState(models.TextChoices):
    """Where times offered to a client stand; `overtaken`: the visit was settled otherwise."""

    OPEN = "open", _("waiting for the client")
    PICKED = "picked", _("picked")
    NONE_SUITS = "none_suits", _("none suits")
    LAPSED = "lapsed", _("not answered in time")
    TAKEN_BACK = "taken_back", _("taken back")
    OVERTAKEN = "overtaken", _("settled otherwise")


class TimeState(models.TextChoices):
    """Where one of the times stands; `gone`: something urgent took it."""

    HELD = "held", _("held")
    GONE = "gone", _("gone")
    PICKED = "picked", _("picked")
    FREE = "free", _("free again")
