"""System, Loop, Component, Flow."""

from typing import ClassVar

from django.db import models
from django.db.models import Q

from apps.clients.models import Place
from apps.core.constraints import known, ordered, positive
from apps.core.models import UUIDModel
from apps.core.scoping import Scope
from apps.systems.choices import ComponentKind, FlowKind, LoopKind, SystemKind


class System(UUIDModel):
    """One connected installation at a place."""

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="systems")
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=12, choices=SystemKind)
    started_on = models.DateField(null=True, blank=True)
    ended_on = models.DateField(null=True, blank=True)
    notes = models.TextField(blank=True, max_length=4000)
    active = models.BooleanField(default=True)
    # what the client's own scoop holds, level, of the feed that they give; meals: common practice
    scoop_g = models.FloatField(null=True, blank=True)
    meals_a_day = models.PositiveSmallIntegerField(default=2)
    rev = models.PositiveIntegerField(default=1)

    scope: ClassVar[Scope] = Scope(client="place__client_id", visits="place__visits")

    class Meta:
        constraints = [
            known("kind", SystemKind, "system_kind_known"),
            ordered("started_on", "ended_on", "system_dates", strict=False),
            positive("scoop_g", "system_scoop"),
            positive("meals_a_day", "system_meals"),
        ]
        indexes = [models.Index(fields=["name"], name="system_name")]

    def __str__(self) -> str:
        return self.name


class Loop(UUIDModel):
    """A body of water that mixes; readings belong to it.

    `rain_area_m2`: of it open to the sky, 0 under a roof; empty where nobody has looked.
    """

    system = models.ForeignKey(System, on_delete=models.CASCADE, related_name="loops")
    kind = models.CharField(max_length=8, choices=LoopKind)
    measured_litres = models.FloatField(null=True, blank=True)
    volume_known_within_pct = models.FloatField(default=10)
    rain_area_m2 = models.FloatField(null=True, blank=True)

    scope: ClassVar[Scope] = Scope(
        client="system__place__client_id", visits="system__place__visits"
    )

    class Meta:
        constraints = [
            known("kind", LoopKind, "loop_kind_known"),
            positive("measured_litres", "loop_litres"),
            positive("rain_area_m2", "loop_rain_area", zero=True),
            models.UniqueConstraint(fields=["system", "kind"], name="loop_once_a_system"),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()


class Component(UUIDModel):
    """A thing in a loop, with its sizes; swapped with its history kept."""

    loop = models.ForeignKey(Loop, on_delete=models.CASCADE, related_name="components")
    kind = models.CharField(max_length=14, choices=ComponentKind)
    name = models.CharField(max_length=80)
    place_in_flow = models.PositiveSmallIntegerField(default=0)
    litres = models.FloatField(null=True, blank=True)
    area_m2 = models.FloatField(null=True, blank=True)
    depth_m = models.FloatField(null=True, blank=True)
    media = models.CharField(max_length=40, blank=True)
    media_litres = models.FloatField(null=True, blank=True)
    flow_l_h = models.FloatField(null=True, blank=True)
    lift_m = models.FloatField(null=True, blank=True)
    watts = models.FloatField(null=True, blank=True)
    make = models.CharField(max_length=80, blank=True)
    serial = models.CharField(max_length=80, blank=True)
    fitted_on = models.DateField(null=True, blank=True)
    warranty_until = models.DateField(null=True, blank=True)
    removed_on = models.DateField(null=True, blank=True)
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )

    scope: ClassVar[Scope] = Scope(
        client="loop__system__place__client_id", visits="loop__system__place__visits"
    )

    class Meta:
        constraints = [
            known("kind", ComponentKind, "component_kind_known"),
            positive("litres", "component_litres"),
            positive("area_m2", "component_area"),
            positive("flow_l_h", "component_flow"),
            positive("media_litres", "component_media"),
            ordered("fitted_on", "removed_on", "component_dates", strict=False),
        ]
        ordering = ["place_in_flow", "name"]

    def __str__(self) -> str:
        return self.name


class Flow(UUIDModel):
    """Water going from one component to the next."""

    source = models.ForeignKey(Component, on_delete=models.CASCADE, related_name="flows_out")
    target = models.ForeignKey(Component, on_delete=models.CASCADE, related_name="flows_in")
    kind = models.CharField(max_length=8, choices=FlowKind, default=FlowKind.GRAVITY)
    litres_per_hour = models.FloatField(null=True, blank=True)
    litres_per_day = models.FloatField(null=True, blank=True)
    one_way = models.BooleanField(default=False)

    scope: ClassVar[Scope] = Scope(
        client="source__loop__system__place__client_id",
        visits="source__loop__system__place__visits",
    )

    class Meta:
        constraints = [
            known("kind", FlowKind, "flow_kind_known"),
            models.CheckConstraint(
                name="flow_not_to_itself", condition=~Q(source=models.F("target"))
            ),
            models.UniqueConstraint(fields=["source", "target"], name="flow_once"),
        ]

    def __str__(self) -> str:
        return f"{self.source_id} > {self.target_id}"
