"""What a gram of each salt brings, and the doses that follow from it.

Molar masses are IUPAC standard atomic weights; commercial chelates by the iron on their label.
"""

from dataclasses import dataclass

from apps.calc import carbonate
from apps.calc.advice.results import Explanation, Step


@dataclass(frozen=True)
class Substance:
    """Mass shares of what a pure salt brings to the water."""

    code: str
    k: float = 0.0
    ca: float = 0.0
    na: float = 0.0
    mg: float = 0.0
    p: float = 0.0
    fe: float = 0.0
    cl: float = 0.0
    n: float = 0.0
    s: float = 0.0


_K, _CA, _NA, _MG, _P, _CL, _N = 39.098, 40.078, 22.990, 24.305, 30.974, 35.45, 14.007
_S = 32.06

SUBSTANCES: dict[str, Substance] = {
    s.code: s
    for s in (
        Substance("KHCO3", k=_K / 100.115),
        Substance("NaHCO3", na=_NA / 84.006),
        Substance("K2CO3", k=2 * _K / 138.205),
        Substance("Ca(OH)2", ca=_CA / 74.092),
        Substance("KOH", k=_K / 56.105),
        Substance("CaCO3", ca=_CA / 100.086),
        Substance("K2SO4", k=2 * _K / 174.25, s=_S / 174.25),
        Substance("KCl", k=_K / 74.548, cl=_CL / 74.548),
        Substance("NaCl", na=_NA / 58.440, cl=_CL / 58.440),
        Substance("CaCl2.2H2O", ca=_CA / 147.01, cl=2 * _CL / 147.01),
        Substance("MgSO4.7H2O", mg=_MG / 246.47, s=_S / 246.47),
        Substance("KH2PO4", k=_K / 136.08, p=_P / 136.08),
        Substance("KNO3", k=_K / 101.102, n=_N / 101.102),
        Substance("5Ca(NO3)2.NH4NO3.10H2O", ca=5 * _CA / 1080.62, n=12 * _N / 1080.62),
        Substance("NH4H2PO4", p=_P / 115.025, n=_N / 115.025),
        Substance("NH4Cl", n=_N / 53.49, cl=_CL / 53.49),
        Substance("Fe-EDTA 13 %", fe=0.13),
        Substance("Fe-DTPA 11 %", fe=0.11),
        Substance("Fe-EDDHA 6 %", fe=0.06),
    )
}
BICARBONATES: tuple[str, ...] = ("KHCO3", "NaHCO3")


def grams_for(substance: str, element: str, mg_l: float, volume_l: float) -> float:
    """Return the grams of ``substance`` that add ``mg_l`` of ``element`` to ``volume_l``.

    ``element``: k, ca, na, mg, p, fe, cl or n. Errors: KeyError for an unknown substance,
    ZeroDivisionError when it does not hold the element. References: chemistry.

    >>> round(grams_for("K2SO4", "k", 10, 1000), 1)
    22.3
    """
    share: float = getattr(SUBSTANCES[substance], element)
    return mg_l / share * volume_l / 1000


def brings(substance: str, grams: float, volume_l: float) -> dict[str, float]:
    """Return the mg/L of K, Ca, Na and Fe that ``grams`` bring to ``volume_l``. Source: chemistry.

    >>> round(brings("KHCO3", 200.1, 1000)["k"], 1)
    78.1
    """
    known = SUBSTANCES.get(substance, Substance(substance))
    per_litre = grams * 1000 / volume_l
    return {e: getattr(known, e) * per_litre for e in ("k", "ca", "na", "fe")}


def alkalinity_grams(salt: str, mg_l_caco3: float, volume_l: float) -> float:
    """Return the grams of a base that add ``mg_l_caco3`` of alkalinity to ``volume_l``.

    ``salt``: as carbonate.SALTS, or CaCO3. Valid range: none beyond positive. Source: chemistry.

    >>> round(alkalinity_grams("KHCO3", 10, 1000), 1)
    20.0
    """
    strength = 1.0 if salt == "CaCO3" else carbonate.salt_named(salt).strength
    return mg_l_caco3 / strength * volume_l / 1000


def weekly_steps(substance: str, grams: float, parts: int, every_hours: float) -> tuple[Step, ...]:
    """Return equal parts of a dose, ``every_hours`` apart."""
    return tuple(Step(i * every_hours, grams / parts, "g", substance) for i in range(parts))


def dose_explanation(
    formula: str, inputs: dict[str, float], source: str, *assumptions: str, valid: str = ""
) -> Explanation:
    """Return the explanation of a dose worked out from molar masses and ``source``."""
    keys = tuple(dict.fromkeys((source, "chemistry")))
    return Explanation(formula, inputs, keys, valid, tuple(assumptions))
