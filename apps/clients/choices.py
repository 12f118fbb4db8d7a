"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class ClientKind(models.TextChoices):
    """Who the client is."""

    HOUSEHOLD = "household", _("household")
    SCHOOL = "school", _("school")
    CAFE = "cafe", _("café")
    OTHER = "other", _("other")


class Units(models.TextChoices):
    """The units in which a contact reads figures."""

    METRIC = "metric", _("°C, litres, grams")
    US = "us", _("°F, US gallons, ounces")


class ReportsAs(models.TextChoices):
    """How a contact gets the letter about a report."""

    ATTACHED = "attached", _("with the report attached")
    LINK = "link", _("with a link to the report")
    PAUSED = "paused", _("not for now")


class PhotoUse(models.TextChoices):
    """What a client allows of photos that we take at their home."""

    UNKNOWN = "unknown", _("not asked yet")
    YES = "yes", _("yes, in reports and on their page too")
    RECORDS = "records", _("for our own records only")
    NO = "no", _("none at all")


# what stands beside the camera
PHOTO_WORDS = {
    PhotoUse.UNKNOWN: _("This client was not asked about photos: they stay in our records. Ask, and "
                        "tell the office."),
    PhotoUse.RECORDS: _("This client allows photos for our own records only."),
    PhotoUse.NO: _("This client wants no photos: take none, and note in words what you saw."),
}  # fmt: skip


class Backup(models.TextChoices):
    """Whether there is air that runs without mains power."""

    YES = "yes", _("yes")
    NO = "no", _("no")
    UNSURE = "unsure", _("not sure")


class Weekday(models.IntegerChoices):
    """ISO 8601 days of the week."""

    MON = 1, _("Monday")
    TUE = 2, _("Tuesday")
    WED = 3, _("Wednesday")
    THU = 4, _("Thursday")
    FRI = 5, _("Friday")
    SAT = 6, _("Saturday")
    SUN = 7, _("Sunday")
