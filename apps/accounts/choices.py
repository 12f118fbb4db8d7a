"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Role(models.TextChoices):
    """What a member of the staff may do."""

    OFFICE = "office", _("office")
    TECHNICIAN = "technician", _("technician")


class Purpose(models.TextChoices):
    """What a client's link opens."""

    PAGE = "page", _("the client's page")
    APPOINTMENT = "appointment", _("one appointment")
    LETTERS = "letters", _("which letters somebody gets")


class Paper(models.TextChoices):
    """What the firm prints on: ISO 216 or ANSI/ASME Y14.1."""

    A4 = "a4", _("A4, 210 × 297 mm")
    LETTER = "letter", _("Letter, 8.5 × 11 in")
