"""LoopForecast, PastForecast."""

from typing import ClassVar

from django.db import models

from apps.core.models import UUIDModel
from apps.core.scoping import Scope
from apps.systems.models import Loop

BY_LOOP = Scope(client="loop__system__place__client_id", visits="loop__system__place__visits")


class LoopForecast(UUIDModel):
    """The newest forecast of a loop: codes and numbers, days counted from `from_day`.

    `version`: of the shape of `outlook`. `readings_until`: when the last reading was taken that
    it starts from. `learnt`: what a what-if starts from. `assumed`: codes of what nobody has noted.
    `record`: how each kind of forecast fared on the loop's own readings, for the firm's other loops.
    """

    loop = models.OneToOneField(Loop, on_delete=models.CASCADE, related_name="forecast")
    from_day = models.DateField()
    made_at = models.DateTimeField()
    version = models.PositiveSmallIntegerField()
    outlook = models.JSONField()
    learnt = models.JSONField(default=dict, blank=True)
    record = models.JSONField(default=dict, blank=True)
    assumed = models.JSONField(default=list, blank=True)
    readings_until = models.DateTimeField(null=True, blank=True)
    next_visit = models.DateField(null=True, blank=True)

    scope: ClassVar[Scope] = BY_LOOP

    def __str__(self) -> str:
        return f"{self.loop_id} {self.from_day}"


class PastForecast(UUIDModel):
    """What a forecast said of later readings, kept to be judged by them: one for a day of readings."""

    loop = models.ForeignKey(Loop, on_delete=models.CASCADE, related_name="past_forecasts")
    from_day = models.DateField()
    version = models.PositiveSmallIntegerField()
    fans = models.JSONField()

    scope: ClassVar[Scope] = BY_LOOP

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["loop", "from_day"], name="past_forecast_once_a_day")
        ]

    def __str__(self) -> str:
        return f"{self.loop_id} {self.from_day}"
