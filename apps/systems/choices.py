"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class SystemKind(models.TextChoices):
    """How fish and plants share the water."""

    COUPLED = "coupled", _("coupled")
    DECOUPLED = "decoupled", _("decoupled")
    FISH_ONLY = "fish_only", _("fish only")
    PLANTS_ONLY = "plants_only", _("plants only")


class LoopKind(models.TextChoices):
    """What lives in a loop."""

    WHOLE = "whole", _("whole loop")
    FISH = "fish", _("fish loop")
    PLANT = "plant", _("plant loop")


class ComponentKind(models.TextChoices):
    """What a component is."""

    TANK = "tank", _("tank")
    SETTLER = "settler", _("settler")
    STATIC_MEDIA = "static_media", _("static media")
    MOVING_BED = "moving_bed", _("moving bed")
    SUMP = "sump", _("sump")
    PUMP = "pump", _("pump")
    AIR_PUMP = "air_pump", _("air pump")
    BACKUP_AIR = "backup_air", _("backup air")
    GRAVEL_BED = "gravel_bed", _("gravel bed")
    RAFT = "raft", _("raft")
    CHANNEL = "channel", _("channel")
    HEATER = "heater", _("heater")
    SHADE = "shade", _("shade")
    VALVE = "valve", _("valve")
    TIMER = "timer", _("timer")
    SIPHON = "siphon", _("siphon")
    PROBE = "probe", _("probe")
    SCREEN = "screen", _("screen")
    FLOAT_SWITCH = "float_switch", _("float switch")


class FlowKind(models.TextChoices):
    """What moves the water."""

    GRAVITY = "gravity", _("by gravity")
    PUMPED = "pumped", _("pumped")
    BY_HAND = "by_hand", _("by hand")


WATER_HOLDERS = (
    "tank",
    "settler",
    "static_media",
    "moving_bed",
    "sump",
    "gravel_bed",
    "raft",
    "channel",
)
BEDS = ("gravel_bed", "raft", "channel")
FILTERS = ("static_media", "moving_bed", "gravel_bed")
