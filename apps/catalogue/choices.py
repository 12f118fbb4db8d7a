"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class EntryKind(models.TextChoices):
    """What an entry of the catalogue describes; each has a data file of its own."""

    SOURCE = "sources", _("sources")
    MEASURAND = "measurands", _("measurands")
    BAND = "bands", _("bands")
    TASK = "tasks", _("tasks")
    REASON = "reasons", _("reasons")
    SIGN = "signs", _("signs")
    RULE = "rules", _("rules")
    SPECIES = "species", _("species")
    CROP = "crops", _("crops")
    FEEDING = "feeding", _("feeding")
    CONSUMABLE = "consumables", _("consumables")
    SIZING = "sizing", _("sizing")
    PATTERN = "patterns", _("visit patterns")
    LEFT_RUNNING = "left_running", _("left running")
    APART = "tasks_apart", _("tasks kept apart")
    EMERGENCY = "emergency", _("emergency call")
    CYCLING = "cycling", _("cycling")
    TARGET = "targets", _("plant water")


class Knowledge(models.TextChoices):
    """How a figure is known."""

    READ = "read", _("read in the source")
    COMPUTED = "computed", _("computed")
    MEMORY = "memory", _("from memory of the source, not checked")
    PRACTICE = "common practice", _("common practice, no source")
