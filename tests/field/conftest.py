"""A technician's phone: Ana signed in, a booked visit of hers, a clock that ticks."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse

from apps.core import clock
from apps.visits.models import Sheet, Visit
from tests import factories
from tests.api.conftest import World, visit, world  # noqa: F401


@pytest.fixture(autouse=True)
def ticking(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Each look at the clock is a second later than the one before."""
    ticks = iter(range(10**6))
    monkeypatch.setattr(clock, "now", lambda: factories.NOW + dt.timedelta(seconds=next(ticks)))
    return


@dataclass
class Phone:
    """A signed-in browser on one sheet."""

    browser: Browser
    visit: Visit
    sheet: Sheet
    built: factories.Built

    def url(self, name: str, **more: Any) -> str:
        """Return the address of a page of this visit or sheet."""
        names = {"pk": self.visit.pk}
        if name not in ("visit", "start", "nobody", "wrong_place", "finish", "result"):
            names["sheet"] = self.sheet.pk
        return reverse(f"field:{name}", kwargs={**names, **more})

    def reading_url(self, measurand: str, when: str = "before", turn: int = 1) -> str:
        """Return the entry of a reading."""
        return self.url(
            "reading", loop=self.built.loop.pk, measurand=measurand, when=when, turn=turn
        )

    def get(self, name: str, **more: Any) -> Any:
        """Show a page."""
        return self.browser.get(self.url(name, **more))

    def post(self, name: str, data: Any = None, **more: Any) -> Any:
        """Give an answer."""
        return self.browser.post(self.url(name, **more), data or {})

    def read(self, measurand: str, value: str, **more: str) -> Any:
        """Enter a reading."""
        return self.browser.post(self.reading_url(measurand), {"value": value, **more})


@pytest.fixture
def phone(world: World, visit: dict[str, Any]) -> Phone:  # noqa: F811
    """Ana's phone."""
    browser = Browser()
    browser.force_login(world.users["ana"])
    row = Visit.objects.get(pk=visit["id"])
    return Phone(browser, row, row.sheets.get(), world.mine)
