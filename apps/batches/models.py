"""FishBatch, Weighing, Deaths, FishHarvest; Planting, Picking; Treatment, HarvestHold; HarvestPrice."""

from typing import ClassVar

from django.core.validators import MaxValueValidator
from django.db import models

from apps.batches.choices import Harvest, Per, Touches
from apps.core.constraints import known, ordered, positive
from apps.core.models import UUIDModel
from apps.core.scoping import Scope
from apps.systems.models import Component, Loop

MOST_OF_ONE = 10**10  # ten-thousandths: a million of a currency


class FishBatch(UUIDModel):
    """Fish stocked together in one loop."""

    loop = models.ForeignKey(Loop, on_delete=models.CASCADE, related_name="fish_batches")
    species_code = models.CharField(max_length=40)
    count = models.PositiveIntegerField()
    stocked_on = models.DateField()
    mean_weight_g = models.FloatField()
    supplier = models.CharField(max_length=120, blank=True)
    ended_on = models.DateField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(
        client="loop__system__place__client_id", visits="loop__system__place__visits"
    )

    class Meta:
        constraints = [
            positive("count", "batch_count"),
            positive("mean_weight_g", "batch_weight"),
            ordered("stocked_on", "ended_on", "batch_dates", strict=False),
        ]

    def __str__(self) -> str:
        return f"{self.count} {self.species_code}"


class Weighing(UUIDModel):
    """A sample of single weights in grams."""

    batch = models.ForeignKey(FishBatch, on_delete=models.CASCADE, related_name="weighings")
    on = models.DateField()
    weights_g = models.JSONField(default=list, blank=True)
    mean_g = models.FloatField()

    scope: ClassVar[Scope] = Scope(
        client="batch__loop__system__place__client_id",
        visits="batch__loop__system__place__visits",
    )

    class Meta:
        constraints = [positive("mean_g", "weighing_mean")]

    def __str__(self) -> str:
        return f"{self.on}: {self.mean_g:.0f} g"


class Deaths(UUIDModel):
    """Fish found dead on one day."""

    batch = models.ForeignKey(FishBatch, on_delete=models.CASCADE, related_name="deaths")
    on = models.DateField()
    count = models.PositiveIntegerField()
    note = models.CharField(max_length=400, blank=True)

    scope: ClassVar[Scope] = Scope(
        client="batch__loop__system__place__client_id",
        visits="batch__loop__system__place__visits",
    )

    class Meta:
        constraints = [positive("count", "deaths_count")]
        verbose_name_plural = "deaths"

    def __str__(self) -> str:
        return f"{self.on}: {self.count}"


class FishHarvest(UUIDModel):
    """Fish taken out to be eaten on one day; `mass_kg` alive, where it was weighed."""

    batch = models.ForeignKey(FishBatch, on_delete=models.CASCADE, related_name="harvests")
    on = models.DateField()
    count = models.PositiveIntegerField()
    mass_kg = models.FloatField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(
        client="batch__loop__system__place__client_id",
        visits="batch__loop__system__place__visits",
    )

    class Meta:
        constraints = [
            positive("count", "fish_harvest_count"), positive("mass_kg", "fish_harvest_mass"),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.on}: {self.count}"


class Planting(UUIDModel):
    """Plants of one crop set together in one component."""

    component = models.ForeignKey(Component, on_delete=models.CASCADE, related_name="plantings")
    crop_code = models.CharField(max_length=40)
    count = models.PositiveIntegerField()
    sown_on = models.DateField(null=True, blank=True)
    transplanted_on = models.DateField(null=True, blank=True)
    ended_on = models.DateField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(
        client="component__loop__system__place__client_id",
        visits="component__loop__system__place__visits",
    )

    class Meta:
        constraints = [
            positive("count", "planting_count"),
            ordered("sown_on", "transplanted_on", "planting_dates", strict=False),
        ]

    def __str__(self) -> str:
        return f"{self.count} {self.crop_code}"


class Picking(UUIDModel):
    """What was picked from a planting on one day."""

    planting = models.ForeignKey(Planting, on_delete=models.CASCADE, related_name="pickings")
    on = models.DateField()
    heads = models.PositiveIntegerField(null=True, blank=True)
    mass_kg = models.FloatField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(
        client="planting__component__loop__system__place__client_id",
        visits="planting__component__loop__system__place__visits",
    )

    class Meta:
        constraints = [positive("mass_kg", "picking_mass")]

    def __str__(self) -> str:
        return f"{self.on}"


class Treatment(UUIDModel):
    """A product given to a loop on somebody's word. Recorded, never advised."""

    loop = models.ForeignKey(Loop, on_delete=models.CASCADE, related_name="treatments")
    product = models.CharField(max_length=120)
    lot = models.CharField(max_length=60)
    on_whose_word = models.CharField(max_length=120)
    reason = models.CharField(max_length=400, blank=True)
    began_on = models.DateField()
    ended_on = models.DateField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(
        client="loop__system__place__client_id", visits="loop__system__place__visits"
    )

    class Meta:
        constraints = [ordered("began_on", "ended_on", "treatment_dates", strict=False)]

    def __str__(self) -> str:
        return f"{self.product} {self.began_on}"


class HarvestHold(UUIDModel):
    """Until when what a treatment touched must not be eaten."""

    treatment = models.OneToOneField(Treatment, on_delete=models.CASCADE, related_name="hold")
    touches = models.CharField(max_length=8, choices=Touches)
    until = models.DateField()

    scope: ClassVar[Scope] = Scope(
        client="treatment__loop__system__place__client_id",
        visits="treatment__loop__system__place__visits",
    )

    class Meta:
        constraints = [known("touches", Touches, "hold_touches_known")]

    def __str__(self) -> str:
        return f"{self.touches} until {self.until}"


class HarvestPrice(UUIDModel):
    """What a crop or a fish costs a household in the shops, as the firm has it: a kilogram or a piece.

    Money: ten-thousandths of the firm's currency.
    """

    kind = models.CharField(max_length=7, choices=Harvest)
    code = models.CharField(max_length=40)
    per = models.CharField(max_length=5, choices=Per, default=Per.KG)
    amount = models.PositiveBigIntegerField(validators=[MaxValueValidator(MOST_OF_ONE)])
    changed_at = models.DateTimeField()
    changed_by = models.CharField(max_length=160)

    scope: ClassVar[Scope] = Scope()

    class Meta:
        constraints = [
            known("kind", Harvest, "harvest_price_kind_known"),
            known("per", Per, "harvest_price_per_known"),
            models.UniqueConstraint(fields=["kind", "code", "per"], name="harvest_price_once"),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.amount} a {self.per}"
