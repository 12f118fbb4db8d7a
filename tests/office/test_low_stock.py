"""Feed that runs out: counted by the office, named on Due, written by hand or by itself, once."""

import datetime as dt
from typing import Any

import pytest
from django.core import mail
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.models import Firm
from apps.care.models import FeedCount, Standing
from apps.clients.models import Contact
from apps.core import clock, outbox
from apps.flows.noticing import notices, running_out
from apps.office.selectors.waiting_notices import notices_waiting
from apps.reports.models import Letter
from apps.systems.models import System
from tests import factories
from tests.ahead.conftest import read
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db


class Desk:
    """The office's browser, and a client whose fish get 40 g a day."""

    def __init__(self) -> None:
        factories.firm()
        Firm.objects.update(quiet_client_days=0)
        user = factories.user("office", "office")
        self.by = factories.actor(user)
        self.client = factories.client("Okafor")
        self.built = factories.system(factories.place(self.client), "Courtyard")
        read(self.built, "feed", 40.0, 1)
        self.browser = Browser()
        self.browser.force_login(user)
        self.path = f"/systems/{self.built.system.pk}/feed/"

    def count(self, kg: str, status: int = 302, **more: str) -> str:
        """Note a count by the form."""
        sent = {"amount_kg": kg, "counted_on": TODAY.isoformat(), **more}
        answer = self.browser.post(self.path, sent)
        assert answer.status_code == status, answer.content.decode()[:1500]
        return answer.content.decode()

    def due(self) -> list[str]:
        """What Due says of feed."""
        return [row.name + row.text for row in notices_waiting(self.by)]


@pytest.fixture
def desk(monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    return Desk()


class TestCounting:
    def test_it_is_kept_and_stands_on_the_systems_page(self, desk: Desk) -> None:
        desk.count("0,4")
        row = FeedCount.objects.get()
        assert (row.amount_g, row.counted_at, row.counted_by) == (400, NOW, "office")
        page = desk.browser.get(f"/systems/{desk.built.system.pk}/").content.decode()
        assert desk.path in page
        said = "It lasts until about Sun 21 June (Fri 19 June to Tue 23 June)."
        assert f"400\xa0g of feed counted on Thu 11 June. {said}" in page

    def test_the_page_of_counts_says_which_one_counts(self, desk: Desk) -> None:
        assert "Nothing was counted here yet." in desk.browser.get(desk.path).content.decode()
        desk.count("1.5")
        desk.count("3", counted_on="2026-06-03")
        page = desk.browser.get(desk.path).content.decode()
        assert page.index("1.5\xa0kg") < page.index("3.0\xa0kg")
        assert (
            FeedCount.objects.earliest("counted_at")
            .counted_at.isoformat()
            .startswith("2026-06-03T12")
        )

    def test_what_is_odd_is_looked_at_twice(self, desk: Desk) -> None:
        assert "I have looked again" not in desk.browser.get(desk.path).content.decode()
        page = desk.count("400", 422)
        assert "This would last about 10,000 days. Is the unit right?" in page
        assert "I have looked again" in page
        assert not FeedCount.objects.exists()
        desk.count("400", sure="on")
        assert Standing.objects.get().feed_until is None, "no feed keeps for so long"

    @pytest.mark.parametrize("kg", ["", "-1", "some", "1001"])
    def test_what_cannot_be_is_refused(self, desk: Desk, kg: str) -> None:
        desk.count(kg, 422)
        desk.count("1", 422, counted_on="2026-06-12")
        assert not FeedCount.objects.exists()


class TestDue:
    def test_it_is_named_within_the_firms_days_and_leads_to_the_letter(self, desk: Desk) -> None:
        desk.count("0.56")
        assert desk.due() == [], "fourteen days from today"
        desk.count("0.52")
        assert desk.due() == [
            "Okafor, Courtyard: the feed lasts until about Wed 24 June; write to them"
        ]
        (row,) = notices_waiting(desk.by)
        assert "write to them" in desk.browser.get(reverse("office:due")).content.decode()
        page = desk.browser.get(row.url).content.decode()
        assert 'value="Fish feed"' in page
        assert 'value="2026-06-24"' in page

    def test_one_press_after_the_preview_and_it_is_told_once_a_count(self, desk: Desk) -> None:
        desk.count("0.4")
        (row,) = notices_waiting(desk.by)
        path = row.url.split("?")[0]
        sent = {"what": "Fish feed", "until": "2026-06-21",
                "count": str(FeedCount.objects.get().pk)}  # fmt: skip
        seen = desk.browser.post(path, sent).content.decode()
        assert "Fish feed will last at your place until about Sunday 21 June." in seen
        assert desk.due() != []
        assert desk.browser.post(path, sent | {"send": "1"}).status_code == 302
        assert desk.due() == []
        desk.count("0.36")
        assert len(desk.due()) == 1, "another count is another thing"

    def test_another_clients_count_is_refused(self, desk: Desk) -> None:
        desk.count("0.4")
        other = factories.client("Halloran")
        path = f"/clients/{other.pk}/letters/new/low_stock/"
        sent = {"what": "Fish feed", "count": str(FeedCount.objects.get().pk), "send": "1"}
        assert desk.browser.post(path, sent).status_code == 422
        assert not Letter.objects.exists()

    def test_none_where_the_firm_wants_none_nor_of_what_has_ended(self, desk: Desk) -> None:
        desk.count("0.4")
        Firm.objects.update(low_stock_days=0)
        assert desk.due() == []
        Firm.objects.update(low_stock_days=30)
        assert len(desk.due()) == 1
        System.objects.update(active=False)
        assert desk.due() == []

    def test_what_is_used_up_says_so(self, desk: Desk) -> None:
        desk.count("0.08", counted_on="2026-06-01")
        assert desk.due() == [
            "Okafor, Courtyard: the feed was used up on about Wed 3 June; write to them"
        ]
        (row,) = notices_waiting(desk.by)
        assert "until" not in row.url

    def test_all_of_it_in_one_query(self, desk: Desk, django_assert_num_queries: Any) -> None:
        desk.count("0.4")
        for name in ("A", "B", "C"):
            row = factories.system(desk.built.system.place, name)
            Standing.objects.filter(system=row.system).update(
                feed_until=TODAY, feed_count=str(FeedCount.objects.get().pk)
            )
        with django_assert_num_queries(1):
            assert len(desk.due()) == 4


class TestByItself:
    def test_only_where_the_firm_wants_it(self, desk: Desk) -> None:
        desk.count("0.4")
        assert running_out(TODAY) == []
        sent = {"quiet_client_days": "0", "renewal_days": "0", "low_stock_days": "12",
                "low_stock_letters": "on"}  # fmt: skip
        assert desk.browser.post("/letters/notices/", sent).status_code == 302
        assert len(running_out(TODAY)) == 1
        assert running_out(TODAY - dt.timedelta(days=2)) == []
        assert running_out(dt.date(2026, 6, 30)) == [], "long used up"
        Firm.objects.update(low_stock_days=0)
        assert running_out(TODAY) == []

    def test_it_is_told_once_a_count_in_the_readers_words(self, desk: Desk) -> None:
        Firm.objects.update(low_stock_letters=True)
        Contact.objects.update(language="es")
        desk.count("0.4")
        assert [notices(TODAY, NOW) for _each in range(2)] == [1, 0]
        assert desk.due() == []
        later = NOW + dt.timedelta(days=1)
        outbox.drain(NOW)
        (message,) = mail.outbox
        assert "Fish feed" not in message.subject
        assert "21 de junio" in message.subject
        desk.count("0.36")
        assert notices(later.date(), later) == 1, "another count is another thing"

    @pytest.mark.parametrize("value", ["-1", "61", "soon", ""])
    def test_a_number_of_days_that_cannot_be_meant_is_refused(self, desk: Desk, value: str) -> None:
        sent = {"quiet_client_days": "60", "renewal_days": "0", "low_stock_days": value}
        assert desk.browser.post("/letters/notices/", sent).status_code == 422
        assert Firm.objects.get().low_stock_days == 14
