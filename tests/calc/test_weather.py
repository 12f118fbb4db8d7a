"""Weather lists: whole, without a dose, and who is in danger."""

import re
from collections.abc import Callable

import pytest

from apps.calc.sources import SOURCES
from apps.calc.species import species_table
from apps.calc.weather import CAUTIONS, CHECKLISTS, at_risk

LINES = [line for one in CHECKLISTS.values() for line in (*one.before, *one.after)] + list(CAUTIONS)
TILAPIA = species_table()["nile_tilapia"]
CARP = species_table()["common_carp"]


def test_each_list_says_what_to_do_and_where_it_comes_from() -> None:
    assert set(CHECKLISTS) == {"heat", "frost", "storm"}
    for one in CHECKLISTS.values():
        assert len(one.before) >= 5
        assert set(one.sources) <= set(SOURCES)


def test_no_list_has_a_dose() -> None:
    for line in LINES:
        assert not re.search(r"\d\s*(g|mg|ml|mL|drops|spoons?)\b", line), line
        assert not re.search(r"hydroxide|acid|salt|medicine", line, re.I), line


def test_electricity_has_its_caution_in_frost_and_storm() -> None:
    assert any("residual current device" in line for line in CHECKLISTS["frost"].before)
    storm = CHECKLISTS["storm"]
    assert any("dry hands" in line for line in storm.before)
    assert any("electrician" in line for line in storm.after)
    assert any("lightning" in line for line in CAUTIONS)


# heat of fusion of ice 333.55 kJ/kg and of water 4.186 kJ/kg/K (CRC Handbook of Chemistry and
# Physics): a kilogram melted and warmed to 27 °C takes 447 kJ, which cools 1,000 kg by 0.107 K
@pytest.mark.outside(source="CRC Handbook, heat of fusion of ice", kind="memory", tolerance=0.1)
def test_ice_cools_by_a_tenth_of_a_degree(outside: Callable[[float, float], None]) -> None:
    assert any("by about a tenth of a degree" in line for line in CHECKLISTS["heat"].before)
    outside(0.1, (333.55 + 4.186 * 27) / (1000 * 4.186))


@pytest.mark.parametrize(
    ("kind", "species", "temp", "backup", "danger"),
    [
        # tilapia is fed up to 33 °C: 29 and a heat wave's 4 reach it, 28.9 do not
        ("heat", [TILAPIA], 29.0, True, True), ("heat", [TILAPIA], 28.9, True, False),
        ("heat", [TILAPIA], None, True, True),
        # and from 17 °C on
        ("frost", [TILAPIA], 21.0, True, True), ("frost", [TILAPIA], 21.1, True, False),
        ("frost", [TILAPIA], None, True, True),
        # carp winter outdoors: no alarm
        ("frost", [CARP], 4.0, True, False), ("frost", [CARP, TILAPIA], 4.0, True, True),
        ("storm", [TILAPIA], 25.0, False, True), ("storm", [TILAPIA], 25.0, True, False),
        ("heat", [], 35.0, False, False), ("storm", [], None, False, False),
    ],
)  # fmt: skip
def test_who_is_in_danger(
    kind: str, species: list[object], temp: float | None, backup: bool, danger: bool
) -> None:
    assert at_risk(kind, species, temp, backup_air=backup) is danger  # type: ignore[arg-type]


def test_another_weather_is_not_guessed() -> None:
    with pytest.raises(KeyError):
        at_risk("hail", [TILAPIA], 20.0, backup_air=True)
