"""Abstract bases and the outbox's row."""

import uuid
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from apps.core.scoping import Scope, ScopedQuerySet


class ScopedModel(models.Model):
    """A row that an actor may or may not see. Without a `scope` of its own a check fails."""

    objects = ScopedQuerySet.as_manager()

    class Meta:
        abstract = True


class UUIDModel(ScopedModel):
    """A row that may be born on a phone: its key is a UUID."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)

    class Meta:
        abstract = True


class Picture(UUIDModel):
    """A photo in two sizes, re-drawn from its pixels; what was uploaded is not kept."""

    screen = models.CharField(max_length=160)
    small = models.CharField(max_length=160)
    sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()

    class Meta:
        abstract = True


class Job(models.Model):
    """One effect to carry out, written with the change that causes it."""

    class State(models.TextChoices):
        """Where the effect stands."""

        NEW = "new", _("waiting")
        BUSY = "busy", _("under way")
        DONE = "done", _("done")
        DEAD = "dead", _("given up")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    kind = models.CharField(max_length=60)
    key = models.CharField(max_length=200, unique=True)
    args = models.JSONField(default=dict, blank=True)
    state = models.CharField(max_length=8, choices=State, default=State.NEW)
    run_at = models.DateTimeField()
    lease_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.TextField(blank=True)
    made_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope()
    objects = ScopedQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(
                fields=["run_at"], name="job_waiting", condition=Q(state__in=["new", "busy"])
            )
        ]
        constraints = [
            models.CheckConstraint(
                name="job_state_known", condition=Q(state__in=["new", "busy", "done", "dead"])
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.key} ({self.state})"


class Erasing(models.Model):
    """That the open transaction takes away what else can not be deleted: `core/erasing.py`.

    The row refers to one that can not be (`erasing_one_row`), by a key that is looked at when the
    transaction ends: so no commit can leave it behind, and nobody else ever sees it.
    """

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    never = models.ForeignKey("self", on_delete=models.DO_NOTHING, related_name="+", default=2)

    scope: ClassVar[Scope] = Scope()
    objects = ScopedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(name="erasing_one_row", condition=Q(id=1, never=2)),
        ]

    def __str__(self) -> str:
        return "erasing"
