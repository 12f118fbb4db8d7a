"""CarePlan, CareTask, Completion, MeterReading with its withdrawal, FeedCount, Standing;
StandingAppointment; VisitDayPlan and what belongs to it."""

from typing import ClassVar

from django.db import models
from django.db.models import Q

from apps.accounts.models import User
from apps.care.choices import (
    Basis,
    CountedBy,
    Counter,
    Criticality,
    Holiday,
    Mode,
    MonthEnd,
    OffSeason,
    Unit,
    Urgency,
    Way,
    Who,
    WhyAsked,
    WhyNot,
    WhyThere,
)
from apps.clients.models import Place
from apps.core.constraints import known, ordered, positive
from apps.core.models import UUIDModel
from apps.core.scoping import Scope, ScopedQuerySet
from apps.systems.models import Component, Loop, System

BY_SYSTEM = Scope(client="system__place__client_id", visits="system__place__visits")
# proposals of the firm's own, nothing that a client was promised
BY_PLACE = Scope(visits="place__visits")


class CarePlan(UUIDModel):
    """What the firm has promised for one system."""

    system = models.OneToOneField(System, on_delete=models.CASCADE, related_name="care_plan")
    name = models.CharField(max_length=80, blank=True)
    visits_a_year = models.PositiveSmallIntegerField(null=True, blank=True)
    # the last day of the agreement; empty: it goes on until somebody ends it
    agreed_until = models.DateField(null=True, blank=True)
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
    # when a forecast sees the limit of the condition passed: soonest, most likely, latest
    forecast_open = models.DateField(null=True, blank=True)
    forecast_due = models.DateField(null=True, blank=True)
    forecast_late = models.DateField(null=True, blank=True)
    next_open = models.DateField(null=True, blank=True)
    next_due = models.DateField(null=True, blank=True)
    next_late = models.DateField(null=True, blank=True)
    basis = models.CharField(max_length=10, choices=Basis, default=Basis.CALENDAR)
    computed_at = models.DateTimeField(null=True, blank=True)

    scope: ClassVar[Scope] = BY_SYSTEM

    class Meta:
        constraints = [
            known("mode", Mode, "task_mode_known"),
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

    @property
    def waits(self) -> bool:
        """It sleeps until somebody says from which day its system runs."""
        never = self.anchor is None and self.last_done is None
        return self.active and never and self.mode == Mode.AFTER_DONE


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


class MeterReading(UUIDModel):
    """What a counter of a system, a loop or a component showed on a local date; append-only.

    `is_reset`: the first reading of a new counter, or of one that was set back.
    """

    system = models.ForeignKey(System, on_delete=models.PROTECT, related_name="meter_readings")
    loop = models.ForeignKey(
        Loop, on_delete=models.PROTECT, null=True, blank=True, related_name="meter_readings"
    )
    component = models.ForeignKey(
        Component, on_delete=models.PROTECT, null=True, blank=True, related_name="meter_readings"
    )
    meter = models.CharField(max_length=12, choices=Counter)
    value = models.FloatField()
    taken_on = models.DateField()
    is_reset = models.BooleanField(default=False)
    by = models.CharField(max_length=160, blank=True)
    visit_id = models.UUIDField(null=True, blank=True, db_index=True)
    made_at = models.DateTimeField()

    scope: ClassVar[Scope] = BY_SYSTEM

    class Meta:
        constraints = [
            known("meter", Counter, "meter_reading_meter_known"),
            positive("value", "meter_reading_value", zero=True),
        ]
        indexes = [
            models.Index(fields=["system", "meter", "taken_on"], name="meter_reading_of_system")
        ]

    def __str__(self) -> str:
        return f"{self.meter} {self.value:g} {self.taken_on}"


class MeterWithdrawal(UUIDModel):
    """A counter's reading that does not count any more: who said so, when and why; append-only."""

    reading = models.OneToOneField(
        MeterReading, on_delete=models.PROTECT, related_name="withdrawal"
    )
    reason = models.CharField(max_length=400)
    by = models.CharField(max_length=160, blank=True)
    made_at = models.DateTimeField()

    scope: ClassVar[Scope] = Scope(
        client="reading__system__place__client_id", visits="reading__system__place__visits"
    )

    def __str__(self) -> str:
        return f"{self.reading_id} {self.reason}"


class FeedCount(UUIDModel):
    """How much feed lay at a system's place at a time [g]; append-only.

    A later one takes the place of an earlier one from its time on.
    """

    system = models.ForeignKey(System, on_delete=models.PROTECT, related_name="feed_counts")
    amount_g = models.FloatField()
    counted_at = models.DateTimeField()
    counted_by = models.CharField(max_length=12, choices=CountedBy)
    by = models.CharField(max_length=160, blank=True)
    made_at = models.DateTimeField()

    scope: ClassVar[Scope] = BY_SYSTEM

    class Meta:
        constraints = [
            known("counted_by", CountedBy, "feed_count_by_known"),
            positive("amount_g", "feed_count_amount", zero=True),
        ]
        indexes = [models.Index(fields=["system", "counted_at"], name="feed_count_of_system")]

    def __str__(self) -> str:
        return f"{self.amount_g:g} g {self.counted_at:%Y-%m-%d}"


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
    # the crossing that a forecast sees first, and since when it wants somebody there
    ahead = models.JSONField(default=dict, blank=True)
    ahead_from = models.DateField(null=True, blank=True)
    # until when the feed that was counted last lasts: of which count, and what is said of it
    feed_count = models.CharField(max_length=36, blank=True)
    feed = models.JSONField(default=dict, blank=True)
    feed_until = models.DateField(null=True, blank=True)
    computed_at = models.DateTimeField(null=True, blank=True)

    scope: ClassVar[Scope] = BY_SYSTEM
    objects = ScopedQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["fixed_class"], name="standing_class"),
            models.Index(fields=["late_a_from"], name="standing_late_a"),
            models.Index(fields=["due_by"], name="standing_due_by"),
            models.Index(fields=["due_from"], name="standing_due_from"),
            models.Index(fields=["ahead_from"], name="standing_ahead_from"),
        ]

    def __str__(self) -> str:
        return f"{self.system_id}"


class StandingAppointment(UUIDModel):
    """What a client and the firm have agreed on: come on these days, from when to when, who.

    `rrule` counts from `first` (RFC 5545, on dates); `last`: the last day, none where it goes on.
    """

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="standing_appointments")
    rrule = models.CharField(max_length=200)
    first = models.DateField()
    last = models.DateField(null=True, blank=True)
    starts = models.TimeField()
    ends = models.TimeField()
    technician = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    made_at = models.DateTimeField()

    scope: ClassVar[Scope] = Scope(client="place__client_id", visits="place__visits")

    class Meta:
        constraints = [
            ordered("starts", "ends", "standing_appointment_times"),
            ordered("first", "last", "standing_appointment_days", strict=False),
        ]

    def __str__(self) -> str:
        return f"{self.rrule} {self.starts:%H:%M}"


class VisitDayPlan(models.Model):
    """The visit days that are proposed for a place, and what the last change of them was.

    `turn` rises with each plan; it tells a plan that is waited for from one that is begun already.
    `changes`: what moved, came and went, each with its reason as a code.
    """

    place = models.OneToOneField(
        Place, on_delete=models.CASCADE, related_name="visit_day_plan", primary_key=True
    )
    turn = models.PositiveIntegerField(default=1)
    made_at = models.DateTimeField(null=True, blank=True)
    made_on = models.DateField(null=True, blank=True)
    until = models.DateField(null=True, blank=True)
    way = models.CharField(max_length=8, choices=Way, blank=True)
    at_most = models.PositiveSmallIntegerField(null=True, blank=True)
    changes = models.JSONField(default=list, blank=True)
    changed_at = models.DateTimeField(null=True, blank=True)

    scope: ClassVar[Scope] = BY_PLACE
    objects = ScopedQuerySet.as_manager()

    class Meta:
        constraints = [ordered("made_on", "until", "visit_day_plan_ahead")]

    def __str__(self) -> str:
        return f"{self.place_id} {self.made_on}"


class VisitDay(UUIDModel):
    """A day on which a place should be visited, and from when to when it may move.

    `kept_for`: the visit that stands on this day already; then it does not move.
    """

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="visit_days")
    on = models.DateField()
    earliest = models.DateField()
    latest = models.DateField()
    minutes = models.PositiveSmallIntegerField()
    kept_for = models.UUIDField(null=True, blank=True)
    appointment = models.ForeignKey(
        StandingAppointment, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    scope: ClassVar[Scope] = BY_PLACE

    class Meta:
        constraints = [
            ordered("earliest", "on", "visit_day_earliest", strict=False),
            ordered("on", "latest", "visit_day_latest", strict=False),
            models.UniqueConstraint(fields=["place", "on"], name="visit_day_once"),
        ]
        indexes = [models.Index(fields=["on"], name="visit_day_on")]

    def __str__(self) -> str:
        return f"{self.place_id} {self.on}"


class VisitDayTask(UUIDModel):
    """A task on a visit day; without a due day where it is done at every visit."""

    visit_day = models.ForeignKey(VisitDay, on_delete=models.CASCADE, related_name="tasks")
    task = models.ForeignKey(CareTask, on_delete=models.CASCADE, related_name="visit_days")
    due = models.DateField(null=True, blank=True)
    why = models.CharField(max_length=16, choices=WhyThere, blank=True)

    scope: ClassVar[Scope] = Scope(visits="visit_day__place__visits")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit_day", "task"], name="visit_day_task_once"),
            models.CheckConstraint(
                name="visit_day_task_why", condition=Q(why__in=["", *WhyThere.values])
            ),
        ]

    def __str__(self) -> str:
        return f"{self.task_id} {self.due}"


class NotPlaced(UUIDModel):
    """A task that is on no visit day: why, and the day nearest to its time on which it could be."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="not_placed")
    task = models.ForeignKey(CareTask, on_delete=models.CASCADE, related_name="not_placed")
    reason = models.CharField(max_length=16, choices=WhyNot)
    due = models.DateField()
    nearest = models.DateField(null=True, blank=True)

    scope: ClassVar[Scope] = BY_PLACE

    class Meta:
        constraints = [
            known("reason", WhyNot, "not_placed_reason_known"),
            models.UniqueConstraint(fields=["task"], name="not_placed_once"),
        ]

    def __str__(self) -> str:
        return f"{self.task_id} {self.reason}"


class DayQuestion(UUIDModel):
    """A visit that stands on a day which the plan would not choose; the office decides."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="day_questions")
    visit_id = models.UUIDField()
    on = models.DateField()
    reason = models.CharField(max_length=16, choices=WhyAsked)
    instead = models.DateField(null=True, blank=True)

    scope: ClassVar[Scope] = BY_PLACE

    class Meta:
        constraints = [
            known("reason", WhyAsked, "day_question_reason_known"),
            models.UniqueConstraint(fields=["visit_id"], name="day_question_once"),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.reason}"
