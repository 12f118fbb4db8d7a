"""Firm, users, tokens, links, keys, audit."""

import datetime as dt
import uuid
from typing import ClassVar

from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models
from django.db.models import Q

from apps.accounts.choices import Paper, Purpose, Role
from apps.core.constraints import known, ordered
from apps.core.models import UUIDModel
from apps.core.scoping import Scope, ScopedQuerySet


class Firm(models.Model):
    """The business that this installation belongs to: one row."""

    name = models.CharField(max_length=120)
    street = models.CharField(max_length=160, blank=True)
    town = models.CharField(max_length=80, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    emergency_phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField()
    currency = models.CharField(max_length=3, default="EUR")
    time_zone = models.CharField(max_length=64, default="UTC")
    language = models.CharField(max_length=10, default="en")
    # ISO 3166-1 and the part after the hyphen of ISO 3166-2; without a country no holidays
    country = models.CharField(max_length=2, blank=True)
    subdivision = models.CharField(max_length=6, blank=True)
    release_automatically = models.BooleanField(default=False)
    attach_limit_mb = models.PositiveSmallIntegerField(default=4)
    reminder_hours = models.PositiveSmallIntegerField(default=24)
    day_start = models.TimeField(default="08:00")
    day_end = models.TimeField(default="18:00")
    # letters that nobody waits for wait then; both the same: never. Common practice
    quiet_from = models.TimeField(default=dt.time(20))
    quiet_until = models.TimeField(default=dt.time(7, 30))
    # after so many days without a word from a client they are asked how it goes; 0: never.
    # Common practice
    quiet_client_days = models.PositiveSmallIntegerField(default=60)
    # so many days before an agreement ends its client is written to; 0: the office does it
    renewal_days = models.PositiveSmallIntegerField(default=0)
    # so many days before the feed at a place is used up it stands on Due; 0: never. Common practice.
    # `low_stock_letters`: the client is written to by itself then
    low_stock_days = models.PositiveSmallIntegerField(default=14)
    low_stock_letters = models.BooleanField(default=False)
    # what reports and days are printed on
    paper = models.CharField(max_length=6, choices=Paper, default=Paper.A4)

    scope: ClassVar[Scope] = Scope(staff=True, anyone=True)
    objects = ScopedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(name="firm_one_row", condition=Q(id=1)),
            models.CheckConstraint(
                name="firm_part_of_a_country", condition=Q(subdivision="") | ~Q(country="")
            ),
            known("paper", Paper, "firm_paper_known"),
        ]

    def __str__(self) -> str:
        return self.name


class Closure(UUIDModel):
    """Days on which the firm is closed, or `works` although they are holidays; both ends count."""

    first = models.DateField()
    last = models.DateField()
    name = models.CharField(max_length=80)
    works = models.BooleanField(default=False)

    scope: ClassVar[Scope] = Scope(staff=True)

    class Meta:
        constraints = [ordered("first", "last", "closure_in_order", strict=False)]
        indexes = [models.Index(fields=["last"], name="closure_last")]

    def __str__(self) -> str:
        return f"{self.name} {self.first}..{self.last}"


class ScopedUserManager(UserManager.from_queryset(ScopedQuerySet)):  # type: ignore[misc]
    """Users, narrowed to what an actor may see."""


class User(AbstractUser):
    """A member of the staff."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    role = models.CharField(max_length=12, choices=Role, default=Role.TECHNICIAN)
    phone = models.CharField(max_length=40, blank=True)
    area = models.CharField(max_length=60, blank=True)

    scope: ClassVar[Scope] = Scope(own="id")
    objects: ClassVar[ScopedUserManager] = ScopedUserManager()

    class Meta:
        constraints = [known("role", Role, "user_role_known")]
        indexes = [models.Index(fields=["role"], name="user_role")]

    def __str__(self) -> str:
        return self.get_full_name() or self.username


class AccessToken(models.Model):
    """A key for the API; only its hash is kept. `phone`: the mark of the one that it works on."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="tokens")
    name = models.CharField(max_length=60)
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    phone = models.UUIDField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(own="user_id")
    objects = ScopedQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.name} of {self.user_id}"


class StaffSession(models.Model):
    """A signed-in browser, so that its owner can see and end it."""

    session_key = models.CharField(max_length=40, primary_key=True)
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="staff_sessions")
    began_at = models.DateTimeField()
    browser = models.CharField(max_length=200, blank=True)
    address = models.CharField(max_length=45, blank=True)

    scope: ClassVar[Scope] = Scope(own="user_id")
    objects = ScopedQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.user_id} since {self.began_at}"


class SignInCount(models.Model):
    """Failed sign-ins in one window, counted by one atomic statement."""

    bucket = models.CharField(max_length=120, primary_key=True)
    count = models.PositiveIntegerField(default=0)
    ends_at = models.DateTimeField()

    scope: ClassVar[Scope] = Scope()
    objects = ScopedQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.bucket}: {self.count}"


class ClientLink(UUIDModel):
    """A link that opens a client's page; the hash is kept, the link is shown once."""

    client_id = models.UUIDField(db_index=True)
    contact_id = models.UUIDField(null=True, blank=True)
    purpose = models.CharField(max_length=12, choices=Purpose)
    subject_id = models.UUIDField(null=True, blank=True)
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    opened_at = models.DateTimeField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope()

    class Meta:
        constraints = [known("purpose", Purpose, "link_purpose_known")]

    def __str__(self) -> str:
        return f"{self.purpose} of {self.client_id}"


class CalendarFeed(UUIDModel):
    """A calendar that whoever holds its secret address reads; the hash is kept, shown once.

    Of a member of the staff, or of a client or one contact there. `reads` counts at most one in
    ten minutes; `content`: the hash of what it said last, and since when it has said so.
    """

    user = models.ForeignKey(
        User, on_delete=models.CASCADE, null=True, blank=True, related_name="calendar_feeds"
    )
    client_id = models.UUIDField(null=True, blank=True, db_index=True)
    contact_id = models.UUIDField(null=True, blank=True)
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    read_at = models.DateTimeField(null=True, blank=True)
    reads = models.PositiveIntegerField(default=0)
    content = models.CharField(max_length=64, blank=True)
    content_at = models.DateTimeField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(client="client_id", own="user_id")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="feed_has_one_owner",
                condition=Q(user__isnull=False, client_id__isnull=True, contact_id__isnull=True)
                | Q(user__isnull=True, client_id__isnull=False),
            )
        ]

    def __str__(self) -> str:
        return f"calendar of {self.user_id or self.client_id}"


class IdempotencyKey(models.Model):
    """The answer that a request with this key got, kept for 30 days."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=200)
    fingerprint = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(null=True, blank=True)
    body = models.JSONField(null=True, blank=True)
    made_at = models.DateTimeField()

    scope: ClassVar[Scope] = Scope(own="user_id")
    objects = ScopedQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "key"], name="key_once_a_user")]
        indexes = [models.Index(fields=["made_at"], name="key_age")]

    def __str__(self) -> str:
        return self.key


class AuditEntry(models.Model):
    """Who did what to which row, when; append-only."""

    at = models.DateTimeField()
    actor = models.CharField(max_length=160)
    verb = models.CharField(max_length=60)
    kind = models.CharField(max_length=60)
    object_id = models.CharField(max_length=60)
    change = models.JSONField(default=dict, blank=True)

    scope: ClassVar[Scope] = Scope()
    objects = ScopedQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["kind", "object_id"], name="audit_of_row")]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.verb} {self.kind}"
