"""Who works when and from where, how the firm plans, plans of rounds, and times that are offered."""

import datetime as dt
from decimal import Decimal
from typing import ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from apps.accounts.models import User
from apps.clients.choices import Weekday
from apps.core.constraints import known, on_earth, ordered, positive
from apps.core.models import UUIDModel
from apps.core.scoping import Scope, ScopedQuerySet
from apps.rounds.choices import OfferState, Part, PlanState, StartsFrom, TimeState, WhyFailed
from apps.visits.models import Visit

MOST_DAYS = 31
LATITUDE = [MinValueValidator(-90), MaxValueValidator(90)]
LONGITUDE = [MinValueValidator(-180), MaxValueValidator(180)]


def _is_code(code: object) -> bool:
    return isinstance(code, str) and 0 < len(code) <= 40 and code.strip() == code


class Crew(UUIDModel):
    """What a technician brings along: skills, where the day begins, and how long it may become."""

    user = models.OneToOneField(User, on_delete=models.CASCADE, related_name="crew")
    skills = models.JSONField(default=list, blank=True)
    latitude = models.FloatField(null=True, blank=True, validators=LATITUDE)
    longitude = models.FloatField(null=True, blank=True, validators=LONGITUDE)
    starts_from = models.CharField(max_length=4, choices=StartsFrom, default=StartsFrom.BASE)
    overtime_minutes = models.PositiveSmallIntegerField(default=0)
    # of an hour's cost, what an hour of overtime costs more
    overtime_share = models.DecimalField(max_digits=4, decimal_places=2, default=Decimal("0.50"))

    scope: ClassVar[Scope] = Scope(own="user_id")

    class Meta:
        constraints = [
            known("starts_from", StartsFrom, "crew_starts_from_known"),
            on_earth("latitude", "longitude", "crew_on_earth"),
            positive("overtime_share", "crew_overtime_share", zero=True),
            models.CheckConstraint(
                name="crew_overtime_minutes",
                condition=Q(overtime_minutes__lte=240),
                violation_error_message=_("overtime: at most 240 minutes a day"),
            ),
        ]

    def __str__(self) -> str:
        return str(self.user)

    def clean(self) -> None:
        """Refuse skills that are no list of codes."""
        codes = self.skills
        if not isinstance(codes, list) or not all(_is_code(code) for code in codes):
            raise ValidationError(
                {"skills": _("skills: give a list of words, each of at most 40 characters")}
            )


class WorkingHours(UUIDModel):
    """When a technician works on a day of the week; somebody without any row works the firm's day."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="working_hours")
    weekday = models.PositiveSmallIntegerField(choices=Weekday)
    starts = models.TimeField()
    ends = models.TimeField()
    lunch_minutes = models.PositiveSmallIntegerField(default=30)
    lunch_from = models.TimeField(default=dt.time(11, 30))
    lunch_until = models.TimeField(default=dt.time(14, 0))
    # where they are on this weekday anyway; empty: anywhere
    area = models.CharField(max_length=60, blank=True)

    scope: ClassVar[Scope] = Scope(own="user_id")

    class Meta:
        constraints = [
            ordered("starts", "ends", "working_hours_in_order"),
            ordered("lunch_from", "lunch_until", "lunch_in_order"),
            models.CheckConstraint(name="working_weekday", condition=Q(weekday__range=(1, 7))),
            models.UniqueConstraint(fields=["user", "weekday"], name="working_hours_once"),
        ]
        ordering = ["weekday"]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.starts:%H:%M}-{self.ends:%H:%M}"


class Absence(UUIDModel):
    """Days, or a part of each of them, on which a technician does not work."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="absences")
    first = models.DateField()
    last = models.DateField()
    part = models.CharField(max_length=9, choices=Part, default=Part.WHOLE)
    reason = models.CharField(max_length=200, blank=True)

    scope: ClassVar[Scope] = Scope(own="user_id")

    class Meta:
        constraints = [
            known("part", Part, "absence_part_known"),
            ordered("first", "last", "absence_in_order", strict=False),
        ]
        indexes = [models.Index(fields=["last"], name="absence_last")]

    def __str__(self) -> str:
        return f"{self.user_id} {self.first} - {self.last}"


class PlanningSettings(models.Model):
    """How the firm plans: one row; before it is saved these defaults hold.

    Money is the firm's currency. The speeds hold for the first 3 km, up to 15 km, and beyond; they
    and the detour are common practice, to be fitted to the firm's own trips.
    """

    base_latitude = models.FloatField(null=True, blank=True, validators=LATITUDE)
    base_longitude = models.FloatField(null=True, blank=True, validators=LONGITUDE)
    per_km = models.DecimalField(max_digits=6, decimal_places=3, default=Decimal("0.40"))
    per_hour = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal("36.00"))
    sending_out = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal("20.00"))
    keeping_a_day = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal("5.00"))
    # what a visit is worth more on a day on which somebody is in its area
    area_day = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal("5.00"))
    # and what it is worth more that it is they who come
    area_technician = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal("3.00"))
    detour = models.FloatField(default=1.3, validators=[MinValueValidator(1), MaxValueValidator(5)])
    town_kmh = models.PositiveSmallIntegerField(default=25)
    near_kmh = models.PositiveSmallIntegerField(default=40)
    far_kmh = models.PositiveSmallIntegerField(default=70)
    parking_minutes = models.PositiveSmallIntegerField(default=2)
    days_ahead = models.PositiveSmallIntegerField(default=10)
    frozen_days = models.PositiveSmallIntegerField(default=2)
    # a client who was written to so often about one visit is not moved again by a plan
    most_letters = models.PositiveSmallIntegerField(default=3)

    scope: ClassVar[Scope] = Scope()
    objects = ScopedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(name="planning_one_row", condition=Q(id=1)),
            on_earth("base_latitude", "base_longitude", "base_on_earth"),
            positive("per_km", "planning_per_km", zero=True),
            positive("per_hour", "planning_per_hour", zero=True),
            positive("sending_out", "planning_sending_out", zero=True),
            positive("keeping_a_day", "planning_keeping_a_day", zero=True),
            positive("area_day", "planning_area_day", zero=True),
            positive("area_technician", "planning_area_technician", zero=True),
            models.CheckConstraint(name="planning_detour", condition=Q(detour__range=(1, 5))),
            models.CheckConstraint(
                name="planning_speeds",
                condition=Q(town_kmh__range=(1, 150), near_kmh__range=(1, 150))
                & Q(far_kmh__range=(1, 150)),
                violation_error_message=_("speeds must lie from 1 to 150 km/h"),
            ),
            models.CheckConstraint(name="planning_parking", condition=Q(parking_minutes__lte=60)),
            models.CheckConstraint(
                name="planning_days",
                condition=Q(days_ahead__range=(1, MOST_DAYS), frozen_days__lte=MOST_DAYS),
                violation_error_message=_("plan from 1 to 31 days ahead"),
            ),
        ]
        verbose_name_plural = "planning settings"

    def __str__(self) -> str:
        return "planning settings"


class RoundPlan(UUIDModel):
    """One plan of rounds from a day on: being made, ready, accepted or dropped.

    `problem` is what it was made from, `work` what each of its stops is, `plan` the rounds, each as
    `codec` writes them; `basis` tells whether visits and hours of its days, but for those `frozen`
    when it was made, are still those it was made from. It is ready only with its judge's pass.
    """

    first = models.DateField()
    days = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=8, choices=PlanState, default=PlanState.WORKING)
    seed = models.PositiveIntegerField(default=1)
    seconds = models.FloatField(null=True, blank=True)
    iterations = models.PositiveIntegerField(null=True, blank=True)
    share = models.FloatField(default=0)
    best = models.BigIntegerField(null=True, blank=True)
    problem = models.JSONField(null=True, blank=True)
    work = models.JSONField(default=dict, blank=True)
    notes = models.JSONField(default=list, blank=True)
    plan = models.JSONField(null=True, blank=True)
    basis = models.CharField(max_length=64, blank=True)
    frozen = models.JSONField(default=list, blank=True)
    judged_at = models.DateTimeField(null=True, blank=True)
    judge_passed = models.BooleanField(default=False)
    judge_says = models.JSONField(default=list, blank=True)
    revises = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="revisions"
    )
    change = models.JSONField(default=dict, blank=True)
    made_by = models.CharField(max_length=160)
    made_at = models.DateTimeField()
    ended_by = models.CharField(max_length=160, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    failed_code = models.CharField(max_length=10, choices=WhyFailed, blank=True)
    failed_params = models.JSONField(default=dict, blank=True)

    scope: ClassVar[Scope] = Scope()

    class Meta:
        constraints = [
            known("state", PlanState, "plan_state_known"),
            models.CheckConstraint(name="plan_days", condition=Q(days__range=(1, MOST_DAYS))),
            models.CheckConstraint(name="plan_share", condition=Q(share__range=(0, 1))),
            models.CheckConstraint(
                name="plan_effort_once",
                condition=Q(seconds__isnull=False, iterations__isnull=True)
                | Q(seconds__isnull=True, iterations__isnull=False),
            ),
            models.CheckConstraint(
                name="plan_judged",
                condition=~Q(state__in=["ready", "accepted"])
                | Q(judged_at__isnull=False, judge_passed=True, plan__isnull=False)
                & Q(problem__isnull=False)
                & ~Q(basis=""),
                violation_error_message=_("a plan is ready only with its judge's pass"),
            ),
            models.CheckConstraint(
                name="plan_ended",
                condition=~Q(state__in=["accepted", "dropped"]) | Q(ended_at__isnull=False),
            ),
            models.CheckConstraint(
                name="plan_failed_code_known", condition=Q(failed_code__in=["", *WhyFailed.values])
            ),
            models.CheckConstraint(
                name="plan_not_its_own_revision",
                condition=Q(revises__isnull=True) | ~Q(revises=F("id")),
            ),
        ]
        indexes = [models.Index(fields=["-made_at"], name="plan_made")]
        ordering = ["-made_at", "id"]

    def __str__(self) -> str:
        return f"{self.first} +{self.days} {self.state}"

    @property
    def last(self) -> dt.date:
        """The last day that it plans."""
        return self.first + dt.timedelta(days=self.days - 1)


class TimesOffered(UUIDModel):
    """Times for one visit that its client may choose from until a moment.

    While it is open each of its times is held: nobody else is booked or planned into it. `rev`: the
    visit's revision when it ended, so that what the office did since is seen.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="times_offered")
    until = models.DateTimeField()
    state = models.CharField(max_length=10, choices=OfferState, default=OfferState.OPEN)
    words = models.CharField(max_length=1000, blank=True)
    made_by = models.CharField(max_length=160)
    made_at = models.DateTimeField()
    ended_by = models.CharField(max_length=160, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    rev = models.PositiveIntegerField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(client="visit__place__client_id")

    class Meta:
        constraints = [
            known("state", OfferState, "offer_state_known"),
            ordered("made_at", "until", "offer_until_later"),
            models.CheckConstraint(
                name="offer_ended",
                condition=Q(state="open", ended_at__isnull=True, rev__isnull=True)
                | ~Q(state="open") & Q(ended_at__isnull=False, rev__isnull=False),
            ),
            models.UniqueConstraint(
                fields=["visit"], condition=Q(state="open"), name="offer_open_once"
            ),
        ]
        indexes = [models.Index(fields=["state", "until"], name="offer_state")]
        ordering = ["-made_at", "id"]

    def __str__(self) -> str:
        return f"{self.visit_id} until {self.until:%Y-%m-%d %H:%M} {self.state}"


class TimeOffered(UUIDModel):
    """One of the times: when the visit would be, the window that the client reads, what it costs.

    `extra` counts ten-thousandths of the firm's currency, `metres` the driving, both as the rounds
    stood when it was offered.
    """

    offer = models.ForeignKey(TimesOffered, on_delete=models.CASCADE, related_name="times")
    start = models.DateTimeField()
    end = models.DateTimeField()
    told_from = models.DateTimeField()
    told_until = models.DateTimeField()
    extra = models.BigIntegerField()
    metres = models.IntegerField()
    state = models.CharField(max_length=6, choices=TimeState, default=TimeState.HELD)

    scope: ClassVar[Scope] = Scope(client="offer__visit__place__client_id")

    class Meta:
        constraints = [
            known("state", TimeState, "time_state_known"),
            ordered("start", "end", "time_in_order"),
            models.CheckConstraint(
                name="time_within_what_is_told",
                condition=Q(told_from__lte=F("start"), told_until__gte=F("start")),
            ),
            models.UniqueConstraint(fields=["offer", "start"], name="time_offered_once"),
            models.UniqueConstraint(
                fields=["offer"], condition=Q(state="picked"), name="time_picked_once"
            ),
        ]
        ordering = ["start"]

    def __str__(self) -> str:
        return f"{self.start:%Y-%m-%d %H:%M} {self.state}"


class Hold(UUIDModel):
    """The time of one technician that an offered time holds, as an assignment would."""

    time = models.ForeignKey(TimeOffered, on_delete=models.CASCADE, related_name="holds")
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    start = models.DateTimeField()
    end = models.DateTimeField()
    holds = models.BooleanField(default=True)

    scope: ClassVar[Scope] = Scope(own="user_id")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["time", "user"], name="held_once"),
            ordered("start", "end", "hold_in_order"),
        ]
        indexes = [models.Index(fields=["user", "start"], name="hold_day", condition=Q(holds=True))]

    def __str__(self) -> str:
        return f"{self.user_id} {self.start:%Y-%m-%d %H:%M}"

    @property
    def visit(self) -> Visit:
        """The visit that it is held for."""
        return self.time.offer.visit
