"""The page Ahead: what it says in words, what stands behind the pictures, who may look."""

import datetime as dt
from typing import Any

import pytest

from apps.ahead.codec import VERSION, outlook_kept
from apps.ahead.models import LoopForecast
from apps.ahead.selectors import forecasts_of
from apps.calc.ahead.outlook import Crossing
from apps.calc.ahead.wishes import Wishes
from apps.core.models import Job
from apps.flows.ahead import forecasts_make
from apps.office.forms.ahead import WhatIfForm
from apps.visits.models import Visit
from tests import factories
from tests.ahead.climates import climate
from tests.ahead.conftest import decoupled, read
from tests.ahead.outlooks import fan, keep, outlook
from tests.factories import NOW, TODAY
from tests.office.conftest import Desk

pytestmark = pytest.mark.django_db


@pytest.fixture
def seen(desk: Desk) -> Desk:
    """A desk whose system was read a few times and has a forecast."""
    for ago in (50, 35, 21, 7, 2):
        read(desk.built, "no2", 0.1 + (50 - ago) / 500, ago)
    read(desk.built, "fe", 1.2, 4)
    keep(desk.built)
    return desk


def page(desk: Desk) -> str:
    answer = desk.get("ahead", desk.built.system.pk)
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_it_says_when_and_how_sure(seen: Desk) -> None:
    said = page(seen)
    assert "Nitrite as N may pass 0.5\u00a0mg/L around Mon 6 July (80 %: 1–17 July)." in said
    assert "31 of 38 later readings lay inside" in said
    assert "too few readings yet to say how often it is right" in said
    assert "Somebody should come by Sat 27 June." in said
    # what was read and has no fan of its own
    assert "Too few readings yet: iron." in said
    # alkalinity passes no limit: 80 - 42 x 0.7, and a fan that opens
    assert "on Thu 23 July (80 %: 40 to 61); no limit is in sight." in said
    assert "Alkalinity is most likely 51\u00a0mg/L" in said


def test_what_passes_a_limit_stands_first(seen: Desk) -> None:
    keep(seen.built, crossings=(Crossing("no3", "above", 100.0, 28.0, 36.4, None),))
    (loop,) = seen.get("ahead", seen.built.system.pk).context["loops"]
    assert loop.fans[0].code == "no3"
    assert [item.crosses for item in loop.fans] == [True, False, False]


def test_the_picture_says_its_sentence_and_a_table_stands_behind_it(seen: Desk) -> None:
    said = page(seen)
    assert 'aria-label="Nitrite as N may pass' in said
    # on 16 July, five weeks on: 0.2 + 35 x 0.012
    assert '<th scope="row">Thu 16 July</th><td class="number">0.62</td>' in said


def test_what_it_takes_until_the_visit_that_stands(seen: Desk) -> None:
    assert "Until Sat 27 June, when somebody should come" in page(seen)
    seen.booked(start=NOW + dt.timedelta(days=14))
    said = page(seen)
    assert "The visit on Thu 25 June is in time." in said
    assert "Until the visit on Thu 25 June" in said
    assert "1.7\u00a0kg" in said


def test_a_promised_visit_is_not_moved_but_told(seen: Desk) -> None:
    visit = seen.booked(start=NOW + dt.timedelta(days=30))
    keep(seen.built, crossings=(Crossing("no2", "above", 0.5, 5.0, 6.0, 8.0),))
    visit.refresh_from_db()
    assert visit.start == NOW + dt.timedelta(days=30)
    assert "comes after that; it stays as promised until you move it." in page(seen)


def test_a_visit_that_is_only_pencilled_in_was_promised_to_nobody(seen: Desk) -> None:
    seen.pencil(start=NOW + dt.timedelta(days=30))
    keep(seen.built, crossings=(Crossing("no2", "above", 0.5, 2.0, 4.0, 8.0),))
    for said in (page(seen), seen.get("due").content.decode()):
        assert "comes after that; it may move with the next plan." in said
        assert "as promised" not in said


def test_oxygen_that_runs_short_is_a_word_too(seen: Desk) -> None:
    from apps.calc.ahead.outlook import StockDay

    keep(seen.built, stock=(StockDay(0.0, 200, 8, 8, 120, 4.6, -0.4),))
    assert "−0.4 <b>short</b>" in page(seen)


def test_what_held_too_seldom_says_that_it_moves_no_date(seen: Desk) -> None:
    words = "20 of 40 later readings lay inside"
    keep(seen.built, fans=(fan("no2", 0.2, 0.012, hit_rate=0.5, judged=40),), crossings=())
    assert f"{words}; it moves no date" in page(seen)
    keep(seen.built, fans=(fan("no2", 0.2, 0.012, hit_rate=0.7, judged=40),), crossings=())
    assert "28 of 40 later readings lay inside</p>" in page(seen)


def test_where_one_forecast_takes_over_from_another(seen: Desk) -> None:
    turned = fan("no2", 0.2, 0.012, turns=((0.0, "steady"), (7.0, "balance")))
    keep(seen.built, fans=(turned,), crossings=())
    words = "Last reading carried on; from Thu 18 June on more and more: mass balance ·"
    assert words in page(seen)
    keep(seen.built, fans=(fan("no2", 0.2, 0.012),), crossings=())
    assert "more and more" not in page(seen)


def test_it_says_whose_climate_it_went_by(seen: Desk) -> None:
    assert "Warmth follows the usual year at this latitude" not in page(seen)
    assert "The place has no position and no climate normals" in page(seen)
    climate()
    keep(seen.built)
    assert "follow the firm&#x27;s climate normals" in page(seen)
    climate(seen.place)
    keep(seen.built)
    assert "follow this place&#x27;s climate normals" in page(seen)
    assert "The water&#x27;s temperature was never read" in page(seen)
    read(seen.built, "temp", 25.0, 3)
    keep(seen.built)
    assert "was never read" not in page(seen)


def test_nothing_yet(desk: Desk) -> None:
    assert "There is no forecast yet" in page(desk)


def test_a_forecast_is_asked_for_by_a_post_alone(seen: Desk) -> None:
    Job.objects.all().delete()
    page(seen)
    assert not Job.objects.filter(kind="ahead.make").exists()
    for _turn in range(2):
        answer = seen.post("ahead", seen.built.system.pk)
        assert answer.status_code == 302
    assert Job.objects.filter(kind="ahead.make").count() == 1


def test_a_technician_reads_no_page_of_the_office(seen: Desk) -> None:
    seen.browser.force_login(seen.ana)
    answer = seen.get("ahead", seen.built.system.pk)
    assert answer.status_code in (302, 403, 404)


def test_queries_do_not_grow_with_readings_and_fans(seen: Desk, same_queries: Any) -> None:
    def grow() -> None:
        for ago in range(1, 30):
            read(seen.built, "ph", 6.9, ago)
        keep(seen.built, fans=tuple(fan(code, 1.0, 0.01) for code in ("no2", "ph", "tan", "k")))

    assert same_queries(lambda: page(seen), grow) <= 30


def test_due_names_the_crossing_and_the_plan_its_basis(seen: Desk) -> None:
    factories.quiet(seen.built)
    from apps.care.services import standing_refresh_dates

    standing_refresh_dates([seen.built.system.pk], NOW)
    keep(seen.built, crossings=(Crossing("no2", "above", 0.5, 2.0, 4.0, 8.0),
                                Crossing("no3", "above", 100.0, 3.0, 6.0, 9.0)))  # fmt: skip
    due = seen.get("due").content.decode()
    assert "may pass 0.5\u00a0mg/L around Mon 15 June (80 %: 13–19 June)." in due
    assert "crosses Mon 15 June" in due
    plan = seen.get("plan", seen.built.system.pk).content.decode()
    assert "by the forecast" in plan
    assert TODAY.isoformat() == "2026-06-11"


@pytest.fixture
def learnt(desk: Desk) -> Desk:
    """A desk whose system was read every week and has a real forecast."""
    for ago in range(56, 0, -7):
        for code, value in (("temp", 27.0), ("ph", 7.0), ("alk", 75.0), ("tan", 0.25),
                            ("no2", 0.1), ("no3", 40 + (56 - ago) / 3), ("do", 6.5)):  # fmt: skip
            read(desk.built, code, value, ago)
        read(desk.built, "feed", 120, ago)
    forecasts_make(system_ids=[desk.built.system.pk], at=NOW)
    return desk


def ask(desk: Desk, status: int = 200, **query: str) -> Any:
    answer = desk.get("what_if", desk.built.system.pk, **query)
    assert answer.status_code == status
    return answer


def test_two_futures_beside_each_other(learnt: Desk) -> None:
    answer = ask(learnt, fewer="35")
    (loop,) = answer.context["loops"]
    nitrate = next(item for item in loop.changed if item.code == "no3")
    assert 'class="k-likely"' in nitrate.wide
    assert nitrate.before != nitrate.after
    said = answer.content.decode()
    assert "With the change" in said
    assert "As it is" in said


def test_what_does_not_change_is_named_not_drawn(learnt: Desk) -> None:
    (loop,) = ask(learnt, holiday_days="1").context["loops"]
    assert "PH" not in [*loop.same, *[item.name for item in loop.changed]]
    assert loop.same


def test_a_change_of_the_fish_loop_reaches_the_plants(learnt: Desk) -> None:
    plants = decoupled(learnt.built)
    for ago in (21, 14, 7):
        read(learnt.built, "no3", 60.0, ago, loop=plants)
    forecasts_make(system_ids=[learnt.built.system.pk], at=NOW)
    both = {loop.name: loop for loop in ask(learnt, fewer="35").context["loops"]}
    changed = {name: {item.code: item for item in loop.changed} for name, loop in both.items()}
    assert "no3" in changed["Fish loop"]
    assert "no3" in changed["Plant loop"]
    words = changed["Plant loop"]["no3"]
    assert words.before != words.after
    # what concerns the plants alone does not flow back
    both = {loop.name: loop for loop in ask(learnt, more_beds_m2="4").context["loops"]}
    assert not both["Fish loop"].changed
    assert both["Plant loop"].changed


def test_minutes_of_oxygen_without_the_pump(learnt: Desk) -> None:
    answer = ask(learnt, pump_hours="3", pump_temp_c="31")
    (row,) = answer.context["pump"]
    # 40 fish of some 300 g in 1,000 L from 6.5 mg/L down to what they stand: far less than 3 h
    assert row["short"]
    assert "less than the 3\u00a0h." in row["text"] or "less than the 3 h." in row["text"]
    assert "backup air first" in answer.content.decode()
    assert "loops" not in answer.context or not answer.context["loops"]


def test_the_pump_counts_from_the_oxygen_read_last(learnt: Desk) -> None:
    def minutes() -> tuple[int, Any]:
        (row,) = ask(learnt, pump_hours="3", pump_temp_c="31").context["pump"]
        return int(row["text"].split("about ")[1].split()[0]), dict(row["inputs"]).values()

    before, _inputs = minutes()
    read(learnt.built, "do", 4.9, 1)
    after, inputs = minutes()
    assert "4.9\u00a0mg/L" in inputs
    # from 4.9 down to what tilapia stand, 3 mg/L, instead of from 6.5
    assert after == pytest.approx(before * 1.9 / 3.5, abs=1.5)


def test_what_is_typed_is_what_is_asked() -> None:
    form = WhatIfForm({"protein": "45", "fewer": "3", "warmer_c": "4,5", "warm_days": "7"}, fish=9)
    assert form.is_valid()
    assert form.wishes() == Wishes(fewer=3, protein=0.45, warmer_c=4.5, warm_days=7)


def test_a_forecast_kept_in_an_older_shape_is_made_anew(seen: Desk) -> None:
    LoopForecast.objects.update(version=VERSION - 1)
    assert "There is no forecast yet" in page(seen)


def test_a_forecast_is_read_by_those_who_see_its_loop(seen: Desk) -> None:
    pk = seen.built.system.pk
    assert forecasts_of(seen.actor, pk)
    assert not forecasts_of(factories.actor(seen.ana), pk)
    seen.booked()
    assert forecasts_of(factories.actor(seen.ana), pk)


@pytest.mark.parametrize(
    ("query", "field"),
    [({"fewer": "41"}, "fewer"), ({"fewer": "-1"}, "fewer"), ({"warmer_c": "4"}, "warm_days"),
     ({"warm_days": "4"}, "warmer_c"), ({"protein": "99"}, "protein"), ({"fewer": ""}, "__all__"),
     ({"pump_hours": "1e999"}, "pump_hours"), ({"change_l": "x"}, "change_l")],
)  # fmt: skip
def test_what_cannot_be_is_refused_at_its_field(
    learnt: Desk, query: dict[str, str], field: str
) -> None:
    assert field in ask(learnt, 422, **query).context["form"].errors


def test_no_more_water_is_changed_than_there_is(learnt: Desk) -> None:
    # the loop holds 1500 L
    answer = learnt.get("what_if", learnt.built.system.pk, change_l="1501")
    assert answer.status_code == 422
    assert "1,500" in str(answer.context["form"].errors["change_l"])
    assert learnt.get("what_if", learnt.built.system.pk, change_l="1500").status_code == 200


def test_a_what_if_keeps_nothing(learnt: Desk) -> None:
    before = list(LoopForecast.objects.values()), Job.objects.count()
    ask(learnt, fewer="10", change_l="300", more_beds_m2="2", warmer_c="3", warm_days="5")
    assert (list(LoopForecast.objects.values()), Job.objects.count()) == before


def test_without_a_forecast_nothing_can_be_asked(desk: Desk) -> None:
    assert "There is no forecast yet" in ask(desk, fewer="1").content.decode()


def test_the_page_of_a_system_shows_what_comes_first(seen: Desk) -> None:
    answer = seen.get("system", seen.built.system.pk)
    assert answer.context["first"].code == "no2"
    said = answer.content.decode()
    assert "Ahead: Nitrite" in said
    assert "may pass 0.5\u00a0mg/L around Mon 6 July" in said
    keep(seen.built, crossings=())
    said = seen.get("system", seen.built.system.pk).content.decode()
    assert "No limit is in sight within six weeks that a forecast with a record would name." in said


def test_due_tells_of_a_promise_that_comes_too_late(seen: Desk) -> None:
    seen.booked(start=NOW + dt.timedelta(days=9))
    keep(seen.built, crossings=(Crossing("no2", "above", 0.5, 2.0, 4.0, 8.0),))
    said = seen.get("due").content.decode()
    assert "The visit on Sat 20 June comes after that; it stays as promised" in said
    told = "a limit is most likely passed on Mon 15 June, before the visit on Sat 20 June"
    assert told in said
    Visit.objects.update(start=NOW + dt.timedelta(days=1), end=NOW + dt.timedelta(days=1, hours=1))
    said = seen.get("due").content.decode()
    assert "comes after that" not in said
    assert "before the visit on" not in said


def test_as_it_is_is_the_course_of_the_page_ahead(learnt: Desk) -> None:
    # the forecast that stands says 60 + 42 x 1.1, whatever the balance thinks
    stands = outlook(fans=(fan("no3", 60, 1.1, method="trend"),), crossings=())
    LoopForecast.objects.update(outlook=outlook_kept(stands))
    (loop,) = ask(learnt, fewer="40").context["loops"]
    nitrate = next(item for item in loop.changed if item.code == "no3")
    assert nitrate.before.startswith("106\u00a0mg/L after six weeks")
    assert nitrate.before != nitrate.after
