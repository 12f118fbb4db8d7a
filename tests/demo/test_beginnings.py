"""What the demo firm has begun: a proposal that waits for its client, a filter coming in."""

import pytest
from django.test import Client as Browser

from apps.accounts.models import User
from apps.care.models import CareTask
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.core.scoping import system as system_actor
from apps.office.selectors import first_weeks as first
from apps.office.selectors.waiting_proposals import proposals_waiting
from apps.proposals.models import Proposal, SiteSurvey
from apps.proposals.selectors import sum_of, with_stand
from apps.reports.models import Letter
from apps.reports.rendering.child import CHILD
from apps.systems.models import System
from demo import beginnings
from demo.firm.keys import key

pytestmark = pytest.mark.django_db


@pytest.fixture
def begun(firm, monkeypatch):
    """The firm with what it has begun, its papers not drawn."""
    monkeypatch.setattr(CHILD, "draw", lambda *_args: b"%PDF-1.7")
    monkeypatch.setattr(clock, "now", lambda: firm.at)
    beginnings.begin(firm.at)
    return firm


def test_a_wish_was_surveyed_and_its_proposal_waits_for_the_client(begun):
    survey = SiteSurvey.objects.get()
    assert survey.photos.count() == 2
    assert survey.water.alkalinity_mg_l_caco3 == 88
    row = with_stand(Proposal.objects.all(), begun.today).get()
    assert (row.stand, row.survey) == ("sent", survey)
    assert not sum_of(row, "EUR").unpriced
    letter = Letter.objects.get(kind="proposal")
    assert (letter.state, letter.made_at.date()) == ("sent", row.versions.get().made_at.date())
    assert not System.objects.filter(place=row.place).exists()
    # nothing of it waits for the office yet
    assert proposals_waiting(system_actor("test", begun.at)) == []


def test_a_filter_comes_in_as_its_curve_says(begun):
    system = System.objects.get(pk=key("system", "kim"))
    catalogue = catalogue_current()
    tasks = first.first_tasks(system, catalogue)
    shown = first.tasks_shown(tasks, catalogue, begun.today)
    assert not [row["name"] for row in shown if row["late"]]
    assert {row["task"].code for row in shown if row["done"]} >= {
        "leak_test_standing", "leak_test_running", "filter_start",
    }  # fmt: skip
    assert CareTask.objects.get(system=system, code="cycle_test_first").next_due > begun.today
    loop = system.loops.get()
    dosed = first.dosed_on(system, tasks)
    assert dosed == system.started_on
    rows = first.readings_from(loop, dosed, begun.at)
    curves = first.curves_shown(rows, first.mean_temp(rows, 25.0), dosed, begun.today, catalogue)
    assert [curve.name for curve in curves if curve.off] == []
    assert len({row.taken_at for row in rows if row.measurand == "tan"}) >= 3


def test_its_pages_open(begun):
    browser = Browser()
    browser.force_login(User.objects.get(username="office"))
    page = browser.get("/proposals/").content.decode()
    assert beginnings.PROPOSED in page
    assert "with the client" in page
    survey = SiteSurvey.objects.get()
    assert "The old rain barrel" in browser.get(f"/surveys/{survey.pk}/").content.decode()
