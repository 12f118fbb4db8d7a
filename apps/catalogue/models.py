"""One row an entry of the catalogue, with the figures as loaded kept beside the firm's own."""

from typing import ClassVar

from django.db import models

from apps.catalogue.choices import EntryKind, Knowledge
from apps.core.constraints import known
from apps.core.scoping import Scope, ScopedQuerySet


class Entry(models.Model):
    """A measurand, band, task, sign, rule, species, crop or source.

    `figures` is what counts; `original` is what was loaded. `edited_at` is set where the firm has
    changed it.
    """

    kind = models.CharField(max_length=12, choices=EntryKind)
    code = models.CharField(max_length=80)
    name = models.CharField(max_length=300)
    position = models.PositiveIntegerField(default=0)
    figures = models.JSONField(default=dict, blank=True)
    original = models.JSONField(default=dict, blank=True)
    source_code = models.CharField(max_length=40, blank=True)
    knowledge = models.CharField(max_length=16, choices=Knowledge, default=Knowledge.PRACTICE)
    edited_at = models.DateTimeField(null=True, blank=True)
    rev = models.PositiveIntegerField(default=1)

    scope: ClassVar[Scope] = Scope(staff=True)
    objects = ScopedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "code"], name="entry_once"),
            known("kind", EntryKind, "entry_kind_known"),
            known("knowledge", Knowledge, "entry_knowledge_known"),
        ]
        ordering = ["kind", "position"]

    def __str__(self) -> str:
        return self.name


class Edition(models.Model):
    """A number that grows with every change, so that processes know when to read again."""

    number = models.PositiveIntegerField(default=1)

    scope: ClassVar[Scope] = Scope(staff=True)
    objects = ScopedQuerySet.as_manager()

    def __str__(self) -> str:
        return str(self.number)
