"""A dosing plan as the office works it out and puts it among the open advice."""

import datetime as dt

import pytest
from django.urls import reverse

from apps.advice.models import Advice
from apps.advice.selectors import advice_text
from apps.calc.dosing_plan.products import PRODUCTS
from apps.core import clock
from apps.systems.models import Loop
from tests import factories
from tests.office.conftest import Desk

LOW = {
    "ph": (6.5, ""), "alk": (30.0, "mg/L CaCO3"), "temp": (26.0, "°C"), "tan": (0.2, "mg/L"),
    "k": (12.0, "mg/L"),
}  # fmt: skip
READ = {"ph": "6.5", "alk": "30", "temp": "26", "tan": "0.2", "k": "12"}
ALL = list(PRODUCTS)


def asked(goal: str = "alkalinity", target: str = "60", **more: object) -> dict[str, object]:
    """The form of a plan."""
    plain = {
        "every_days": "1",
        "who": "client",
        "scale_g": "0.1",
        "volume_l": "1500",
        "acid": "HCl",
    }
    return {"goal": goal, "target": target, "at_hand": ALL, **plain, **READ, **more}


@pytest.fixture
def loop(desk: Desk) -> Loop:
    """The household's loop, read two hours ago; nothing of that visit is advised any more."""
    desk.written_up(**LOW)
    Advice.objects.all().delete()
    return desk.built.loop


def test_it_starts_from_the_last_trusted_readings_with_their_age(desk: Desk, loop: Loop) -> None:
    answer = desk.get("loop_dosing", loop.pk)
    form = answer.context["form"]
    assert form["alk"].value() == "30"
    assert "20 min ago" in form["alk"].help_text
    assert form["no2"].value() is None
    assert "not read" in form["no2"].help_text
    assert form["volume_l"].value() == "1500"
    assert answer.context["answer"] is None


def test_the_steps_in_grams_days_and_ph(desk: Desk, loop: Loop) -> None:
    answer = desk.get("loop_dosing", loop.pk, **asked())
    assert answer.status_code == 200
    first, second = answer.context["answer"]["steps"][:2]
    assert first["name"] == "Potassium bicarbonate, KHCO3"
    # 30 x (10^0.2 - 1) = 17.5 mg/L CaCO3, / 0.4999 x 1500 L = 52.6 g, and a little for activity
    assert first["grams"] == "53.2\N{NO-BREAK SPACE}g"
    assert (first["minutes"], first["hours"], first["stop"]) == ("6.70", "6.70", "6.7")
    assert first["client"]
    assert second["name"] == "Hydrated lime, Ca(OH)2"
    assert not second["client"]
    assert second["day"] - first["day"] == dt.timedelta(days=1)
    page = answer.content.decode()
    assert "Burns skin and blinds" in page
    assert "Sodium was not measured" in page
    assert "53.2\N{NO-BREAK SPACE}g" in answer.context["answer"]["client"][0][1]


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [({"volume_l": ""}, "volume_l", "Write how many it holds"),
     ({"alk": ""}, "alk", "No trusted reading"), ({"tan": "1.4"}, "tan", "above 1 a base"),
     ({"target": ""}, "target", "how far"), ({"target": "20"}, "target", "at 30 already"),
     ({"target": "400"}, "target", "Write 120 or less"), ({"at_hand": "KCl"}, "at_hand", "None of the bases"),
     ({"scale_g": "1", "volume_l": "60", "alk": "8"}, "scale_g", "too coarse"),
     ({"goal": "source"}, "source_alk", "not on record"),
     ({"goal": "source", "source_alk": "50", "source_ph": "7"}, "target", "no acid is needed"),
     ({"goal": "source", "source_alk": "180", "source_ph": "7.8"}, "acid_pct", "percent on its label"),
     ({"goal": "source", "source_alk": "180"}, "source_ph", "go together"),
     ({"goal": "chloride"}, "no2", "No trusted reading"), ({"ph": "71"}, "ph", "from 3 to 11")],
)  # fmt: skip
def test_refusals_stand_beside_their_field(
    desk: Desk, loop: Loop, change: dict[str, str], field: str, says: str
) -> None:
    answer = desk.get("loop_dosing", loop.pk, **(asked() | change))
    assert answer.status_code == 422
    assert says in " ".join(answer.context["form"].errors[field])
    assert answer.context["answer"] is None


def test_a_volume_known_roughly_gives_no_plan_until_it_is_measured(desk: Desk, loop: Loop) -> None:
    loop.volume_known_within_pct = 25
    loop.save()
    refused = desk.get("loop_dosing", loop.pk, **asked())
    assert "known within 25 % only" in refused.context["form"].errors["volume_l"][0]
    assert desk.get("loop_dosing", loop.pk, **asked(volume_l="1480")).status_code == 200


def test_an_old_reading_is_refused_and_a_new_one_typed_over_it_serves(
    desk: Desk, loop: Loop, monkeypatch: pytest.MonkeyPatch
) -> None:
    later(monkeypatch, 50)
    refused = desk.get("loop_dosing", loop.pk, **asked())
    assert "50 hours old" in refused.context["form"].errors["alk"][0]
    assert "50 hours old" in refused.context["form"].errors["ph"][0]
    assert "tan" not in refused.context["form"].errors
    assert desk.get("loop_dosing", loop.pk, **asked(alk="31", ph="6.4")).status_code == 200
    assert desk.get("loop_dosing", loop.pk, **asked(just_measured="on")).status_code == 200


def press(desk: Desk, loop: Loop, **more: object) -> object:
    """Put the steps of a plan among the open advice."""
    url = desk.browser.get(reverse("office:loop_dosing", args=[loop.pk]), asked(**more)).request
    return desk.browser.post(f"{url['PATH_INFO']}?{url['QUERY_STRING']}")


def test_a_press_puts_the_steps_among_the_open_advice(desk: Desk, loop: Loop) -> None:
    answer = press(desk, loop)
    assert answer.status_code == 302
    client, technician = Advice.objects.order_by("position")
    assert (client.who, client.dose, client.unit) == ("client", 53.2, "g")
    assert client.sheet is None
    assert technician.parameters["steps"][0]["substance"] == "Ca(OH)2"
    assert technician.parameters["steps"][0]["after_hours"] == 24
    text = advice_text(client.rule, client.parameters)
    assert text.startswith("Dosing plan for Alkalinity")
    assert "of potassium bicarbonate" in text
    page = desk.get("system", loop.system_id).content.decode()
    assert "Dosing plan for Alkalinity" in page
    assert "hydrated lime" in page


def later(monkeypatch: pytest.MonkeyPatch, hours: float) -> None:
    """Let time pass."""
    monkeypatch.setattr(clock, "now", lambda: factories.NOW + dt.timedelta(hours=hours))


def test_a_second_plan_replaces_the_first_and_counts_what_it_gave(
    desk: Desk, loop: Loop, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert press(desk, loop, goal="k", target="40").status_code == 302
    first = Advice.objects.get()
    later(monkeypatch, 1)
    page = desk.get("loop_dosing", loop.pk, **asked("k", "40"))
    assert len(page.context["given"]) == 1
    # the first step brought 10 of 20 mg/L
    steps = page.context["answer"]["steps"]
    assert steps[0]["week"][0].startswith("Potassium 20.0 of 20")
    press(desk, loop, goal="k", target="40")
    first.refresh_from_db()
    assert first.closed_as == "replaced"
    assert Advice.objects.filter(closed_at=None).count() == 1


def test_later_steps_count_from_their_day_on(
    desk: Desk, loop: Loop, monkeypatch: pytest.MonkeyPatch
) -> None:
    press(desk, loop, goal="k", target="40")
    for hours, count in ((71, 1), (73, 2), (170, 2)):
        later(monkeypatch, hours)
        assert len(desk.get("loop_dosing", loop.pk).context["given"]) == count, hours


def test_no_second_base_within_a_day(
    desk: Desk, loop: Loop, monkeypatch: pytest.MonkeyPatch
) -> None:
    press(desk, loop)
    later(monkeypatch, 3)
    refused = desk.get("loop_dosing", loop.pk, **asked())
    assert "given 3 hours ago" in refused.context["form"].errors["alk"][0]


def test_what_was_dropped_at_once_was_not_given(
    desk: Desk, loop: Loop, monkeypatch: pytest.MonkeyPatch
) -> None:
    press(desk, loop)
    later(monkeypatch, 1)
    for row in Advice.objects.all():
        desk.post("advice_end", row.pk, "dropped")
    assert (
        desk.get("loop_dosing", loop.pk, **asked())
        .context["answer"]["steps"][0]["grams"]
        .startswith("53.2")
    )


def test_advice_that_asks_for_more_than_its_dose_is_not_lost(desk: Desk, loop: Loop) -> None:
    press(desk, loop, goal="k", target="40")
    row = Advice.objects.get()
    row.parameters["change_fraction"] = 0.2
    row.save()
    answer = press(desk, loop, goal="k", target="40")
    assert answer.status_code == 422
    assert "asks for more" in answer.content.decode()
    assert Advice.objects.filter(closed_at=None).count() == 1


def test_done_between_visits_can_be_taken_back(desk: Desk, loop: Loop) -> None:
    press(desk, loop)
    row = Advice.objects.order_by("position").first()
    assert row is not None
    desk.post("advice_end", row.pk, "done")
    assert "Undo" in desk.get("system", loop.system_id).content.decode()
    desk.post("advice_undo", row.pk)
    row.refresh_from_db()
    assert row.closed_at is None


def test_a_post_without_a_plan_stores_nothing(desk: Desk, loop: Loop) -> None:
    assert desk.post("loop_dosing", loop.pk).status_code == 422
    assert press(desk, loop, alk="").status_code == 422
    assert not Advice.objects.exists()


def test_acid_stays_in_the_barrel(desk: Desk, loop: Loop) -> None:
    answer = desk.get("loop_dosing", loop.pk, **asked(
        "source", "60", source_alk="180", source_ph="7.8", source_temp="15", barrel_l="200",
        acid_pct="37",
    ))  # fmt: skip
    steps = answer.context["answer"]["steps"]
    assert [step["client"] for step in steps] == [False] * 3
    assert steps[0]["ml"] == "13.3\N{NO-BREAK SPACE}mL"
    page = answer.content.decode()
    assert "never water into acid" in page
    assert "Nitric acid stays off" in page


def test_it_stands_on_the_systems_page(desk: Desk, loop: Loop) -> None:
    assert f"/loops/{loop.pk}/dosing/" in desk.get("system", loop.system_id).content.decode()
