"""Report, ReportVersion, Release; Letter, Notice, DeliveryStep, BlockedAddress, ReturnedMail, MailServer."""

from typing import ClassVar

from django.db import models
from django.db.models import Q

from apps.clients.choices import Units
from apps.clients.models import Contact
from apps.core.constraints import known, positive
from apps.core.models import UUIDModel
from apps.core.scoping import Scope, ScopedQuerySet
from apps.reports.choices import TROUBLED, Channel, Delivery, LetterKind, ReportKind, WhyBlocked
from apps.systems.models import System
from apps.visits.models import Visit


class Report(UUIDModel):
    """The account of a visit for one system; what it says stands in its versions."""

    kind = models.CharField(max_length=10, choices=ReportKind, default=ReportKind.VISIT)
    number = models.PositiveIntegerField(unique=True)
    system = models.ForeignKey(System, on_delete=models.PROTECT, related_name="reports")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="reports"
    )
    period_from = models.DateField(null=True, blank=True)
    period_to = models.DateField(null=True, blank=True)
    correction_due = models.BooleanField(default=False)
    # the office's words to the client, and photos that it holds back, by id
    note = models.TextField(max_length=2000, blank=True)
    held_back = models.JSONField(default=list, blank=True)
    made_at = models.DateTimeField()

    scope: ClassVar[Scope] = Scope(
        client="system__place__client_id",
        visits="system__place__visits",
        client_extra=(("versions__release__isnull", False),),
    )

    class Meta:
        constraints = [
            known("kind", ReportKind, "report_kind_known"),
            models.CheckConstraint(
                name="report_has_subject",
                condition=Q(visit__isnull=False)
                | Q(period_from__isnull=False, period_to__isnull=False),
            ),
            models.UniqueConstraint(fields=["visit", "system"], name="report_once_a_sheet"),
        ]

    def __str__(self) -> str:
        return f"{self.number:04d}"


class ReportVersion(UUIDModel):
    """What was said, inserted when its PDF exists; never changed."""

    report = models.ForeignKey(Report, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    snapshot = models.JSONField()
    template = models.CharField(max_length=20)
    language = models.CharField(max_length=10)
    pdf = models.CharField(max_length=160)
    pdf_size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    reason = models.CharField(max_length=400, blank=True)
    # what could not be drawn and has a placeholder: photos and faces, as {code, what}
    lacks = models.JSONField(default=list, blank=True)
    made_by = models.CharField(max_length=160, blank=True)
    made_at = models.DateTimeField()

    scope: ClassVar[Scope] = Scope(
        client="report__system__place__client_id",
        visits="report__system__place__visits",
        client_extra=(("release__isnull", False),),
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["report", "number"], name="version_numbers"),
            positive("number", "version_from_one"),
            models.CheckConstraint(name="version_has_pdf", condition=~Q(pdf="")),
        ]
        ordering = ["number"]

    def __str__(self) -> str:
        return f"version {self.number}"


class ReportCopy(UUIDModel):
    """A version's paper in another reader's language and units; drawn once, never changed."""

    version = models.ForeignKey(ReportVersion, on_delete=models.PROTECT, related_name="copies")
    language = models.CharField(max_length=10)
    units = models.CharField(max_length=8, choices=Units)
    pdf = models.CharField(max_length=160)
    pdf_size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    scope: ClassVar[Scope] = Scope(
        client="version__report__system__place__client_id",
        visits="version__report__system__place__visits",
        client_extra=(("version__release__isnull", False),),
    )

    class Meta:
        constraints = [
            known("units", Units, "copy_units_known"),
            models.UniqueConstraint(fields=["version", "language", "units"], name="copy_once"),
            models.CheckConstraint(name="copy_has_pdf", condition=~Q(pdf="")),
        ]

    def __str__(self) -> str:
        return f"{self.version_id} {self.language}"


class Release(UUIDModel):
    """That a version may be read by the client, since when and by whom."""

    version = models.OneToOneField(ReportVersion, on_delete=models.PROTECT, related_name="release")
    at = models.DateTimeField()
    by = models.CharField(max_length=160)

    scope: ClassVar[Scope] = Scope(
        client="version__report__system__place__client_id",
        visits="version__report__system__place__visits",
    )

    def __str__(self) -> str:
        return f"{self.version_id} {self.at}"


class Letter(UUIDModel):
    """One mail or text to one contact about one thing; its key makes a second one impossible."""

    kind = models.CharField(max_length=12, choices=LetterKind)
    key = models.CharField(max_length=200, unique=True)
    contact = models.ForeignKey(
        Contact, on_delete=models.PROTECT, null=True, blank=True, related_name="letters"
    )
    channel = models.CharField(max_length=4, choices=Channel, default=Channel.MAIL)
    # of a mailbox; of a text message, the number by E.164
    address = models.CharField(max_length=254)
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="letters"
    )
    parameters = models.JSONField(default=dict, blank=True)
    message_id = models.CharField(max_length=200, unique=True)
    subject_line = models.CharField(max_length=300, blank=True)
    state = models.CharField(max_length=8, choices=Delivery, default=Delivery.QUEUED)
    tries = models.PositiveSmallIntegerField(default=0)
    # it answers what its reader has just done, or the office has said so: no quiet hours
    at_once = models.BooleanField(default=False)
    # it waits for the end of its reader's quiet hours
    not_before = models.DateTimeField(null=True, blank=True)
    # the key of the job that sends it
    job = models.CharField(max_length=200, blank=True, default="")
    # since when this run of tries lasts, and when the next one is
    tried_from = models.DateTimeField(null=True, blank=True)
    next_try = models.DateTimeField(null=True, blank=True)
    # its sender has it and has not begun to hand it over: whoever stops now has sent nothing
    preparing = models.BooleanField(default=False)
    lease_until = models.DateTimeField(null=True, blank=True)
    last_error = models.TextField(blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField()

    scope: ClassVar[Scope] = Scope(client="contact__client_id", visits="visit")

    class Meta:
        constraints = [
            known("kind", LetterKind, "letter_kind_known"),
            known("state", Delivery, "letter_state_known"),
            known("channel", Channel, "letter_channel_known"),
        ]
        indexes = [models.Index(fields=["state", "made_at"], name="letter_state")]
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return f"{self.kind} to {self.address}"

    @property
    def is_troubled(self) -> bool:
        """True where the office has to look at it."""
        return self.state in TROUBLED


class Notice(UUIDModel):
    """One thing that a contact was told of, once: by a letter of its own or with others in one."""

    contact = models.ForeignKey(Contact, on_delete=models.CASCADE, related_name="notices")
    key = models.CharField(max_length=160)
    letter = models.ForeignKey(Letter, on_delete=models.CASCADE, related_name="notices")
    at = models.DateTimeField()

    scope: ClassVar[Scope] = Scope(client="contact__client_id")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["contact", "key"], name="notice_once")]

    def __str__(self) -> str:
        return self.key


class MailServer(models.Model):
    """How the mail server answers: one row. While it is away nothing is tried until a time.

    `mailbox_*`: how the reading of returned mail fares.
    """

    failures = models.PositiveIntegerField(default=0)
    away_since = models.DateTimeField(null=True, blank=True)
    paused_until = models.DateTimeField(null=True, blank=True)
    last_error = models.TextField(blank=True)
    mailbox_read_at = models.DateTimeField(null=True, blank=True)
    mailbox_failing_since = models.DateTimeField(null=True, blank=True)
    mailbox_error = models.TextField(blank=True, default="")

    scope: ClassVar[Scope] = Scope()
    objects = ScopedQuerySet.as_manager()

    class Meta:
        constraints = [models.CheckConstraint(name="mail_server_one_row", condition=Q(id=1))]

    def __str__(self) -> str:
        return f"{self.failures} since {self.away_since}"


class BlockedAddress(UUIDModel):
    """An address that gets no letters: its mail came back for good, or its reader called it spam.

    In lower case. `seen_at`: the office knows, and leaves it so.
    """

    address = models.CharField(max_length=254, unique=True)
    why = models.CharField(max_length=10, choices=WhyBlocked)
    words = models.CharField(max_length=400, blank=True)
    since = models.DateTimeField()
    letter = models.ForeignKey(
        Letter, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    seen_at = models.DateTimeField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope()

    class Meta:
        constraints = [known("why", WhyBlocked, "blocked_why_known")]
        ordering = ["-since"]

    def __str__(self) -> str:
        return f"{self.why} since {self.since:%Y-%m-%d}"


class ReturnedMail(models.Model):
    """A mail of the mailbox of returned mail that was read; `meant`: it was about a letter of ours."""

    mark = models.CharField(max_length=120, unique=True)
    at = models.DateTimeField()
    meant = models.BooleanField(default=False)

    scope: ClassVar[Scope] = Scope()
    objects = ScopedQuerySet.as_manager()

    def __str__(self) -> str:
        return self.mark


class DeliveryStep(models.Model):
    """What happened to a letter; append-only."""

    letter = models.ForeignKey(Letter, on_delete=models.CASCADE, related_name="steps")
    at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=Delivery)
    words = models.TextField(blank=True)
    by = models.CharField(max_length=160, blank=True)

    scope: ClassVar[Scope] = Scope(client="letter__contact__client_id", visits="letter__visit")
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.at} {self.state}"
