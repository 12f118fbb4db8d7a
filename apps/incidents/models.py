"""Incident, IncidentNote, IncidentPhoto, PutOff; WeatherWatch, WeatherAsk."""

from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from apps.clients.models import Contact
from apps.core.constraints import known, ordered
from apps.core.models import Picture, UUIDModel
from apps.core.scoping import Scope
from apps.incidents.choices import ASKED, Cause, Entry, Reply, Said, Stand, Weather
from apps.systems.models import System
from apps.visits.models import Visit


class Incident(UUIDModel):
    """A call for help about one system, until it is known what it was and how it ended.

    `answers`: step of the script -> answer. `visit`: the one that followed.
    """

    system = models.ForeignKey(System, on_delete=models.PROTECT, related_name="incidents")
    kind = models.CharField(max_length=12, choices=Said)
    state = models.CharField(max_length=10, choices=Stand, default=Stand.OPEN)
    opened_at = models.DateTimeField()
    opened_by = models.CharField(max_length=160)
    caller = models.CharField(max_length=120, blank=True)
    said = models.TextField(blank=True, max_length=2000)
    answers = models.JSONField(default=dict, blank=True)
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="incidents"
    )
    cause = models.CharField(max_length=10, choices=Cause, blank=True)
    cause_words = models.CharField(max_length=400, blank=True)
    outcome = models.TextField(blank=True, max_length=2000)
    fish_lost = models.PositiveIntegerField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    rev = models.PositiveIntegerField(default=1)

    # a technician sees those that one of their own visits followed
    scope: ClassVar[Scope] = Scope(visits="visit")

    class Meta:
        constraints = [
            known("kind", Said, "incident_kind_known"),
            known("state", Stand, "incident_state_known"),
            models.CheckConstraint(
                name="incident_cause_known", condition=Q(cause__in=["", *Cause.values])
            ),
            models.CheckConstraint(
                name="incident_closed_with_words",
                condition=~Q(state=Stand.CLOSED)
                | (Q(closed_at__isnull=False) & ~Q(cause="") & ~Q(outcome="")),
                violation_error_message=_("an incident closes with its cause and its outcome"),
            ),
            models.CheckConstraint(
                name="incident_open_has_no_end",
                condition=Q(state=Stand.CLOSED) | Q(closed_at__isnull=True),
            ),
            ordered("opened_at", "closed_at", "incident_times", strict=False),
        ]
        indexes = [
            models.Index(
                fields=["opened_at"], name="incident_open", condition=~Q(state=Stand.CLOSED)
            ),
            models.Index(fields=["system", "opened_at"], name="incident_of_system"),
        ]
        ordering = ["-opened_at"]

    def __str__(self) -> str:
        return f"{self.kind} {self.opened_at:%Y-%m-%d %H:%M}"


class IncidentNote(UUIDModel):
    """What was said, answered or done while an incident lasted; append-only.

    `what` holds codes and figures of an answer or an act; its sentence is made when it is shown.
    """

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="notes")
    at = models.DateTimeField()
    by = models.CharField(max_length=160)
    kind = models.CharField(max_length=8, choices=Entry, default=Entry.NOTE)
    text = models.TextField(blank=True, max_length=4000)
    what = models.JSONField(default=dict, blank=True)

    # a client sees what they wrote themselves
    scope: ClassVar[Scope] = Scope(
        client="incident__system__place__client_id", client_extra=(("what__act", ASKED),),
        visits="incident__visit",
    )  # fmt: skip

    class Meta:
        constraints = [
            known("kind", Entry, "incident_note_kind_known"),
            models.CheckConstraint(
                name="incident_note_says_something", condition=~Q(kind=Entry.NOTE) | ~Q(text="")
            ),
        ]
        indexes = [models.Index(fields=["incident", "at"], name="incident_notes")]
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return self.text[:40] or self.kind


class IncidentPhoto(Picture):
    """A photo that came with what a client wrote."""

    note = models.ForeignKey(IncidentNote, on_delete=models.PROTECT, related_name="photos")
    position = models.PositiveSmallIntegerField()

    scope: ClassVar[Scope] = Scope(
        client="note__incident__system__place__client_id", visits="note__incident__visit"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["note", "position"], name="incident_photo_in_order")
        ]
        ordering = ["position"]

    def __str__(self) -> str:
        return f"{self.note_id} {self.position}"


class PutOff(UUIDModel):
    """A visit that has to wait because its technician went to an incident; `now` is its new start.

    Without a new start the visit goes on, without that technician.
    """

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="put_off")
    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="put_off")
    was = models.DateTimeField()
    now = models.DateTimeField(null=True, blank=True)
    at = models.DateTimeField()

    scope: ClassVar[Scope] = Scope(visits="visit")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="put_off_is_later", condition=Q(now__isnull=True) | Q(now__gt=F("was"))
            ),
            models.UniqueConstraint(fields=["incident", "visit"], name="put_off_once"),
        ]
        ordering = ["was"]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.was:%H:%M}"


class WeatherWatch(UUIDModel):
    """A weather that is coming and whose list went out, with a few words of the office."""

    kind = models.CharField(max_length=8, choices=Weather)
    words = models.CharField(max_length=400, blank=True)
    made_at = models.DateTimeField()
    by = models.CharField(max_length=160)

    scope: ClassVar[Scope] = Scope()

    class Meta:
        constraints = [known("kind", Weather, "weather_kind_known")]
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return f"{self.kind} {self.made_at:%Y-%m-%d}"


class WeatherAsk(UUIDModel):
    """One contact to whom the list went, and what they answered; 'help' opens an incident."""

    watch = models.ForeignKey(WeatherWatch, on_delete=models.PROTECT, related_name="asks")
    contact = models.ForeignKey(Contact, on_delete=models.CASCADE, related_name="weather_asks")
    systems = models.ManyToManyField(System, related_name="weather_asks")
    reply = models.CharField(max_length=4, choices=Reply, default=Reply.NONE)
    words = models.CharField(max_length=1000, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, null=True, blank=True, related_name="weather_asks"
    )

    scope: ClassVar[Scope] = Scope(client="contact__client_id")

    class Meta:
        constraints = [
            known("reply", Reply, "weather_reply_known"),
            models.UniqueConstraint(fields=["watch", "contact"], name="weather_asked_once"),
            models.CheckConstraint(
                name="weather_help_has_incident",
                condition=~Q(reply=Reply.HELP) | Q(incident__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.watch_id} {self.contact_id} {self.reply}"
