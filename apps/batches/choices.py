"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Touches(models.TextChoices):
    """What a harvest hold covers."""

    FISH = "fish", _("fish")
    PLANTS = "plants", _("plants")
    BOTH = "both", _("fish and plants")


class Harvest(models.TextChoices):
    """What is harvested, by the catalogue's name of its kind."""

    CROPS = "crops", _("plants")
    SPECIES = "species", _("fish")


class Per(models.TextChoices):
    """What a price of a harvest is for."""

    KG = "kg", _("kilogram")
    PIECE = "piece", _("head or fish")
