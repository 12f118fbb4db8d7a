"""When no times can be offered, and that nothing is then written."""

import datetime as dt

import pytest

from apps.clients.models import Client, Contact, Place
from apps.core.exceptions import Invalid
from apps.flows import offering
from apps.rounds.exceptions import NoOffer
from apps.rounds.models import Hold, PlanningSettings, TimesOffered
from apps.rounds.services import absence_add
from apps.visits.models import Visit
from tests import factories
from tests.rounds.offers import DAY, NOW, H, offered, pencilled, times
from tests.rounds.world import MONDAY, TODAY, Town


class TestRefusals:
    def why(self, firm: Town, visit: Visit) -> str:
        visit = Visit.objects.select_related("place__client").get(pk=visit.pk)
        with pytest.raises(NoOffer) as caught:
            offered(firm, visit)
        assert caught.value.message
        assert (
            not TimesOffered.objects.filter(visit=visit, state="open")
            .exclude(made_at__lt=NOW)
            .exists()
            or caught.value.extra["why"] == "open"
        )
        return str(caught.value.extra["why"])

    def test_settled(self, firm: Town) -> None:
        visit = firm.book(pencilled(firm))
        assert self.why(firm, visit) == "settled"

    def test_open_already(self, firm: Town) -> None:
        visit = pencilled(firm)
        offered(firm, visit)
        assert self.why(firm, visit) == "open"

    def test_who_wants_only_to_be_told(self, firm: Town) -> None:
        visit = pencilled(firm)
        Client.objects.filter(pk=visit.place.client_id).update(just_tell=True)
        assert self.why(firm, visit) == "just_tell"

    def test_nobody_gets_letters(self, firm: Town) -> None:
        visit = pencilled(firm)
        Contact.objects.update(gets_letters=False)
        assert self.why(firm, visit) == "no_letters"

    def test_written_to_often_enough(self, firm: Town) -> None:
        PlanningSettings.objects.update(most_letters=2)
        visit = pencilled(firm)
        for _ in range(2):
            offering.take_back(offer=offered(firm, visit), by=firm.by, at=NOW)
        assert self.why(firm, visit) == "written_to_often"

    def test_not_on_the_map(self, firm: Town) -> None:
        visit = pencilled(firm)
        Place.objects.filter(pk=visit.place_id).update(latitude=None, longitude=None)
        assert self.why(firm, visit) == "no_coordinates"

    def test_three_people(self, firm: Town) -> None:
        third = factories.user("ida")
        visit = firm.pencil(firm.garden("Heron"), MONDAY, 9, firm.ana, firm.marek, third)
        assert self.why(firm, visit) == "people"

    def test_no_time_and_one_time(self, firm: Town) -> None:
        visit = pencilled(firm)
        for user in (firm.ana, firm.marek):
            absence_add(user=user, first=TODAY, last=TODAY + 40 * DAY, by=firm.by, at=NOW)
        refusal = offering.choice_of(visit, NOW).refusal
        assert refusal is not None
        assert refusal.why == "no_time"
        assert "nobody works while somebody may come" in refusal.text
        firm.ana.absences.update(last=TODAY + 5 * DAY)
        firm.ana.absences.create(first=TODAY + 7 * DAY, last=TODAY + 40 * DAY)
        assert self.why(firm, visit) == "one_time"

    def test_fewer_than_two_and_one_that_is_no_more(self, firm: Town) -> None:
        visit = pencilled(firm)
        keys = [time.key for time in offering.choice_of(visit, NOW).times]
        for asked, word in ((keys[:1], "at least two"), ([*keys[:1], "gone"], "no more")):
            with pytest.raises(Invalid, match=word) as caught:
                offered(firm, visit, keys=asked)
            assert caught.value.errors[0]["pointer"] == "/times"
        assert offered(firm, visit, keys=keys[1:]).times.count() == 2

    @pytest.mark.parametrize("until", [NOW, NOW - H, NOW + 9 * DAY])
    def test_a_deadline_that_cannot_be(self, firm: Town, until: dt.datetime) -> None:
        with pytest.raises(Invalid) as caught:
            offered(firm, pencilled(firm), until=until)
        assert caught.value.errors[0]["pointer"] == "/until"
        assert not Hold.objects.exists()

    def test_the_deadline_leaves_the_frozen_days(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        frozen = PlanningSettings.objects.get().frozen_days
        assert NOW < offer.until <= times(offer)[0].start - frozen * DAY
        later = pencilled(firm, "Mill", 7, hour=14)
        keys = [time.key for time in offering.choice_of(later, NOW).times][1:]
        PlanningSettings.objects.update(frozen_days=0)
        assert offered(firm, later, keys=keys).until == NOW + 2 * DAY
