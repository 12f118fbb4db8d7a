"""Rounds on the desk: the week as it stands, plans to accept or drop, stops elsewhere, who is away."""

import datetime as dt
import html
import re
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from apps.accounts.models import AuditEntry
from apps.core import clock, outbox
from apps.core.models import Job
from apps.flows.rounds_wording import longer_words
from apps.rounds.codec import work_of
from apps.rounds.models import Absence, Crew, PlanningSettings, RoundPlan, WorkingHours
from apps.rounds.planning.problem import Stop
from apps.visits.models import Visit
from tests import factories
from tests.rounds.world import MONDAY, TODAY, Town, town, wants

pytestmark = pytest.mark.django_db


@pytest.fixture
def firm(monkeypatch: pytest.MonkeyPatch) -> Town:
    """A firm with one garden that is due and one that is pencilled in."""
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    made = town()
    wants(made.garden("Osei"), MONDAY)
    made.pencil(made.garden("Lindqvist", north_km=4), MONDAY, 9, made.marek)
    return made


@pytest.fixture
def desk(firm: Town) -> Client:
    """The office's browser."""
    browser = Client()
    browser.force_login(firm.office)
    return browser


def planned(firm: Town, desk: Client, days: int = 2) -> RoundPlan:
    """Have some days planned from the page and let the worker make them."""
    plan = firm.plan(days=days)
    assert plan.state == "ready"
    return plan


def page(desk: Client, name: str, *args: object) -> str:
    """Return a page's text."""
    answer = desk.get(reverse(f"office:{name}", args=args))
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_the_week_shows_who_goes_where(firm: Town, desk: Client) -> None:
    text = desk.get(reverse("office:rounds"), {"from": MONDAY.isoformat()}).content.decode()
    assert "Lindqvist" in text
    assert "09:00–10:00" in text
    assert "Nobody goes out." in text


def test_a_plan_says_whose_area_a_stop_is_in(firm: Town, desk: Client) -> None:
    wants(firm.garden("Heron", area="Hillside"), MONDAY, early=0, late=0)
    WorkingHours.objects.create(
        user=firm.marek, weekday=1, starts=dt.time(8), ends=dt.time(16), area="Hillside"
    )
    plan = firm.plan(days=1)
    assert "it is their area that day" in page(desk, "round_plan", plan.pk)


def test_a_stop_after_its_care_is_late_says_so(firm: Town, desk: Client) -> None:
    wants(firm.garden("Heron"), MONDAY - dt.timedelta(days=4), early=0, late=1)
    wants(firm.garden("Sorrel"), MONDAY, early=0, late=0)
    plan = firm.plan(days=2)
    text = page(desk, "round_plan", plan.pk)
    assert re.search(r"Heron's garden</b>[^/]*<span class=\"pen\">3 days after its care is late<",
                     html.unescape(text))  # fmt: skip
    assert text.count("after its care is late") == 1
    stop = next(n for n, work in work_of(plan.work).items() if work.late == MONDAY)
    tuesday = MONDAY + dt.timedelta(days=1)
    sent = {"day": tuesday.isoformat(), "technicians": [str(firm.marek.pk)]}
    answer = desk.post(reverse("office:round_move", args=[plan.pk, stop]), sent, follow=True)
    said = "goes to Tue 16 June with Marek, 1 day after its care is late."
    assert said in html.unescape(answer.content.decode())


def test_a_visit_that_a_plan_makes_longer_says_why(firm: Town, desk: Client) -> None:
    visit = firm.pencil(firm.garden("Sorrel"), MONDAY, 11, firm.ana, minutes=20)
    takes = sum(line.minutes_planned for sheet in visit.sheets.all() for line in sheet.lines.all())
    needs = max(-(-(takes + 15) // 5) * 5, 30)
    plan = firm.plan(days=1)
    why = (
        f"{needs - 20}\xa0min longer than it stood: its checklist takes {needs}\xa0min, with words "
        "at the door and packing up"
    )
    text = html.unescape(page(desk, "round_plan", plan.pk))
    assert text.count("longer than it stood") == 1  # that of 60 min is long enough
    assert why in text
    assert "longer than it stood" not in page(desk, "visit", visit.pk)
    desk.post(reverse("office:round_accept", args=[plan.pk]))
    visit.refresh_from_db()
    assert visit.end - visit.start == dt.timedelta(minutes=needs)
    said = html.unescape(page(desk, "visit", visit.pk))
    assert f"By the plan of rounds accepted on Thu 11 June it lasts {why}." in said
    assert why in html.unescape(page(desk, "round_plan", plan.pk))
    # another length by hand is no longer the plan's
    Visit.objects.filter(pk=visit.pk).update(end=visit.end + dt.timedelta(minutes=5))
    assert "longer than it stood" not in page(desk, "visit", visit.pk)


@pytest.mark.parametrize(
    ("service", "cleaning", "booked", "said"),
    [(3600, 0, 58, "2\xa0min longer than it stood: times are planned in full five minutes"),
     (3600, 1200, 60, "20\xa0min longer than it stood: disease is suspected there, so 20\xa0min go "
      "into cleaning boots, nets and tools"), (3600, 0, 60, ""), (3600, 0, 90, ""),
     (3600, 0, None, "")],
)  # fmt: skip
def test_why_a_stop_lasts_longer(service: int, cleaning: int, booked: int, said: str) -> None:
    stop = Stop("s", "p", service, (), {}, disinfecting=cleaning)
    assert longer_words(stop, booked) == said


def test_a_plan_is_asked_for_made_and_accepted(firm: Town, desk: Client) -> None:
    sent = {"first": MONDAY.isoformat(), "days": "2", "seconds": "5"}
    answer = desk.post(reverse("office:rounds"), sent)
    plan = RoundPlan.objects.get()
    where = reverse("office:round_plan", args=[plan.pk])
    assert answer.headers["Location"] == where
    assert "Being made" in page(desk, "round_plan", plan.pk)
    plan.delete()
    plan = planned(firm, desk)
    text = page(desk, "round_plan", plan.pk)
    assert "Osei" in text
    assert "Accept it" in text
    answer = desk.post(reverse("office:round_accept", args=[plan.pk]), follow=True)
    assert "Accepted: " in answer.content.decode()
    made = Visit.objects.get(place__name="Osei's garden")
    assert made.state == "pencilled"
    # a second time: told, and nothing happens
    count = Visit.objects.count()
    answer = desk.post(reverse("office:round_accept", args=[plan.pk]), follow=True)
    assert "was accepted on" in answer.content.decode()
    assert Visit.objects.count() == count


def test_a_plan_older_than_its_visits_cannot_be_accepted(firm: Town, desk: Client) -> None:
    plan = planned(firm, desk)
    firm.pencil(firm.garden("Adeyemi"), MONDAY, 15, firm.ana)
    text = page(desk, "round_plan", plan.pk)
    assert "cannot be accepted any more" in text
    assert "Accept it" not in text
    answer = desk.post(reverse("office:round_accept", args=[plan.pk]), follow=True)
    assert "plan anew" in answer.content.decode()
    assert not Visit.objects.filter(place__name="Osei's garden").exists()


def test_a_dropped_plan_changes_nothing(firm: Town, desk: Client) -> None:
    plan = planned(firm, desk)
    before = list(Visit.objects.values_list("pk", "start", "rev"))
    desk.post(reverse("office:round_drop", args=[plan.pk]))
    plan.refresh_from_db()
    assert plan.state == "dropped"
    assert list(Visit.objects.values_list("pk", "start", "rev")) == before


def test_a_stop_goes_elsewhere_and_says_what_it_costs(firm: Town, desk: Client) -> None:
    plan = planned(firm, desk)
    stop = next(name for name, work in work_of(plan.work).items() if work.kind == "due")
    where = reverse("office:round_move", args=[plan.pk, stop])
    assert "Put Osei" in desk.get(where).content.decode()
    tuesday = MONDAY + dt.timedelta(days=1)
    answer = desk.post(
        where, {"day": tuesday.isoformat(), "technicians": [str(firm.marek.pk)]}, follow=True
    )
    text = answer.content.decode()
    assert "What this change does" in text
    assert "garden goes to Tue 16 June with Marek" in text
    assert RoundPlan.objects.filter(revises=plan, state="ready").count() == 1
    # going back leaves the plan before
    change = RoundPlan.objects.get(revises=plan)
    answer = desk.post(reverse("office:round_drop", args=[change.pk]))
    assert answer.headers["Location"] == reverse("office:round_plan", args=[plan.pk])


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"technicians": []}, "This field is required"),
        ({"time": "09:03"}, "begin on a full five minutes"),
        ({"day": "2031-01-01"}, "Select a valid choice"),
    ],
)
def test_a_stop_put_badly_is_refused_beside_its_field(
    firm: Town, desk: Client, sent: dict[str, object], says: str
) -> None:
    plan = planned(firm, desk)
    stop = next(name for name, work in work_of(plan.work).items() if work.kind == "due")
    good: dict[str, object] = {"day": MONDAY.isoformat(), "technicians": [str(firm.ana.pk)]}
    answer = desk.post(reverse("office:round_move", args=[plan.pk, stop]), good | sent)
    assert answer.status_code == 422
    assert says.lower() in answer.content.decode().lower()
    assert not RoundPlan.objects.filter(revises=plan).exists()


def test_days_that_can_hold_nothing_are_marked_and_cannot_be_chosen(
    firm: Town, desk: Client
) -> None:
    plan = firm.plan(first=dt.date(2026, 6, 12), days=4)
    stop = next(name for name, work in work_of(plan.work).items() if work.kind == "due")
    where = reverse("office:round_move", args=[plan.pk, stop])
    text = desk.get(where).content.decode()
    for day, says in (
        ("2026-06-12", "Fri 12 June 2026, settled already"),
        ("2026-06-13", "Sat 13 June 2026, nobody works"),
        ("2026-06-14", "Sun 14 June 2026, nobody works"),
    ):
        assert f'<option value="{day}" disabled>{says}</option>' in text
    assert re.search('<option value="2026-06-15"[^>]*>Mon 15 June 2026</option>', text)
    assert '<option value="2026-06-15" disabled' not in text
    answer = desk.post(where, {"day": "2026-06-13", "technicians": [str(firm.ana.pk)]})
    assert "Ana does not work on Sat 13 June; choose another day" in answer.content.decode()
    answer = desk.post(
        where, {"day": MONDAY.isoformat(), "technicians": [str(firm.ana.pk), str(firm.marek.pk)]}
    )
    assert "needs one technician; name one" in answer.content.decode()


def test_somebody_is_away_and_the_days_are_planned_anew(firm: Town, desk: Client) -> None:
    sent = {
        "technician": str(firm.marek.pk), "first": MONDAY.isoformat(), "last": MONDAY.isoformat(),
        "part": "whole", "reason": "", "plan": "on",
    }  # fmt: skip
    answer = desk.post(reverse("office:away_new"), sent)
    plan = RoundPlan.objects.get()
    assert answer.headers["Location"] == reverse("office:round_plan", args=[plan.pk])
    plan.delete()
    made = planned(firm, desk)
    people = {one["technician"] for one in made.plan["rounds"] if one["day"] == 0}
    assert str(firm.marek.pk) not in people
    absence = Absence.objects.get()
    assert (
        "Away: Marek"
        in desk.get(reverse("office:rounds"), {"from": MONDAY.isoformat()}).content.decode()
    )
    desk.post(reverse("office:away_end", args=[absence.pk]))
    assert not Absence.objects.exists()


def test_what_was_booked_with_somebody_away_is_one_click_from_other_hands(
    firm: Town, desk: Client
) -> None:
    booked = firm.book(firm.pencil(firm.garden("Adeyemi", north_km=6), MONDAY, 11, firm.marek))
    desk.post(reverse("office:away_new"), {
        "technician": str(firm.marek.pk), "first": MONDAY.isoformat(), "last": MONDAY.isoformat(),
        "part": "whole", "reason": "",
    })  # fmt: skip
    plan = planned(firm, desk)
    text = page(desk, "round_plan", plan.pk)
    assert "Marek, who was promised, does not work then" in text
    where = reverse("office:visit_move", args=[booked.pk])
    assert f'href="{where}"' in text
    # the row that no plan may move has no way there through the plan
    assert reverse("office:round_move", args=[plan.pk, f"visit:{booked.pk}"]) not in text
    assert desk.get(where).status_code == 200


def test_hours_and_skills_are_set_whole_or_not_at_all(firm: Town, desk: Client) -> None:
    where = reverse("office:crew", args=[firm.ana.pk])
    good = {
        "starts_from": "home", "where": "50.510, 4.490", "skills": "welding, fish",
        "overtime_minutes": "30", "starts_1": "07:30", "ends_1": "16:00", "lunch_1": "45",
        "area_1": "Hillside",
    }  # fmt: skip
    for wrong, says in (
        ({"ends_1": ""}, "Give both times of a day"),
        ({"ends_1": "07:00"}, "must end after it starts"),
        ({"where": ""}, "Where is home?"),
        ({"where": "the yard"}, "write decimal degrees"),
        ({"overtime_minutes": "600"}, "from 0 to 240"),
        ({"area_2": "Hillside"}, "Give the hours of this day as well."),
    ):
        answer = desk.post(where, good | wrong)
        assert answer.status_code == 422, wrong
        assert says in answer.content.decode()
        assert not Crew.objects.exists()
    assert desk.post(where, good).status_code == 302
    crew, hours = Crew.objects.get(), WorkingHours.objects.get()
    assert (crew.skills, crew.starts_from, crew.overtime_minutes) == (
        ["welding", "fish"],
        "home",
        30,
    )
    assert (hours.weekday, hours.starts, hours.lunch_minutes) == (1, dt.time(7, 30), 45)
    assert hours.area == "Hillside"
    assert (crew.latitude, crew.longitude) == (50.51, 4.49)
    assert "07:30" in desk.get(where).content.decode()
    # visit days draw to the areas' days: all are planned anew, once
    asked = Job.objects.filter(kind="care.visit_days_all")
    assert asked.count() == 1
    assert desk.post(where, good | {"ends_1": "15:00"}).status_code == 302
    assert asked.count() == 1


GOOD = {
    "where": "50.85030, 4.35170", "per_km": "0,425", "per_hour": "41.50", "sending_out": "18",
    "keeping_a_day": "0", "area_day": "7.25", "area_technician": "2.50", "detour": "1.25", "town_kmh": "22", "near_kmh": "45",
    "far_kmh": "80", "parking_minutes": "4", "days_ahead": "7", "frozen_days": "1",
    "most_letters": "2",
}  # fmt: skip


@pytest.mark.parametrize(
    ("wrong", "says"),
    [({"where": "the yard"}, "write decimal degrees"), ({"per_km": "-1"}, "from 0 to 99"),
     ({"per_hour": "41.555"}, "At most 2 decimals"), ({"area_day": ""}, "required"),
     ({"detour": "0.9"}, "from 1 to 5"), ({"town_kmh": "0"}, "from 1 to 150"),
     ({"days_ahead": "32"}, "from 1 to 31"), ({"frozen_days": "1.5"}, "whole number")],
)  # fmt: skip
def test_how_rounds_are_planned_is_refused_at_its_field(
    firm: Town, desk: Client, wrong: dict[str, str], says: str
) -> None:
    before = PlanningSettings.objects.values().get()
    answer = desk.post(reverse("office:planning"), GOOD | wrong)
    assert answer.status_code == 422
    errors = answer.context["form"].errors
    assert list(errors) == list(wrong)
    assert says in " ".join(errors[next(iter(wrong))])
    assert PlanningSettings.objects.values().get() == before


def test_how_rounds_are_planned_is_kept_exactly(firm: Town, desk: Client) -> None:
    where = reverse("office:planning")
    assert desk.post(where, GOOD).status_code == 302
    row = PlanningSettings.objects.get()
    assert (row.base_latitude, row.base_longitude) == (50.8503, 4.3517)
    assert (row.per_km, row.per_hour, row.area_day, row.area_technician) == (
        Decimal("0.425"), Decimal("41.50"), Decimal("7.25"), Decimal("2.50"),
    )  # fmt: skip
    assert (row.detour, row.frozen_days, row.most_letters) == (1.25, 1, 2)
    # what the page shows can be kept as it stands
    shown = desk.get(where).context["form"]
    again = {name: str(shown[name].value()) for name in GOOD}
    assert desk.post(where, again).status_code == 302
    assert PlanningSettings.objects.get().per_km == Decimal("0.425")
    entry = AuditEntry.objects.filter(verb="planning set").order_by("at").first()
    assert entry is not None
    assert entry.change["per_km"] == ["0.400", "0.425"]


def test_before_anything_is_kept_the_page_shows_what_holds(firm: Town, desk: Client) -> None:
    PlanningSettings.objects.all().delete()
    where = reverse("office:planning")
    shown = desk.get(where).context["form"]
    assert (shown["per_km"].value(), shown["where"].value()) == ("0.4", "")
    assert desk.post(where, GOOD).status_code == 302
    assert PlanningSettings.objects.get().pk == 1


def test_a_third_person_at_a_booked_visit_who_falls_ill_leaves_a_page_to_read(
    firm: Town, desk: Client
) -> None:
    third = factories.user("ines")
    visit = firm.pencil(firm.garden("Adeyemi"), MONDAY, 13, firm.ana, firm.marek, third)
    firm.book(visit)
    Absence.objects.create(user=third, first=MONDAY, last=MONDAY)
    plan = planned(firm, desk)
    text = page(desk, "round_plan", plan.pk)
    # the planner has a stop of its own for whoever is the third, and names it with a slash
    assert f"visit:{visit.pk}/2" in work_of(plan.work)
    assert "Adeyemi" in text
    where = reverse("office:round_move", args=[plan.pk, f"visit:{visit.pk}/2"])
    assert desk.get(where).status_code == 200


def test_a_day_that_has_gone_by_is_not_planned(firm: Town, desk: Client) -> None:
    sent = {"first": (TODAY - dt.timedelta(days=1)).isoformat(), "days": "2", "seconds": "5"}
    answer = desk.post(reverse("office:rounds"), sent)
    assert answer.status_code == 422
    assert "This day has gone by" in answer.content.decode()
    assert not RoundPlan.objects.exists()
