"""Times offered to a client, told to the office and to the client in the pseudo language."""

import pytest
from django.urls import reverse

from apps.accounts.services import link_issue
from apps.clients.models import Client, Place
from apps.flows import offering
from apps.reports.models import Letter
from apps.rounds.models import TimesOffered
from apps.rounds.services.offers import time_gone
from apps.visits.models import Visit
from tests import factories
from tests.language.conftest import everybody_reads, plain_on
from tests.language.pseudo import Pseudo
from tests.language.test_told import letter_of
from tests.reader import Reader as Browser
from tests.rounds.conftest import firm  # noqa: F401
from tests.rounds.world import MONDAY, Town

NOW = factories.NOW
WORDS = "Only Fridays"


@pytest.fixture
def visit(firm: Town, pseudo: Pseudo) -> Visit:  # noqa: F811
    """A pencilled visit to somebody who reads the pseudo language."""
    built = firm.garden("Heron", 5)
    everybody_reads()
    return firm.pencil(built, MONDAY, 9)


def read(browser: Browser, address: str, **sent: object) -> None:
    """Look at a page, or send its form, and find nothing plain on it."""
    answer = browser.post(address, sent, follow=True) if sent else browser.get(address)
    assert not (plain := plain_on(answer.content.decode(), WORDS)), plain


def test_the_offices_pages(visit: Visit, firm: Town) -> None:  # noqa: F811
    browser = Browser()
    browser.force_login(firm.office)
    page = reverse("office:visit_offer", args=[visit.pk])
    read(browser, page)
    read(browser, page, times=["x"], until="2020-01-01", until_time="x")
    offer = offering.offer(visit=visit, by=firm.by, at=NOW)
    time_gone(time=offer.times.all()[0], by=firm.by, at=NOW)
    for address in (
        page, reverse("office:visit", args=[visit.pk]), reverse("office:rounds"),
        reverse("office:offer_pick", args=[offer.pk]), reverse("office:offer_back", args=[offer.pk]),
    ):  # fmt: skip
        read(browser, address)
    read(browser, reverse("office:offer_pick", args=[offer.pk]), time="x")
    offering.lapse(offer_id=offer.pk, at=offer.until)
    for name, args in (("visit", [visit.pk]), ("due", [])):
        read(browser, reverse(f"office:{name}", args=args))


def test_why_none_can_be_offered(visit: Visit, firm: Town) -> None:  # noqa: F811
    browser = Browser()
    browser.force_login(firm.office)
    page = reverse("office:visit_offer", args=[visit.pk])
    Place.objects.update(latitude=None, longitude=None)
    read(browser, page)
    Client.objects.update(just_tell=True)
    read(browser, page)
    read(browser, page, times=["x"])


def test_the_letter_and_the_clients_page(visit: Visit, firm: Town) -> None:  # noqa: F811
    offer = offering.offer(visit=visit, by=firm.by, at=NOW)
    for where, part in letter_of(Letter.objects.get(kind="times")):
        assert not (plain := plain_on(part)), f"{where}: {plain}"
    secret = link_issue(client_id=visit.place.client_id, purpose="page", at=NOW, secret="s" * 43)
    browser, page = Browser(), reverse("portal:page", args=[secret])
    answer = reverse("portal:times", args=[secret, offer.pk])
    first, second = offer.times.all()[:2]
    time_gone(time=first, by=firm.by, at=NOW)
    read(browser, page)
    read(browser, answer, time="x")
    read(browser, answer, time=str(first.pk))
    read(browser, answer, answer="none")
    read(browser, answer, time=str(second.pk))
    read(browser, answer, time=str(offer.times.all()[2].pk))
    for word, letter in (("appointment", Letter.objects.get(kind="appointment")),):
        for where, part in letter_of(letter):
            assert not (plain := plain_on(part)), f"{word} {where}: {plain}"


@pytest.mark.parametrize("end", ["lapsed", "none_suits", "taken_back"])
def test_the_clients_page_once_it_ended(visit: Visit, firm: Town, end: str) -> None:  # noqa: F811
    offer = offering.offer(visit=visit, by=firm.by, at=NOW)
    if end == "lapsed":
        offering.lapse(offer_id=offer.pk, at=offer.until)
    elif end == "none_suits":
        offering.none_suits(offer=offer, words=WORDS, by=firm.by, at=NOW)
    else:
        offering.take_back(offer=offer, by=firm.by, at=NOW)
    assert TimesOffered.objects.get().state == end
    secret = link_issue(
        client_id=visit.place.client_id, purpose="appointment", at=NOW, subject_id=visit.pk,
        secret="s" * 43,
    )  # fmt: skip
    read(Browser(), reverse("portal:page", args=[secret]))
