"""A technician's phone: Ana signed in, a booked visit of hers, a clock that ticks."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.models import User
from apps.core import clock
from apps.visits.models import Assignment, Sheet, Visit
from apps.visits.services.lines import lines_make
from tests import factories

OF_A_VISIT = ("visit", "start", "nobody", "wrong_place", "finish", "result")


@pytest.fixture(autouse=True)
def ticking(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each look at the clock is a second later than the one before."""
    ticks = iter(range(10**6))
    monkeypatch.setattr(clock, "now", lambda: factories.NOW + dt.timedelta(seconds=next(ticks)))


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
        if name not in OF_A_VISIT:
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


def signed_in(member: User) -> Browser:
    """Return somebody's browser."""
    browser = Browser()
    browser.force_login(member)
    return browser


@pytest.fixture
def staff(db: None) -> dict[str, User]:
    """The firm's people."""
    factories.firm()
    return {
        "office": factories.user("office", "office"),
        "ana": factories.user("ana"),
        "marek": factories.user("marek"),
    }


@pytest.fixture
def phone(staff: dict[str, User]) -> Phone:
    """Ana's phone; her visit was booked for an hour ago."""
    built = factories.system(factories.place(factories.client("Okafor")), "Back garden")
    start = factories.NOW - dt.timedelta(hours=1)
    visit = Visit.objects.create(
        place=built.system.place, state="booked", start=start, end=start + dt.timedelta(hours=2),
        made_at=factories.NOW,
    )  # fmt: skip
    Assignment.objects.create(visit=visit, user=staff["ana"], start=start, end=visit.end)
    sheet = Sheet.objects.create(visit=visit, system=built.system)
    lines_make(visit=visit, sheets=[sheet])
    return Phone(signed_in(staff["ana"]), visit, sheet, built)
