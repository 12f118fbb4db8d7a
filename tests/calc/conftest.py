"""A speciation program for the checks of the carbonate system and ammonia."""

from typing import Any

import pytest
from phreeqpython import PhreeqPython

MG_CACO3_PER_MEQ = 50.0445


class Phreeqc:
    """Waters of the phreeqc.dat database by the readings of a visit."""

    def __init__(self) -> None:
        self.engine = PhreeqPython(database="phreeqc.dat")

    def water(self, alkalinity: float, ph: float, temp_c: float, **more: float) -> Any:
        """A fresh water with calcium, magnesium, potassium and sodium, nitrate for the charge."""
        meq = alkalinity / MG_CACO3_PER_MEQ
        return self.engine.add_solution(
            {
                "temp": temp_c,
                "pH": ph,
                "units": "mmol/l",
                "Alkalinity": meq,
                "Ca": 0.3 + 0.25 * meq,
                "Mg": 0.1 + 0.1 * meq,
                "K": 0.3 + 0.2 * meq,
                "Na": 0.2 + 0.3 * meq,
                "N(5)": "1.2 charge",
                **more,
            }
        )

    def co2_mg_l(self, water: Any) -> float:
        return float(water.species["CO2"]) * 44009

    def ph_closed(self, water: Any, salt: str, dose_mg_l: float, molar_g: float) -> float:
        """The pH after a dose with nothing exchanged; the water is used up."""
        water.add(salt, dose_mg_l / molar_g, "mmol")
        found = float(water.pH)
        water.forget()
        return found

    def ph_held(self, water: Any, salt: str, dose_mg_l: float, molar_g: float) -> float:
        """The pH after a dose with the CO2 of the start held; the water is used up."""
        pressure = water.si("CO2(g)")
        water.add(salt, dose_mg_l / molar_g, "mmol")
        water.saturate("CO2(g)", to_si=pressure)
        found = float(water.pH)
        water.forget()
        return found


@pytest.fixture(scope="session")
def phreeqc() -> Phreeqc:
    return Phreeqc()
