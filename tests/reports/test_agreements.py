"""When an agreement ends: noted with the plan, named on Due, written by hand or by itself, once."""

import datetime as dt
from typing import Any

import pytest
from django.core import mail
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.models import Firm
from apps.care.models import CarePlan
from apps.core import clock, outbox
from apps.flows.noticing import ending, notices
from apps.office.selectors.waiting_notices import notices_waiting
from apps.reports.models import Letter
from tests import factories
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
END = TODAY + dt.timedelta(days=40)


class Desk:
    """The office's browser, and a client with two systems under one agreement."""

    def __init__(self) -> None:
        factories.firm()
        Firm.objects.update(quiet_client_days=0)
        user = factories.user("office", "office")
        self.by = factories.actor(user)
        self.place = factories.place(factories.client("Okafor"))
        self.systems = [factories.system(self.place).system for _each in range(2)]
        self.browser = Browser()
        self.browser.force_login(user)

    def agree(self, until: dt.date | None) -> None:
        """Note with each system's plan until when it was agreed."""
        for row in self.systems:
            values = {"visits_a_year": "12", "agreed_until": until.isoformat() if until else ""}
            answer = self.browser.post(f"/systems/{row.pk}/plan/agreed/", values)
            assert answer.status_code == 302, answer.content.decode()[:1500]

    def due(self) -> list[str]:
        """What Due says of agreements."""
        return [row.name + row.text for row in notices_waiting(self.by)]


@pytest.fixture
def desk(monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    return Desk()


def test_it_is_kept_and_shown_with_the_plan(desk: Desk) -> None:
    desk.agree(END)
    assert set(CarePlan.objects.values_list("visits_a_year", "agreed_until")) == {(12, END)}
    page = desk.browser.get(f"/systems/{desk.systems[0].pk}/plan/").content.decode()
    assert "The agreement ends on Tue 21 July 2026." in page
    bad = {"visits_a_year": "12", "agreed_until": "soon"}
    assert desk.browser.post(f"/systems/{desk.systems[0].pk}/plan/agreed/", bad).status_code == 422
    desk.agree(None)
    assert desk.due() == []


def test_due_names_it_once_and_leads_to_the_letter(desk: Desk) -> None:
    desk.agree(TODAY + dt.timedelta(days=61))
    assert desk.due() == []
    desk.agree(END)
    assert desk.due() == ["Okafor: the agreement ends on Tue 21 July; write to them"]
    (row,) = notices_waiting(desk.by)
    page = desk.browser.get(row.url).content.decode()
    assert 'value="2026-07-21"' in page
    assert row.url in desk.browser.get(reverse("office:due")).content.decode()
    path = row.url.split("?")[0]
    assert "Our agreement ends on Tuesday 21 July." in desk.browser.post(
        path, {"until": END.isoformat()}
    ).content.decode()  # fmt: skip
    assert desk.due() != []
    assert desk.browser.post(path, {"until": END.isoformat(), "send": "1"}).status_code == 302
    assert desk.due() == [], "told"


def test_once_it_is_over_due_asks_what_becomes_of_it(desk: Desk) -> None:
    desk.agree(TODAY - dt.timedelta(days=1))
    assert desk.due() == [
        "Okafor: the agreement ended on Wed 10 June; renew it, or take the system out of care"
    ]
    for row in desk.systems:
        type(row).objects.update(active=False)
    assert desk.due() == []


class TestByItself:
    def test_only_where_the_firm_wants_it(self, desk: Desk) -> None:
        desk.agree(END)
        assert ending(TODAY) == []
        values = {"quiet_client_days": "0", "renewal_days": "40", "low_stock_days": "14"}
        assert desk.browser.post("/letters/notices/", values).status_code == 302
        assert len(ending(TODAY)) == 1, "one agreement, though two systems"
        assert ending(TODAY - dt.timedelta(days=1)) == []
        assert ending(END + dt.timedelta(days=1)) == []

    def test_it_is_told_once_by_whoever_was_first(self, desk: Desk) -> None:
        Firm.objects.update(renewal_days=60)
        desk.agree(END)
        path = f"/clients/{desk.place.client_id}/letters/new/renewal/"
        desk.browser.post(path, {"until": END.isoformat(), "send": "1"})
        assert notices(TODAY, NOW) == 0, "the office has told them"
        desk.agree(END + dt.timedelta(days=1))
        for _each in range(2):
            notices(TODAY, NOW)
        assert Letter.objects.filter(kind="renewal").count() == 2, "another day is another thing"
        assert desk.due() == []
        mail.outbox.clear()
        outbox.drain(NOW)
        assert {row.subject for row in mail.outbox} == {
            "Our agreement ends on Tuesday 21 July.", "Our agreement ends on Wednesday 22 July.",
        }  # fmt: skip

    @pytest.mark.parametrize("value", ["-1", "181", "soon", ""])
    def test_a_number_of_days_that_cannot_be_meant_is_refused(self, desk: Desk, value: Any) -> None:
        values = {"quiet_client_days": "60", "renewal_days": value, "low_stock_days": "14"}
        assert desk.browser.post("/letters/notices/", values).status_code == 422
        assert Firm.objects.get().renewal_days == 0
