"""Client, Contact, Place, VisitingHours, SourceWater, Climate with its months, TimeAway; PastClients."""

from typing import ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from apps.calc.climate_months import LIMITS
from apps.clients.choices import (
    PHOTO_WORDS,
    Backup,
    ClientKind,
    PhotoUse,
    ReportsAs,
    Units,
    Weekday,
)
from apps.core.constraints import between, known, on_earth, ordered, positive
from apps.core.models import UUIDModel
from apps.core.quiet_hours import zone_names
from apps.core.scoping import Scope, ScopedQuerySet


def zone_check(name: str) -> None:
    """Raise ValidationError for a time zone that is not in the IANA database."""
    if name not in zone_names():
        raise ValidationError(
            _("%(name)s is no time zone; write one such as Europe/Brussels, or nothing."),
            "zone",
            {"name": name},
        )


class Client(UUIDModel):
    """Who the firm works for."""

    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=12, choices=ClientKind, default=ClientKind.HOUSEHOLD)
    since = models.DateField(null=True, blank=True)
    notes = models.TextField(blank=True, max_length=4000)
    active = models.BooleanField(default=True)
    # "just tell me": appointments are told, not asked
    just_tell = models.BooleanField(default=False)
    # what they allow of photos that we take, since when, who noted it, how they said so
    photos = models.CharField(max_length=8, choices=PhotoUse, default=PhotoUse.UNKNOWN)
    photos_on = models.DateField(null=True, blank=True)
    photos_by = models.CharField(max_length=160, blank=True, default="")
    photos_how = models.CharField(max_length=200, blank=True, default="")
    rev = models.PositiveIntegerField(default=1)

    scope: ClassVar[Scope] = Scope(client="id", visits="places__visits")

    class Meta:
        constraints = [
            known("kind", ClientKind, "client_kind_known"),
            known("photos", PhotoUse, "client_photos_known"),
            models.CheckConstraint(
                name="client_photos_said",
                condition=Q(photos=PhotoUse.UNKNOWN)
                | Q(photos_on__isnull=False) & ~Q(photos_by="") & ~Q(photos_how=""),
                violation_error_message=_("say how they said so"),
            ),
        ]
        indexes = [models.Index(fields=["name"], name="client_name")]

    def __str__(self) -> str:
        return self.name

    @property
    def shows_photos(self) -> bool:
        """Whether photos that we took may stand in what they or anybody else is sent."""
        return self.photos == PhotoUse.YES

    @property
    def photos_words(self) -> str:
        """What stands beside the camera; empty where there is nothing to mind."""
        return str(PHOTO_WORDS.get(PhotoUse(self.photos), ""))


class Contact(UUIDModel):
    """A person at the client's; gets letters in their language and units."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="contacts")
    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    language = models.CharField(max_length=10, default="en")
    units = models.CharField(max_length=8, choices=Units, default=Units.METRIC)
    gets_letters = models.BooleanField(default=True)
    # their own choice, from their page or from a letter: how reports come, and whether notices do
    reports_as = models.CharField(max_length=8, choices=ReportsAs, default=ReportsAs.ATTACHED)
    gets_notices = models.BooleanField(default=True)
    # a text message besides: before a visit, and on its day
    gets_texts = models.BooleanField(default=False)
    # by its name in the IANA database; empty: the firm's
    time_zone = models.CharField(max_length=64, blank=True, validators=[zone_check])

    # a technician does not need other people's addresses and phones
    scope: ClassVar[Scope] = Scope(client="client_id")

    class Meta:
        constraints = [
            known("units", Units, "contact_units_known"),
            known("reports_as", ReportsAs, "contact_reports_as_known"),
            models.CheckConstraint(
                name="contact_texts_need_phone",
                condition=Q(gets_texts=False) | ~Q(phone=""),
                violation_error_message=_("text messages need a telephone number"),
            ),
            models.CheckConstraint(
                name="contact_letters_need_address",
                condition=Q(gets_letters=False) | ~Q(email=""),
                violation_error_message=_("letters need an e-mail address"),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Place(UUIDModel):
    """Where systems stand."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="places")
    name = models.CharField(max_length=120)
    street = models.CharField(max_length=160)
    town = models.CharField(max_length=80)
    area = models.CharField(max_length=60, blank=True)
    latitude = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-90), MaxValueValidator(90)]
    )
    longitude = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-180), MaxValueValidator(180)]
    )
    altitude_m = models.FloatField(default=0)
    access_notes = models.TextField(blank=True, max_length=2000)
    gate_code = models.CharField(max_length=40, blank=True)
    dog = models.BooleanField(default=False)
    rev = models.PositiveIntegerField(default=1)

    scope: ClassVar[Scope] = Scope(client="client_id", visits="visits")

    class Meta:
        constraints = [
            on_earth("latitude", "longitude", "place_on_earth"),
        ]
        indexes = [models.Index(fields=["area"], name="place_area")]

    def __str__(self) -> str:
        return self.name

    @property
    def address(self) -> str:
        """Street and town."""
        return f"{self.street}, {self.town}"

    @property
    def where(self) -> str:
        """Latitude and longitude as they are typed, "50.85030, 4.35170"; empty where not known."""
        if self.latitude is None or self.longitude is None:
            return ""
        return ", ".join(_degrees(value) for value in (self.latitude, self.longitude))


def _degrees(value: float) -> str:
    """Return degrees with five decimals, about a metre, or as many more as are known."""
    return max(f"{value:.5f}", f"{value:.10g}", key=len)


class VisitingHours(UUIDModel):
    """Hours on a day of the week at which someone may come; no row at all means any time."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="hours")
    weekday = models.PositiveSmallIntegerField(choices=Weekday)
    opens = models.TimeField()
    closes = models.TimeField()

    scope: ClassVar[Scope] = Scope(client="place__client_id", visits="place__visits")

    class Meta:
        constraints = [
            ordered("opens", "closes", "hours_in_order"),
            models.CheckConstraint(name="hours_weekday", condition=Q(weekday__range=(1, 7))),
            models.UniqueConstraint(fields=["place", "weekday", "opens"], name="hours_once"),
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.opens:%H:%M}-{self.closes:%H:%M}"


class SourceWater(UUIDModel):
    """A measurement of the water that a place tops up with."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="source_waters")
    on = models.DateField()
    ph = models.FloatField()
    alkalinity_mg_l_caco3 = models.FloatField()
    hardness_mg_l_caco3 = models.FloatField(null=True, blank=True)
    tan_mg_l = models.FloatField(default=0)
    nitrate_n_mg_l = models.FloatField(null=True, blank=True)
    total_chlorine_mg_l = models.FloatField(default=0)
    chloramine = models.BooleanField(default=False)
    temp_c = models.FloatField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(client="place__client_id", visits="place__visits")

    class Meta:
        constraints = [
            models.CheckConstraint(name="source_ph", condition=Q(ph__range=(3, 11))),
            positive("alkalinity_mg_l_caco3", "source_alkalinity", zero=True),
            positive("total_chlorine_mg_l", "source_chlorine", zero=True),
            models.UniqueConstraint(fields=["place", "on"], name="source_once_a_day"),
        ]

    def __str__(self) -> str:
        return f"{self.place} {self.on}"


class Climate(UUIDModel):
    """Climate normals of a place, or of all places that have none of their own: the firm's.

    `source`: which station and which years they are of, in the firm's words.
    """

    place = models.OneToOneField(
        Place, on_delete=models.CASCADE, null=True, blank=True, related_name="climate"
    )
    whole_firm = models.BooleanField(default=False)
    source = models.CharField(max_length=200, blank=True)
    rev = models.PositiveIntegerField(default=1)

    scope: ClassVar[Scope] = Scope(client="place__client_id", visits="place__visits")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["whole_firm"], condition=Q(whole_firm=True), name="climate_one_firm"
            ),
            models.CheckConstraint(
                name="climate_of_one",
                condition=Q(whole_firm=True, place__isnull=True)
                | Q(whole_firm=False, place__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return str(self.place) if self.place_id else str(_("the whole firm"))


class ClimateMonth(UUIDModel):
    """One month: mean daily lowest and highest air temperature, rain; what else is known."""

    climate = models.ForeignKey(Climate, on_delete=models.CASCADE, related_name="months")
    month = models.PositiveSmallIntegerField()
    low_c = models.FloatField()
    high_c = models.FloatField()
    rain_mm = models.FloatField()
    wet_days = models.FloatField(null=True, blank=True)
    et0_mm = models.FloatField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(
        client="climate__place__client_id", visits="climate__place__visits"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["climate", "month"], name="climate_month_once"),
            models.CheckConstraint(name="climate_month_known", condition=Q(month__range=(1, 12))),
            ordered("low_c", "high_c", "climate_low_high", strict=False),
            *(between(name, *limits, f"climate_{name}") for name, limits in LIMITS.items()),
        ]
        ordering = ["month"]

    def __str__(self) -> str:
        return f"{self.climate} {self.month}"


class TimeAway(UUIDModel):
    """Days on which nobody of a place is at home, and who looks after its systems; both ends count.

    `may_come`: whether we may come in meanwhile. A row that was withdrawn stays.
    """

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="times_away")
    first = models.DateField()
    last = models.DateField()
    carer_name = models.CharField(max_length=120, blank=True)
    carer_phone = models.CharField(max_length=40, blank=True)
    backup = models.CharField(max_length=6, choices=Backup, default=Backup.UNSURE)
    may_come = models.BooleanField(default=True)
    notes = models.TextField(blank=True, max_length=1000)
    made_at = models.DateTimeField()
    by = models.CharField(max_length=160)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    rev = models.PositiveIntegerField(default=1)

    scope: ClassVar[Scope] = Scope(client="place__client_id", visits="place__visits")

    class Meta:
        constraints = [
            ordered("first", "last", "time_away_in_order", strict=False),
            known("backup", Backup, "time_away_backup_known"),
            models.CheckConstraint(
                name="time_away_carer_can_be_called",
                condition=(Q(carer_name="") & Q(carer_phone=""))
                | (~Q(carer_name="") & ~Q(carer_phone="")),
                violation_error_message=_("give who looks after it and their number, or neither"),
            ),
        ]
        indexes = [
            models.Index(
                fields=["place", "last"],
                name="time_away_ahead",
                condition=Q(withdrawn_at__isnull=True),
            )
        ]
        ordering = ["first", "id"]

    def __str__(self) -> str:
        return f"{self.first}..{self.last}"


class PastClients(models.Model):
    """What is kept of the clients that were erased in a year: sums, and nothing of any one of them.

    Each adds whole years, and visits, reports and readings rounded (`flows/erasing.py`), so that
    even a sum of one says little. `last_report`, `last_proposal`: the highest numbers that
    went with them, which are not given out a second time.
    """

    year = models.PositiveSmallIntegerField(primary_key=True)
    clients = models.PositiveIntegerField(default=0)
    years = models.PositiveIntegerField(default=0)
    visits = models.PositiveIntegerField(default=0)
    reports = models.PositiveIntegerField(default=0)
    readings = models.PositiveIntegerField(default=0)
    # kind of system -> how many
    systems = models.JSONField(default=dict, blank=True)
    last_report = models.PositiveIntegerField(default=0)
    last_proposal = models.PositiveIntegerField(default=0)

    scope: ClassVar[Scope] = Scope()
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["year"]

    def __str__(self) -> str:
        return f"{self.clients} in {self.year}"
