"""Driving times by a road engine where one is set, estimated and marked so where it does not answer."""

import pytest

from apps.flows.rounds_wording import failed_text
from apps.rounds.planning.table import TableService
from apps.rounds.selectors import gather
from apps.rounds.selectors import roads as module
from apps.rounds.selectors.shown import plan_shown
from tests.rounds.world import MONDAY, TODAY, Town, wants


def test_no_engine_is_set() -> None:
    assert module.service_of("") is None
    assert module.service_of("  ") is None


def test_the_setting_names_style_and_address() -> None:
    found = module.service_of("osrm https://roads.example/base/")
    assert found == TableService("osrm", True, "roads.example", 443, "/base")


@pytest.mark.parametrize(
    ("written", "said"),
    [("carrier http://roads.example", "style carrier must be one of"),
     ("osrm roads.example", "must begin with http"), ("http://roads.example", "style http")],
)  # fmt: skip
def test_a_bad_setting(written: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        module.service_of(written)


def test_an_engine_that_does_not_answer(firm: Town, settings: object) -> None:
    settings.BACKYARD_ROADS = "osrm http://127.0.0.1:9"  # discard: nothing listens there
    wants(firm.garden("Heron"), MONDAY)
    assert gather(MONDAY, 1, TODAY).problem.travel.any_estimated
    plan = firm.plan()
    assert (plan.state, plan.plan["estimated"]) == ("ready", True)


def test_what_the_engine_says_is_planned_with(
    firm: Town, settings: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.BACKYARD_ROADS = "osrm http://roads.example"
    real = module.estimate

    def measured(places, service, speeds):
        found = real(places, speeds)
        count = len(found.places)
        minutes = [[0 if n == m else 1234 for m in range(count)] for n in range(count)]
        marks = [[False] * count for _ in range(count)]
        return type(found)(found.places, found.metres, minutes, marks)

    monkeypatch.setattr(module, "measured", measured)
    wants(firm.garden("Heron"), MONDAY)
    plan = firm.plan()
    [made] = plan.plan["rounds"]
    call = made["calls"][0]
    assert plan.plan["estimated"] is False
    assert call[2] - made["leave"] == 1500  # 1,234 s up to full five minutes


def test_a_bad_setting_fails_the_plan_in_words(firm: Town, settings: object) -> None:
    settings.BACKYARD_ROADS = "carrier http://roads.example"
    plan = firm.plan()
    assert (plan.state, plan.plan) == ("failed", None)
    assert "style carrier must be one of" in failed_text(plan_shown(plan))
