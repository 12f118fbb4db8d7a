"""Words of this app."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Decision(models.TextChoices):
    """What the technician made of it."""

    DRAFT = "draft", _("drafted")
    KEEP = "keep", _("kept")
    EDIT = "edit", _("edited")
    STRIKE = "strike", _("struck")


class Close(models.TextChoices):
    """How an advice ended."""

    DONE = "done", _("done")
    REPLACED = "replaced", _("replaced by a newer one")
    STRUCK = "struck", _("struck")
    DROPPED = "dropped", _("dropped")
