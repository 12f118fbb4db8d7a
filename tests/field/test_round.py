"""The round: the day, the days ahead, what is shown when, and the steps of a visit."""

import datetime as dt
from typing import Any

import pytest
from django.urls import reverse

from apps.accounts.models import User
from apps.visits.models import Assignment, Visit, VisitStep
from tests import factories
from tests.field.conftest import Phone, signed_in

ROUND = "/field/online/"


def place(phone: Phone, **more: Any) -> None:
    """Change the place of the visit."""
    for name, value in more.items():
        setattr(phone.visit.place, name, value)
    phone.visit.place.save()


def later(phone: Phone, days: int, state: str = "booked") -> Visit:
    """Another visit of Ana's to the same place."""
    start = phone.visit.start + dt.timedelta(days=days)
    row = Visit.objects.create(
        place=phone.visit.place, state=state, start=start, end=start + dt.timedelta(hours=1),
        made_at=factories.NOW,
    )  # fmt: skip
    user = phone.visit.assignments.get().user
    Assignment.objects.create(visit=row, user=user, start=row.start, end=row.end)
    return row


def test_root_is_the_round(phone: Phone) -> None:
    assert reverse("field:round") == ROUND
    assert phone.browser.get("/").url == "/field/"


def test_today_and_the_days_ahead(phone: Phone) -> None:
    place(phone, latitude=51.5, longitude=-0.12, dog=True, access_notes="Ring first.")
    later(phone, 1)
    later(phone, 6)
    later(phone, 7, "called_off")
    later(phone, -1, "under_way")
    page = phone.browser.get(ROUND).content.decode()
    for words in (
        "Okafor, garden", "booked", 'href="geo:51.5,-0.12"', "There is a dog", "Ring first.",
        "Friday 12 June", "Wednesday 17 June", "What to load", "Begun and not finished", "test kits",
    ):  # fmt: skip
        assert words in page
    assert "Thursday 18 June" not in page
    assert page.count(">Start<") == 1


def test_gate_code_only_on_the_day(phone: Phone) -> None:
    place(phone, gate_code="4071")
    tomorrow = later(phone, 1)
    Visit.objects.filter(pk=phone.visit.pk).update(state="reported")
    assert phone.browser.get(ROUND).content.decode().count("4071") == 1
    page = phone.browser.get(reverse("field:visit", kwargs={"pk": tomorrow.pk})).content.decode()
    assert "4071" not in page
    assert "the code is shown on the day alone" in page


def test_no_visits(staff: dict[str, User]) -> None:
    marek = signed_in(staff["marek"])
    page = marek.get(ROUND).content.decode()
    assert "No visits today." in page
    assert "Sign out" in page
    assert "Where I am signed in" in page


def test_office_sees_everybody(phone: Phone, staff: dict[str, User]) -> None:
    office = signed_in(staff["office"])
    page = office.get(ROUND).content.decode()
    assert "Okafor, garden" in page
    assert "Ana" in page


def test_dark_only_when_asked(phone: Phone) -> None:
    assert 'data-theme="light"' in phone.browser.get(ROUND).content.decode()
    phone.browser.post(reverse("field:look"), {"look": "dark"})
    assert 'data-theme="dark"' in phone.get("sheet").content.decode()
    phone.browser.post(reverse("field:look"), {"look": "light"})
    assert 'data-theme="light"' in phone.get("sheet").content.decode()


class TestSteps:
    def test_start(self, phone: Phone) -> None:
        answer = phone.post("start")
        assert answer.url == phone.url("sheet")
        phone.visit.refresh_from_db()
        assert phone.visit.state == "under_way"

    def test_start_twice_says_so(self, phone: Phone) -> None:
        phone.post("start")
        phone.post("start")
        assert "cannot become under_way" in phone.get("sheet").content.decode()

    @pytest.mark.parametrize(
        ("name", "state"), [("nobody", "pencilled"), ("wrong_place", "booked")]
    )
    def test_back_with_a_reason(self, phone: Phone, name: str, state: str) -> None:
        phone.post("start")
        assert phone.post(name, {"reason": " "}).status_code == 422
        assert phone.post(name, {"reason": "Rang twice"}).url == ROUND
        phone.visit.refresh_from_db()
        assert phone.visit.state == state
        assert VisitStep.objects.filter(visit=phone.visit).last().reason == "Rang twice"

    def test_looking_never_acts(self, phone: Phone) -> None:
        for name in ("start", "undo"):
            assert phone.get(name).status_code == 405
        for name in ("nobody", "finish", "left_running", "advice"):
            phone.get(name)
        phone.visit.refresh_from_db()
        assert phone.visit.state == "booked"
