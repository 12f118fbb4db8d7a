"""A visit and its sheets, answers, readings, findings and photos; the phones they come from."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from apps.accounts.models import User
from apps.care.models import CareTask
from apps.clients.models import Client, Place
from apps.core.constraints import known, ordered, positive
from apps.core.models import Picture, UUIDModel
from apps.core.scoping import Scope, ScopedQuerySet
from apps.systems.models import Component, Loop, System
from apps.visits.choices import Answer, Outcome, Remark, State, TakenBy, Way, When, Word

BY_VISIT = Scope(client="visit__place__client_id", visits="visit")
BY_SHEET = Scope(visits="sheet__visit")


class Visit(UUIDModel):
    """One appointment at one place, for one or more of its systems."""

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="visits")
    state = models.CharField(max_length=12, choices=State, default=State.PENCILLED)
    start = models.DateTimeField()
    end = models.DateTimeField()
    reason = models.CharField(max_length=400, blank=True)
    technicians = models.ManyToManyField(User, through="Assignment", related_name="visits")
    client_answer = models.CharField(max_length=12, choices=Answer, default=Answer.NOT_ASKED)
    client_words = models.CharField(max_length=1000, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    # when a client who wants no question was told
    told_at = models.DateTimeField(null=True, blank=True)
    appointment_sequence = models.PositiveIntegerField(default=0)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    written_up_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField()
    rev = models.PositiveIntegerField(default=1)

    scope: ClassVar[Scope] = Scope(client="place__client_id", visits="")

    class Meta:
        constraints = [
            known("state", State, "visit_state_known"),
            known("client_answer", Answer, "visit_answer_known"),
            ordered("start", "end", "visit_times"),
            ordered("started_at", "finished_at", "visit_worked", strict=False),
        ]
        indexes = [
            models.Index(fields=["start"], name="visit_start"),
            models.Index(fields=["state", "start"], name="visit_state"),
        ]

    def __str__(self) -> str:
        return f"{self.start:%Y-%m-%d %H:%M} {self.state}"

    @property
    def is_told(self) -> bool:
        """Whether the client was told, wants no question, and has not said anything."""
        return self.told_at is not None and self.client_answer == Answer.NOT_ASKED

    @property
    def answer_words(self) -> str:
        """What the client said, or that they were told."""
        return gettext("told") if self.is_told else str(Answer(self.client_answer).label)


class Assignment(UUIDModel):
    """A technician on a visit, with the time that it holds of their day."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="assignments")
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="assignments")
    start = models.DateTimeField()
    end = models.DateTimeField()
    holds = models.BooleanField(default=True)

    scope: ClassVar[Scope] = Scope(visits="visit", own="user_id")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "user"], name="assigned_once"),
            ordered("start", "end", "assignment_times"),
        ]
        indexes = [
            models.Index(fields=["user", "start"], name="assignment_day", condition=Q(holds=True))
        ]

    def __str__(self) -> str:
        return f"{self.user_id} {self.start:%Y-%m-%d %H:%M}"


class VisitStep(models.Model):
    """One change of state; append-only."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="steps")
    number = models.PositiveIntegerField()
    from_state = models.CharField(max_length=12, blank=True)
    to_state = models.CharField(max_length=12, choices=State)
    at = models.DateTimeField()
    by = models.CharField(max_length=160)
    reason = models.CharField(max_length=400, blank=True)

    scope: ClassVar[Scope] = Scope(visits="visit")
    objects = ScopedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "number"], name="step_numbers"),
            known("to_state", State, "step_state_known"),
        ]
        ordering = ["number"]

    def __str__(self) -> str:
        return f"{self.from_state} > {self.to_state}"


class Sheet(UUIDModel):
    """A visit's part for one system."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="sheets")
    system = models.ForeignKey(System, on_delete=models.PROTECT, related_name="sheets")

    scope: ClassVar[Scope] = BY_VISIT

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "system"], name="sheet_once_a_system")
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.system_id}"


class Line(UUIDModel):
    """One line of a sheet's checklist, in working order; its answer comes from the values."""

    sheet = models.ForeignKey(Sheet, on_delete=models.CASCADE, related_name="lines")
    task = models.ForeignKey(
        CareTask, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    code = models.CharField(max_length=60)
    position = models.PositiveIntegerField()
    minutes_planned = models.PositiveSmallIntegerField(default=0)
    outcome = models.CharField(max_length=8, choices=Outcome, blank=True)
    reason = models.CharField(max_length=40, blank=True)
    minutes = models.FloatField(null=True, blank=True)
    note = models.TextField(blank=True, max_length=4000)

    scope: ClassVar[Scope] = BY_SHEET

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="line_outcome_known", condition=Q(outcome__in=["", *Outcome.values])
            ),
            models.CheckConstraint(
                name="line_not_done_has_reason",
                condition=~Q(outcome="not_done") | ~Q(reason=""),
                violation_error_message=_("a line that was not done needs a reason"),
            ),
            positive("minutes", "line_minutes", zero=True),
        ]
        ordering = ["position"]

    def __str__(self) -> str:
        return self.code


class Value(UUIDModel):
    """One answer on a sheet: where it belongs, what it is, how often it changed."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="values")
    sheet = models.ForeignKey(
        Sheet, on_delete=models.CASCADE, null=True, blank=True, related_name="values"
    )
    path = models.CharField(max_length=200)
    value = models.JSONField(null=True, blank=True)
    rev = models.PositiveIntegerField(default=1)
    op_id = models.UUIDField()

    scope: ClassVar[Scope] = Scope(visits="visit")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["sheet", "path"],
                name="value_once_a_sheet",
                condition=Q(sheet__isnull=False),
            ),
            models.UniqueConstraint(
                fields=["visit", "path"],
                name="value_once_a_visit",
                condition=Q(sheet__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.path} = {self.value}"


class Operation(models.Model):
    """One attempt to give an answer, kept whatever came of it; append-only."""

    id = models.UUIDField(primary_key=True)
    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="operations")
    sheet_id = models.UUIDField(null=True, blank=True)
    path = models.CharField(max_length=200)
    value = models.JSONField(null=True, blank=True)
    base_rev = models.PositiveIntegerField(null=True, blank=True)
    device = models.CharField(max_length=60, blank=True)
    seq = models.PositiveBigIntegerField(null=True, blank=True)
    at = models.DateTimeField()
    received_at = models.DateTimeField()
    by = models.CharField(max_length=160)
    outcome = models.CharField(max_length=10)

    scope: ClassVar[Scope] = Scope(visits="visit")
    objects = ScopedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["device", "seq"], name="operation_seq_once", condition=Q(seq__isnull=False)
            )
        ]

    def __str__(self) -> str:
        return f"{self.path} {self.outcome}"


class Reading(UUIDModel):
    """One value of one measurand in one loop at one time, in the measurand's base unit.

    Append-only: a correction is a new row that names the old one.
    """

    loop = models.ForeignKey(Loop, on_delete=models.PROTECT, related_name="readings")
    sheet = models.ForeignKey(
        Sheet, on_delete=models.PROTECT, null=True, blank=True, related_name="readings"
    )
    measurand = models.CharField(max_length=40)
    value = models.FloatField()
    unit = models.CharField(max_length=20, blank=True)
    typed = models.CharField(max_length=40, blank=True)
    typed_unit = models.CharField(max_length=20, blank=True)
    basis = models.CharField(max_length=4, blank=True)
    when = models.CharField(max_length=6, choices=When, default=When.BEFORE)
    method = models.CharField(max_length=80, blank=True)
    instrument = models.CharField(max_length=80, blank=True)
    taken_at = models.DateTimeField()
    received_at = models.DateTimeField()
    taken_by = models.CharField(max_length=12, choices=TakenBy, default=TakenBy.TECHNICIAN)
    by = models.CharField(max_length=160, blank=True)
    checked_twice = models.BooleanField(default=False)
    trusted = models.BooleanField(default=True)
    doubts = models.JSONField(default=list, blank=True)
    word = models.CharField(max_length=16, choices=Word)
    band = models.JSONField(default=dict, blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    correction_reason = models.CharField(max_length=400, blank=True)

    scope: ClassVar[Scope] = Scope(
        client="loop__system__place__client_id", visits="loop__system__place__visits"
    )

    class Meta:
        constraints = [
            known("when", When, "reading_when_known"),
            known("taken_by", TakenBy, "reading_by_known"),
            known("word", Word, "reading_word_known"),
            models.CheckConstraint(
                name="reading_basis_known", condition=Q(basis__in=["", "n", "ion"])
            ),
            models.CheckConstraint(
                name="reading_correction_reason",
                condition=Q(corrects__isnull=True) | ~Q(correction_reason=""),
            ),
        ]
        indexes = [models.Index(fields=["loop", "measurand", "taken_at"], name="reading_history")]

    def __str__(self) -> str:
        return f"{self.measurand} {self.value}"


class ReadingPhoto(Picture):
    """A photo of what a figure was read from: the test tube, the meter's display."""

    reading = models.OneToOneField(Reading, on_delete=models.PROTECT, related_name="photo")

    scope: ClassVar[Scope] = Scope(
        client="reading__loop__system__place__client_id",
        visits="reading__loop__system__place__visits",
    )

    def __str__(self) -> str:
        return str(self.reading_id)


class Finding(UUIDModel):
    """Something seen: a sign of the catalogue or free words; append-only."""

    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="findings")
    sign = models.CharField(max_length=60, blank=True)
    text = models.TextField(blank=True, max_length=4000)
    component = models.ForeignKey(
        Component, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    photo_ids = models.JSONField(default=list, blank=True)
    seen_at = models.DateTimeField()
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    correction_reason = models.CharField(max_length=400, blank=True)

    scope: ClassVar[Scope] = BY_SHEET

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="finding_says_something", condition=~Q(sign="") | ~Q(text="")
            )
        ]

    def __str__(self) -> str:
        return self.sign or self.text[:40]


class Photo(Picture):
    """A photo that a visit's sheet brought."""

    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="photos")
    caption = models.CharField(max_length=200, blank=True)
    taken_at = models.DateTimeField()
    by = models.CharField(max_length=160)

    scope: ClassVar[Scope] = Scope(client="sheet__visit__place__client_id", visits="sheet__visit")

    def __str__(self) -> str:
        return self.caption or str(self.pk)


class CallNote(UUIDModel):
    """A call, a message or a talk with a client, noted by hand."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="calls")
    system = models.ForeignKey(
        System, on_delete=models.SET_NULL, null=True, blank=True, related_name="calls"
    )
    at = models.DateTimeField()
    by = models.CharField(max_length=160)
    way = models.CharField(max_length=8, choices=Way, default=Way.CALL)
    text = models.TextField(max_length=4000)

    scope: ClassVar[Scope] = Scope()

    class Meta:
        constraints = [known("way", Way, "call_way_known")]

    def __str__(self) -> str:
        return self.text[:40]


class Phone(UUIDModel):
    """A technician's phone by the key that it made itself, with what it last said of itself."""

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="phones")
    first_at = models.DateTimeField()
    last_at = models.DateTimeField()
    version = models.CharField(max_length=40, blank=True)
    pending_ops = models.PositiveIntegerField(default=0)
    pending_photos = models.PositiveIntegerField(default=0)
    oldest_at = models.DateTimeField(null=True, blank=True)
    last_seq = models.PositiveBigIntegerField(default=0)
    persisted = models.BooleanField(default=False)
    standalone = models.BooleanField(default=False)
    clock_off_s = models.IntegerField(default=0)
    cut_off_at = models.DateTimeField(null=True, blank=True)
    cut_off_by = models.CharField(max_length=160, blank=True)

    scope: ClassVar[Scope] = Scope(own="user_id")

    class Meta:
        ordering = ["-last_at"]

    def __str__(self) -> str:
        return f"{self.user} {str(self.pk)[:8]}"


class RefusedOperation(UUIDModel):
    """An operation of a phone that could not be taken, whole as it came; append-only."""

    operation = models.CharField(max_length=60)
    device = models.CharField(max_length=60)
    seq = models.PositiveBigIntegerField(null=True, blank=True)
    payload = models.JSONField()
    why = models.JSONField()
    received_at = models.DateTimeField()
    by = models.CharField(max_length=160)

    scope: ClassVar[Scope] = Scope()

    class Meta:
        ordering = ["-received_at"]
        indexes = [models.Index(fields=["device", "operation"], name="refused_operation")]

    def __str__(self) -> str:
        return f"{self.operation} {self.received_at:%Y-%m-%d %H:%M}"


class CheckIn(UUIDModel):
    """A time by which somebody who works alone says that all is well."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="check_ins")
    by = models.CharField(max_length=160)
    fine_by = models.DateTimeField()
    fine_at = models.DateTimeField(null=True, blank=True)
    told_at = models.DateTimeField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(visits="visit")

    class Meta:
        indexes = [
            models.Index(
                fields=["fine_by"], name="check_in_waits", condition=Q(fine_at__isnull=True)
            )
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} by {self.fine_by:%H:%M}"


class PhoneRemark(UUIDModel):
    """What a phone brought that a person of the office should look at, until somebody has."""

    kind = models.CharField(max_length=8, choices=Remark)
    device = models.CharField(max_length=60)
    visit = models.ForeignKey(
        Visit, on_delete=models.CASCADE, null=True, blank=True, related_name="phone_remarks"
    )
    refused = models.OneToOneField(
        RefusedOperation, on_delete=models.PROTECT, null=True, blank=True, related_name="remark"
    )
    operation = models.OneToOneField(
        Operation, on_delete=models.PROTECT, null=True, blank=True, related_name="remark"
    )
    says = models.JSONField(default=list, blank=True)
    made_at = models.DateTimeField()
    seen_at = models.DateTimeField(null=True, blank=True)
    seen_by = models.CharField(max_length=160, blank=True)

    scope: ClassVar[Scope] = Scope()

    class Meta:
        constraints = [known("kind", Remark, "phone_remark_kind_known")]
        indexes = [
            models.Index(
                fields=["made_at"], name="phone_remark_waits", condition=Q(seen_at__isnull=True)
            )
        ]
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return f"{self.kind} {self.made_at:%Y-%m-%d %H:%M}"
