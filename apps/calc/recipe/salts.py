"""The salts of a recipe: what a gram brings, how much dissolves, which can it goes into.

Molar masses follow from the formula by the atomic weights; chelates go by the iron on their
label. Solubilities in water at 20 °C: CRC Handbook of Chemistry and Physics (memory).
"""

from dataclasses import dataclass

from apps.calc.wording import text as _

# IUPAC abridged standard atomic weights
WEIGHTS: dict[str, float] = {
    "H": 1.008, "B": 10.81, "N": 14.007, "O": 15.999, "Na": 22.990, "Mg": 24.305, "P": 30.974,
    "S": 32.06, "Cl": 35.45, "K": 39.098, "Ca": 40.078, "Mn": 54.938, "Cu": 63.546,
    "Zn": 65.38, "Mo": 95.95,
}  # fmt: skip

# What a recipe counts, in the order in which it is shown; nitrogen by its two forms.
ELEMENTS: tuple[str, ...] = (
    "no3", "nh4", "p", "k", "ca", "mg", "s", "fe", "mn", "b", "zn", "cu", "mo", "na", "cl",
)  # fmt: skip
MICRO: frozenset[str] = frozenset({"fe", "mn", "b", "zn", "cu", "mo"})

CALCIUM, OTHER = "A", "B"


@dataclass(frozen=True)
class Salt:
    """A salt by its mass shares [g/g], its solubility [g/L] and its can.

    Calcium and chelated iron go into can A, phosphate and sulfate into can B: together and
    strong they fall out as gypsum and calcium phosphate.
    """

    code: str
    name: str
    shares: dict[str, float]
    soluble_g_l: float
    can: str
    common: bool = True

    def share(self, element: str) -> float:
        """Return the grams of ``element`` in a gram of the salt."""
        return self.shares.get(element, 0.0)

    @property
    def is_micro(self) -> bool:
        """Tell whether it is given for a trace element."""
        return any(element in MICRO for element in self.shares)


def _mass(**atoms: int) -> float:
    return sum(WEIGHTS[atom] * count for atom, count in atoms.items())


def _shares(molar_g: float, **counts: int) -> dict[str, float]:
    atom = {"no3": "N", "nh4": "N"}
    return {
        element: WEIGHTS[atom.get(element, element.capitalize())] * count / molar_g
        for element, count in counts.items()
    }


def _table(*salts: Salt) -> dict[str, Salt]:
    return {salt.code: salt for salt in salts}


SALTS: dict[str, Salt] = _table(
    Salt("Ca(NO3)2.4H2O", _("calcium nitrate, pure"),
         _shares(_mass(Ca=1, N=2, O=10, H=8), ca=1, no3=2), 1290, CALCIUM, common=False),
    Salt("5Ca(NO3)2.NH4NO3.10H2O", _("calcium nitrate, fertiliser grade"),
         _shares(_mass(Ca=5, N=12, O=43, H=24), ca=5, no3=11, nh4=1), 1100, CALCIUM),
    Salt("KNO3", _("potassium nitrate"), _shares(_mass(K=1, N=1, O=3), k=1, no3=1), 316, CALCIUM),
    Salt("KH2PO4", _("monopotassium phosphate"),
         _shares(_mass(K=1, H=2, P=1, O=4), k=1, p=1), 226, OTHER),
    Salt("NH4H2PO4", _("monoammonium phosphate"),
         _shares(_mass(N=1, H=6, P=1, O=4), nh4=1, p=1), 370, OTHER, common=False),
    Salt("MgSO4.7H2O", _("magnesium sulfate"),
         _shares(_mass(Mg=1, S=1, O=11, H=14), mg=1, s=1), 700, OTHER),
    Salt("Mg(NO3)2.6H2O", _("magnesium nitrate"),
         _shares(_mass(Mg=1, N=2, O=12, H=12), mg=1, no3=2), 1200, CALCIUM, common=False),
    Salt("K2SO4", _("potassium sulfate"), _shares(_mass(K=2, S=1, O=4), k=2, s=1), 111, OTHER),
    Salt("CaCl2.2H2O", _("calcium chloride"),
         _shares(_mass(Ca=1, Cl=2, H=4, O=2), ca=1, cl=2), 980, CALCIUM, common=False),
    Salt("Fe-EDTA 13 %", _("iron chelate EDTA 13 %"), {"fe": 0.13}, 90, CALCIUM, common=False),
    Salt("Fe-DTPA 11 %", _("iron chelate DTPA 11 %"), {"fe": 0.11}, 110, CALCIUM),
    Salt("Fe-EDDHA 6 %", _("iron chelate EDDHA 6 %"), {"fe": 0.06}, 60, CALCIUM, common=False),
    Salt("H3BO3", _("boric acid"), _shares(_mass(H=3, B=1, O=3), b=1), 47, OTHER),
    Salt("MnSO4.H2O", _("manganese sulfate"),
         _shares(_mass(Mn=1, S=1, O=5, H=2), mn=1, s=1), 700, OTHER),
    Salt("MnCl2.4H2O", _("manganese chloride"),
         _shares(_mass(Mn=1, Cl=2, H=8, O=4), mn=1, cl=2), 1400, OTHER, common=False),
    Salt("ZnSO4.7H2O", _("zinc sulfate"),
         _shares(_mass(Zn=1, S=1, O=11, H=14), zn=1, s=1), 960, OTHER),
    Salt("CuSO4.5H2O", _("copper sulfate"),
         _shares(_mass(Cu=1, S=1, O=9, H=10), cu=1, s=1), 320, OTHER),
    Salt("Na2MoO4.2H2O", _("sodium molybdate"),
         _shares(_mass(Na=2, Mo=1, O=6, H=4), mo=1, na=2), 650, OTHER),
    Salt("H2MoO4.H2O", _("molybdic acid"), _shares(_mass(H=4, Mo=1, O=5), mo=1), 1.8, OTHER,
         common=False),
)  # fmt: skip


def salt_named(code: str) -> Salt:
    """Return the salt with that code, ValueError with the known ones when there is none."""
    if code not in SALTS:
        message = f"salt must be one of {', '.join(SALTS)}, not {code}"
        raise ValueError(message)
    return SALTS[code]
