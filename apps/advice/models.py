"""Advice rows: codes and parameters; words are made when it is shown."""

from typing import ClassVar

from django.db import models
from django.db.models import Q

from apps.advice.choices import Close, Decision
from apps.care.choices import Urgency
from apps.core.constraints import known
from apps.core.models import UUIDModel
from apps.core.scoping import Scope
from apps.systems.models import Loop, System
from apps.visits.models import Sheet


class Advice(UUIDModel):
    """An action: its dose or size, who, by when, why, and its caution.

    `sheet`: the visit's that led to it; none for what the office advises between visits.
    """

    sheet = models.ForeignKey(
        Sheet, on_delete=models.PROTECT, null=True, blank=True, related_name="advice"
    )
    system = models.ForeignKey(System, on_delete=models.CASCADE, related_name="advice")
    loop = models.ForeignKey(
        Loop, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    rule = models.CharField(max_length=60)
    position = models.PositiveSmallIntegerField(default=0)
    urgency = models.CharField(max_length=16, choices=Urgency)
    who = models.CharField(max_length=20)
    by_at = models.DateTimeField(null=True, blank=True)
    dose = models.FloatField(null=True, blank=True)
    unit = models.CharField(max_length=20, blank=True)
    parameters = models.JSONField(default=dict, blank=True)
    made_at = models.DateTimeField()
    decision = models.CharField(max_length=8, choices=Decision, default=Decision.DRAFT)
    decision_text = models.TextField(blank=True, max_length=2000)
    decision_reason = models.CharField(max_length=400, blank=True)
    decided_by = models.CharField(max_length=160, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_as = models.CharField(max_length=10, choices=Close, blank=True)
    closed_by = models.CharField(max_length=160, blank=True)

    scope: ClassVar[Scope] = Scope(
        client="system__place__client_id", visits="system__place__visits"
    )

    class Meta:
        constraints = [
            known("urgency", Urgency, "advice_urgency_known"),
            known("decision", Decision, "advice_decision_known"),
            models.CheckConstraint(
                name="advice_edit_has_text",
                condition=~Q(decision="edit") | ~Q(decision_text=""),
            ),
            models.CheckConstraint(
                name="advice_change_has_reason",
                condition=~Q(decision__in=["edit", "strike"]) | ~Q(decision_reason=""),
            ),
        ]
        indexes = [
            models.Index(
                fields=["system", "urgency"],
                name="advice_open",
                condition=Q(closed_at__isnull=True),
            )
        ]
        ordering = ["position"]

    def __str__(self) -> str:
        return f"{self.rule} {self.urgency}"
