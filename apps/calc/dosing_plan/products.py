"""What may be dosed: what each product does to water, fish and hands."""

from collections.abc import Mapping
from dataclasses import dataclass

from apps.calc import carbonate
from apps.calc.advice.doses import SUBSTANCES

BASE, STRONG_BASE, SALT, CHELATE, ACID = "base", "strong_base", "salt", "chelate", "acid"


@dataclass(frozen=True)
class Product:
    """One product.

    ``consumable``: its row in the catalogue; ``most_g_l``: how strong it may be dissolved in the
    bucket [g/L] (a tenth of its solubility or less; common practice); ``mild``: a client may give
    it out of a labelled bag; ``cards``: its safety sentences by code.
    """

    code: str
    kind: str
    consumable: str
    most_g_l: float
    cards: tuple[str, ...]
    mild: bool = False

    @property
    def shares(self) -> dict[str, float]:
        """Return the mass share of each element that it brings to the water."""
        known = SUBSTANCES.get(self.code)
        if known is None:
            return {}
        elements = ("k", "ca", "na", "mg", "p", "fe", "cl", "s", "n")
        return {e: getattr(known, e) for e in elements if getattr(known, e)}

    @property
    def strength(self) -> float:
        """Return the grams of CaCO3 alkalinity in a gram, 0 for what is no base."""
        known = carbonate.SALTS.get(self.code)
        return known.strength if known else 0.0

    @property
    def feeds_nitrogen(self) -> bool:
        """Tell whether it is a nitrate or ammonium fertiliser."""
        return "n" in self.shares


_POWDER = ("goggles", "dissolve")
_TABLE = (
    Product("KHCO3", BASE, "potassium_bicarbonate", 20, (*_POWDER, "fizz"), mild=True),
    Product("NaHCO3", BASE, "sodium_bicarbonate", 9, (*_POWDER, "fizz"), mild=True),
    Product("K2CO3", BASE, "potassium_carbonate", 20, ("irritant", "dissolve", "no_acid_near")),
    # what dissolves of lime: 1.7 g/L at 20 °C (memory)
    Product("Ca(OH)2", STRONG_BASE, "calcium_hydroxide", 1.5, ("burns", "dust", "dissolve", "no_acid_near")),
    Product("KOH", STRONG_BASE, "potassium_hydroxide", 10, ("burns", "heats", "no_acid_near")),
    Product("K2SO4", SALT, "potassium_sulfate", 10, (*_POWDER, "apart_from_calcium"), mild=True),
    Product("KCl", SALT, "potassium_chloride", 30, (*_POWDER, "salt_and_plants"), mild=True),
    Product("KNO3", SALT, "potassium_nitrate", 30, (*_POWDER, "feeds_fire", "never_fish")),
    Product("CaCl2.2H2O", SALT, "calcium_chloride", 50, ("irritant", "heats", "calcium_apart")),
    Product("5Ca(NO3)2.NH4NO3.10H2O", SALT, "calcium_nitrate", 50, ("irritant", "feeds_fire", "calcium_apart", "never_fish")),
    Product("MgSO4.7H2O", SALT, "magnesium_sulfate", 50, (*_POWDER, "apart_from_calcium"), mild=True),
    Product("KH2PO4", SALT, "monopotassium_phosphate", 20, (*_POWDER, "apart_from_calcium"), mild=True),
    Product("NH4H2PO4", SALT, "monoammonium_phosphate", 30, (*_POWDER, "never_fish")),
    Product("NaCl", SALT, "salt", 30, (*_POWDER, "salt_and_plants", "plain_salt"), mild=True),
    Product("Fe-EDTA 13 %", CHELATE, "iron_edta", 5, (*_POWDER, "dark"), mild=True),
    Product("Fe-DTPA 11 %", CHELATE, "iron_dtpa", 5, (*_POWDER, "dark"), mild=True),
    Product("Fe-EDDHA 6 %", CHELATE, "iron_eddha", 5, (*_POWDER, "dark", "red_water"), mild=True),
    # at least fifty parts of water to one of acid (common practice): 20 g/L
    Product("HCl", ACID, "acid", 20, ("acid_into_water", "burns", "fumes", "no_bleach", "barrel_only", "trained")),
    Product("H3PO4", ACID, "acid", 20, ("acid_into_water", "burns", "no_bleach", "barrel_only", "trained")),
)  # fmt: skip
PRODUCTS: Mapping[str, Product] = {product.code: product for product in _TABLE}


def product_named(code: str) -> Product:
    """Return the product with that code, ValueError with the known ones where there is none."""
    if code not in PRODUCTS:
        message = f"product must be one of {', '.join(PRODUCTS)}, not {code}"
        raise ValueError(message)
    return PRODUCTS[code]
