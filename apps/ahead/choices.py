"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Assumed(models.TextChoices):
    """What a forecast had to assume, since nobody has noted it."""

    FEED = "feed", _("No feed is noted for this loop: what fish of this size eat is assumed.")
    PROTEIN = "protein", _("Protein in the feed is taken as 32 %.")
    SOURCE = "source", _("The source water of the place was never measured; no salts are assumed.")
    PLACE = (
        "place",
        _("The place has no position and no climate normals: no season is counted with."),
    )
    CLIMATE = (
        "climate",
        _("Warmth follows the usual year at this latitude and the loop's own readings."),
    )
    NORMALS = (
        "normals",
        _(
            "Warmth, evaporation and rain follow the firm's climate normals and the loop's own "
            "readings."
        ),
    )
    NORMALS_PLACE = (
        "normals_place",
        _(
            "Warmth, evaporation and rain follow this place's climate normals and the loop's own "
            "readings."
        ),
    )
    UNREAD = (
        "unread",
        _(
            "The water's temperature was never read: it is taken as warm as the usual air, or as "
            "20 °C where that is not known."
        ),
    )
    HEATED = (
        "heated",
        _(
            "The water's temperature was never read: the heater is taken to keep it as warm as its "
            "fish like it."
        ),
    )
    COVERED = "covered", _("No rain is taken to fall into the water: no area open to it is noted.")
    NO_RAIN = (
        "no_rain",
        _("Water lies open to rain, but no climate normals are entered: none is counted with."),
    )
    AREA = "area", _("The open water is taken as 70 cm deep where no depth is noted.")
    SLUDGE = "sludge", _("No sludge drained is noted; 1 % of the water a week is assumed.")
    WEIGHT = "weight", _("Fish were last weighed over 30 days ago; they are counted as fed since.")


class Method(models.TextChoices):
    """Which forecast has earned its place."""

    BALANCE = "balance", _("mass balance")
    TREND = "trend", _("trend of the readings")
    STEADY = "steady", _("last reading carried on")
