"""SiteSurvey, SurveyPhoto; Price; Proposal, ProposalVersion, Sending, ProposalWord."""

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from apps.clients.models import Contact, Place, SourceWater
from apps.core.constraints import known, ordered, positive
from apps.core.models import UUIDModel
from apps.core.scoping import Scope
from apps.proposals.choices import (
    Allowed,
    Answer,
    Consent,
    Drain,
    Ground,
    Known,
    Rcd,
    Said,
    Source,
    Wind,
)
from apps.systems.models import System

MOST_MONEY = 10**13  # ten-thousandths: a thousand million of a currency


def _number(low: float, high: float) -> models.FloatField:
    return models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(low), MaxValueValidator(high)]
    )


class SiteSurvey(UUIDModel):
    """What was measured and asked at a place before anything is built there; empty: not looked at.

    Metres, mg/L, °C; `water`: the measurement of the source water that was taken with it.
    """

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="surveys")
    on = models.DateField()
    surveyed_by = models.CharField(max_length=120)
    wants = models.TextField(blank=True, max_length=2000)
    length_m = _number(0.5, 200)
    width_m = _number(0.5, 200)
    height_m = _number(0.5, 50)
    ground = models.CharField(max_length=8, choices=Ground, blank=True)
    floor_kg_m2 = _number(10, 100_000)
    slope_mm_m = _number(0, 500)
    sun_hours = _number(0, 24)
    shade = models.TextField(blank=True, max_length=1000)
    wind = models.CharField(max_length=10, choices=Wind, blank=True)
    winter_c = _number(-2, 45)
    summer_c = _number(-2, 45)
    frost_days = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MaxValueValidator(365)]
    )
    source = models.CharField(max_length=8, choices=Source, blank=True)
    water = models.ForeignKey(
        SourceWater, on_delete=models.PROTECT, null=True, blank=True, related_name="surveys"
    )
    sodium_mg_l = _number(0, 5000)
    chloride_mg_l = _number(0, 10_000)
    copper_mg_l = _number(0, 100)
    zinc_mg_l = _number(0, 100)
    iron_mg_l = _number(0, 100)
    volts = _number(50, 500)
    amps = _number(1, 200)
    socket_m = _number(0, 500)
    earthed = models.CharField(max_length=8, choices=Known, blank=True)
    rcd = models.CharField(max_length=10, choices=Rcd, blank=True)
    rcd_ma = _number(1, 1000)
    outage_h_month = _number(0, 744)
    longest_outage_h = _number(0, 744)
    narrowest_m = _number(0.1, 20)
    stairs = models.CharField(max_length=8, choices=Known, blank=True)
    drain = models.CharField(max_length=8, choices=Drain, blank=True)
    soil_m2 = _number(0, 10_000)
    comers = models.TextField(blank=True, max_length=1000)
    neighbour_m = _number(0, 1000)
    species = models.CharField(max_length=60, blank=True)
    allowed = models.CharField(max_length=10, choices=Allowed, blank=True)
    allowed_by = models.CharField(max_length=200, blank=True)
    consent = models.CharField(max_length=8, choices=Consent, blank=True)
    notes = models.TextField(blank=True, max_length=4000)
    rev = models.PositiveIntegerField(default=1)
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=160)
    changed_at = models.DateTimeField()
    changed_by = models.CharField(max_length=160)

    # the office alone
    scope: ClassVar[Scope] = Scope()

    class Meta:
        constraints = [
            *(
                models.CheckConstraint(
                    name=f"survey_{name}_known",
                    condition=Q(**{f"{name}__in": ["", *choices.values]}),
                )
                for name, choices in (
                    ("ground", Ground),
                    ("wind", Wind),
                    ("source", Source),
                    ("earthed", Known),
                    ("rcd", Rcd),
                    ("stairs", Known),
                    ("drain", Drain),
                    ("allowed", Allowed),
                    ("consent", Consent),
                )
            ),
            ordered("winter_c", "summer_c", "survey_seasons", strict=False),
        ]
        indexes = [models.Index(fields=["place", "-on"], name="survey_newest")]

    def __str__(self) -> str:
        return f"{self.place} {self.on}"


class SurveyPhoto(UUIDModel):
    """A photo of a site, under stored names; re-drawn from its pixels as those of visits are."""

    survey = models.ForeignKey(SiteSurvey, on_delete=models.CASCADE, related_name="photos")
    number = models.PositiveSmallIntegerField()
    caption = models.CharField(max_length=200, blank=True)
    screen = models.CharField(max_length=160)
    small = models.CharField(max_length=160)
    sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    kept_at = models.DateTimeField()
    kept_by = models.CharField(max_length=160)

    scope: ClassVar[Scope] = Scope()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["survey", "number"], name="survey_photo_numbers")
        ]
        ordering = ["number"]

    def __str__(self) -> str:
        return self.caption or str(self.number)


class Price(UUIDModel):
    """What the firm pays for one unit of something that it builds or hands out.

    Money: ten-thousandths of the firm's currency, without tax.
    """

    code = models.CharField(max_length=60, unique=True)
    amount = models.PositiveBigIntegerField(validators=[MaxValueValidator(MOST_MONEY)])
    changed_at = models.DateTimeField()
    changed_by = models.CharField(max_length=160)

    scope: ClassVar[Scope] = Scope()

    def __str__(self) -> str:
        return f"{self.code} {self.amount}"


class Proposal(UUIDModel):
    """What is proposed to a client for a place: the wish, the site and the rules of its design.

    `prices`: code -> ten-thousandths of the firm's currency a unit, of what has one;
    `extras`: [{"text", "amount"}]; shares in hundredths of a per cent. What a client was shown
    stands in its versions.
    """

    number = models.PositiveIntegerField(unique=True)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="proposals")
    survey = models.ForeignKey(
        SiteSurvey, on_delete=models.PROTECT, null=True, blank=True, related_name="proposals"
    )
    name = models.CharField(max_length=120)
    wish = models.JSONField()
    site = models.JSONField()
    rules = models.JSONField()
    crop = models.CharField(max_length=60, blank=True)
    words = models.TextField(blank=True, max_length=2000)
    left_out = models.TextField(blank=True, max_length=2000)
    prices = models.JSONField(default=dict, blank=True)
    margin = models.PositiveIntegerField(default=0)
    hours = models.PositiveIntegerField(default=0)  # hundredths of an hour
    rate = models.PositiveBigIntegerField(default=0)  # ten-thousandths of the currency an hour
    extras = models.JSONField(default=list, blank=True)
    tax = models.PositiveIntegerField(null=True, blank=True)
    valid_until = models.DateField()
    answer = models.CharField(max_length=8, choices=Answer, default=Answer.OPEN)
    answered_on = models.DateField(null=True, blank=True)
    answer_words = models.TextField(blank=True, max_length=1000)
    # who said so, of the client's people
    answered_by = models.CharField(max_length=160, blank=True)
    accepted = models.ForeignKey(
        "ProposalVersion", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    system = models.OneToOneField(
        System, on_delete=models.PROTECT, null=True, blank=True, related_name="proposal"
    )
    rev = models.PositiveIntegerField(default=1)
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=160)

    scope: ClassVar[Scope] = Scope()

    class Meta:
        constraints = [
            known("answer", Answer, "proposal_answer_known"),
            positive("number", "proposal_from_one"),
            models.CheckConstraint(name="proposal_tax", condition=Q(tax=None) | Q(tax__lte=10_000)),
            models.CheckConstraint(name="proposal_margin", condition=Q(margin__lte=50_000)),
            models.CheckConstraint(
                name="proposal_answered",
                condition=Q(answer=Answer.OPEN, answered_on=None, accepted=None)
                | Q(answer=Answer.DECLINED, answered_on__isnull=False, accepted=None)
                | Q(answer=Answer.ACCEPTED, answered_on__isnull=False, accepted__isnull=False),
            ),
            models.CheckConstraint(
                name="proposal_built_of_accepted",
                condition=Q(system=None) | Q(answer=Answer.ACCEPTED),
            ),
        ]
        indexes = [models.Index(fields=["place", "-number"], name="proposal_newest")]

    def __str__(self) -> str:
        return f"{self.number:04d}"


class ProposalVersion(UUIDModel):
    """What a client was shown, inserted when its PDF exists; never changed."""

    proposal = models.ForeignKey(Proposal, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    snapshot = models.JSONField()
    template = models.CharField(max_length=20)
    language = models.CharField(max_length=10)
    pdf = models.CharField(max_length=160)
    pdf_size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=160)

    # a client reads what was sent
    scope: ClassVar[Scope] = Scope(
        client="proposal__place__client_id", client_extra=(("sending__isnull", False),)
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["proposal", "number"], name="proposal_version_numbers"),
            positive("number", "proposal_version_from_one"),
            models.CheckConstraint(name="proposal_version_has_pdf", condition=~Q(pdf="")),
        ]
        ordering = ["number"]

    def __str__(self) -> str:
        return f"version {self.number}"


class Sending(UUIDModel):
    """That a version was sent to its client: since when they may read it, and by whom."""

    version = models.OneToOneField(
        ProposalVersion, on_delete=models.PROTECT, related_name="sending"
    )
    at = models.DateTimeField()
    by = models.CharField(max_length=160)

    scope: ClassVar[Scope] = Scope(client="version__proposal__place__client_id")

    def __str__(self) -> str:
        return f"{self.version_id} {self.at}"


class ProposalWord(UUIDModel):
    """What a client wrote on their page to a version: a note to the office, no answer that binds.

    `contact`: whose link it was; `seen_at`: the office has looked at it.
    """

    version = models.ForeignKey(
        ProposalVersion, on_delete=models.PROTECT, related_name="words_said"
    )
    contact = models.ForeignKey(
        Contact, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    kind = models.CharField(max_length=8, choices=Said)
    words = models.TextField(blank=True, max_length=1000)
    at = models.DateTimeField()
    seen_at = models.DateTimeField(null=True, blank=True)
    seen_by = models.CharField(max_length=160, blank=True)

    scope: ClassVar[Scope] = Scope(client="version__proposal__place__client_id")

    class Meta:
        constraints = [known("kind", Said, "proposal_word_known")]
        indexes = [models.Index(fields=["version", "at"], name="proposal_words")]
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.kind} {self.at}"
