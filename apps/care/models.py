"""CarePlan, CareTask, Completion, Standing."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from apps.care.choices import (
    BUILT_MODES,
    Basis,
    Criticality,
    Holiday,
    Mode,
    MonthEnd,
    OffSeason,
    Unit,
    Urgency,
    Who,
)
from apps.core.constraints import known, positive
from apps.core.models import UUIDModel
from apps.core.scoping import Scope, ScopedQuerySet
from apps.systems.models import Component, Loop, System

BY_SYSTEM = Scope(client="system__place__client_id", visits="system__place__visits")


class CarePlan(UUIDModel):
    """What the firm has promised for one system."""

    system = models.OneToOneField(System, on_delete=models.CASCADE, related_name="care_plan")
    name = models.CharField(max_length=80, blank=True)
    visits_a_year = models.PositiveSmallIntegerField(null=True, blank=True)
    notes = models.TextField(blank=True, max_length=2000)

    scope: ClassVar[Scope] = BY_SYSTEM

    def __str__(self) -> str:
        return self.name or str(self.system_id)


class CareTask(UUIDModel):
    """One task of a system with its rhythm and its next dates (local dates, None = dormant)."""

    system = models.ForeignKey(System, on_delete=models.CASCADE, related_name="care_tasks")
    loop = models.ForeignKey(
        Loop, on_delete=models.CASCADE, null=True, blank=True, related_name="care_tasks"
    )
    component = models.ForeignKey(
        Component, on_delete=models.CASCADE, null=True, blank=True, related_name="care_tasks"
    )
    code = models.CharField(max_length=60)
    mode = models.CharField(max_length=12, choices=Mode, default=Mode.AFTER_DONE)
    every_n = models.PositiveSmallIntegerField(default=1)
    unit = models.CharField(max_length=6, choices=Unit, default=Unit.DAY)
    anchor = models.DateField(null=True, blank=True)
    rrule = models.CharField(max_length=200, blank=True)
    early_share = models.FloatField(default=0)
    early_min_days = models.PositiveSmallIntegerField(default=0)
    early_max_days = models.PositiveSmallIntegerField(default=0)
    late_share = models.FloatField(default=0)
    late_min_days = models.PositiveSmallIntegerField(default=0)
    late_max_days = models.PositiveSmallIntegerField(default=0)
    season_from = models.CharField(max_length=5, blank=True)
    season_to = models.CharField(max_length=5, blank=True)
    off_season = models.CharField(max_length=4, choices=OffSeason, default=OffSeason.HOLD)
    meter = models.CharField(max_length=12, blank=True)
    meter_limit = models.FloatField(null=True, blank=True)
    max_days = models.PositiveSmallIntegerField(null=True, blank=True)
    condition = models.JSONField(default=dict, blank=True)
    month_end = models.CharField(max_length=5, choices=MonthEnd, default=MonthEnd.CLAMP)
    holiday = models.CharField(max_length=8, choices=Holiday, default=Holiday.KEEP)
    minutes = models.PositiveSmallIntegerField(default=5)
    skill = models.CharField(max_length=40, blank=True)
    who = models.CharField(max_length=12, choices=Who, default=Who.TECHNICIAN)
    criticality = models.CharField(max_length=1, choices=Criticality, default=Criticality.B)
    rule_version = models.PositiveIntegerField(default=1)
    active = models.BooleanField(default=True)

    last_done = models.DateField(null=True, blank=True)
    last_occurrence = models.DateField(null=True, blank=True)
    meter_at_done = models.FloatField(null=True, blank=True)
    raised_on = models.DateField(null=True, blank=True)
    next_open = models.DateField(null=True, blank=True)
    next_due = models.DateField(null=True, blank=True)
    next_late = models.DateField(null=True, blank=True)
    basis = models.CharField(max_length=10, choices=Basis, default=Basis.CALENDAR)
    computed_at = models.DateTimeField(null=True, blank=True)

    scope: ClassVar[Scope] = BY_SYSTEM

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="task_mode_built",
                condition=Q(mode__in=[mode.value for mode in BUILT_MODES]),
                violation_error_message=_("mode: rules by a meter or a forecast are not built yet"),
            ),
            known("unit", Unit, "task_unit_known"),
            known("month_end", MonthEnd, "task_month_end_known"),
            known("off_season", OffSeason, "task_off_season_known"),
            known("holiday", Holiday, "task_holiday_known"),
            known("who", Who, "task_who_known"),
            known("criticality", Criticality, "task_criticality_known"),
            known("basis", Basis, "task_basis_known"),
            positive("every_n", "task_every_n"),
            models.CheckConstraint(
                name="task_dates_in_order",
                condition=Q(next_due__isnull=True)
                | Q(next_open__lte=models.F("next_due"), next_late__gte=models.F("next_due")),
            ),
            models.UniqueConstraint(
                fields=["system", "code"],
                name="task_once_a_system",
                condition=Q(active=True, loop__isnull=True, component__isnull=True),
            ),
            models.UniqueConstraint(
                fields=["system", "code", "loop"],
                name="task_once_a_loop",
                condition=Q(active=True, loop__isnull=False, component__isnull=True),
            ),
            models.UniqueConstraint(
                fields=["system", "code", "component"],
                name="task_once_a_component",
                condition=Q(active=True, component__isnull=False),
            ),
        ]
        indexes = [
            models.Index(
                fields=["next_due", "system"],
                name="task_due",
                condition=Q(next_due__isnull=False),
            ),
            models.Index(fields=["system", "next_open"], name="task_of_system"),
        ]

    def __str__(self) -> str:
        return self.code


class Completion(UUIDModel):
    """A task done on a day, or said not to be needed; append-only."""

    task = models.ForeignKey(CareTask, on_delete=models.PROTECT, related_name="completions")
    done_on = models.DateField()
    occurrence = models.DateField(null=True, blank=True)
    by = models.CharField(max_length=160, blank=True)
    visit_id = models.UUIDField(null=True, blank=True, db_index=True)
    made_at = models.DateTimeField()
    withdraws = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="withdrawn_by"
    )

    scope: ClassVar[Scope] = Scope(
        client="task__system__place__client_id", visits="task__system__place__visits"
    )

    class Meta:
        indexes = [models.Index(fields=["task", "done_on"], name="completion_of_task")]

    def __str__(self) -> str:
        return f"{self.task_id} {self.done_on}"


class Standing(models.Model):
    """What the due list needs of a system at a glance; recomputed with what changes it."""

    system = models.OneToOneField(
        System, on_delete=models.CASCADE, related_name="standing", primary_key=True
    )
    worst_judgement = models.CharField(max_length=16, blank=True)
    worst_since = models.DateTimeField(null=True, blank=True)
    worst = models.JSONField(default=dict, blank=True)
    latest = models.JSONField(default=list, blank=True)
    advice_urgency = models.CharField(max_length=16, choices=Urgency, blank=True)
    advice_since = models.DateTimeField(null=True, blank=True)
    advice = models.JSONField(default=dict, blank=True)
    last_visit_at = models.DateTimeField(null=True, blank=True)
    last_reading_at = models.DateTimeField(null=True, blank=True)
    fixed_class = models.PositiveSmallIntegerField(default=9)
    due_from = models.DateField(null=True, blank=True)
    due_by = models.DateField(null=True, blank=True)
    late_a_from = models.DateField(null=True, blank=True)
    computed_at = models.DateTimeField(null=True, blank=True)

    scope: ClassVar[Scope] = BY_SYSTEM
    objects = ScopedQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["fixed_class"], name="standing_class"),
            models.Index(fields=["late_a_from"], name="standing_late_a"),
            models.Index(fields=["due_by"], name="standing_due_by"),
            models.Index(fields=["due_from"], name="standing_due_from"),
        ]

    def __str__(self) -> str:
        return f"{self.system_id}"
