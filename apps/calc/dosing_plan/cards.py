"""The safety card of each product, sentence by sentence."""

from collections.abc import Mapping

from apps.calc.dosing_plan.products import PRODUCTS
from apps.calc.wording import Text
from apps.calc.wording import text as _

CARDS: Mapping[str, Text] = {
    "goggles": _("Gloves and goggles; keep the powder off skin, eyes and lips."),
    "dissolve": _("Dissolve it in the bucket first and pour it slowly into the sump, pumps and air running."),
    "fizz": _("Fizzes with acid: store and use the two apart."),
    "irritant": _("Harms eyes: goggles and gloves; into the eye, rinse with water for 15 minutes and call a poison centre."),
    "burns": _("Burns skin and blinds: goggles, gloves, long sleeves, rinsing water within reach. Into the eye, rinse for 15 minutes and call for help."),
    "dust": _("Do not raise or breathe the dust: pour it close to the water, back to the wind."),
    "heats": _("Grows hot as it dissolves: the powder into cold water in small parts, never water onto the powder."),
    "no_acid_near": _("Never together with acid, and never into the bucket of another product."),
    "apart_from_calcium": _("Never in one bucket with a calcium salt or lime: gypsum or phosphate falls out."),
    "calcium_apart": _("Never in one bucket with bicarbonate, sulfate or phosphate: chalk, gypsum or phosphate falls out."),
    "salt_and_plants": _("Sodium and chloride stay in the water and harm beans and strawberries first."),
    "plain_salt": _("Salt without iodine and without a caking agent; no cyanide compounds on the label."),
    "feeds_fire": _("Feeds a fire: dry, locked, apart from fuel, cloths and sulfur, as local rules say."),
    "never_fish": _("Only for plant water without fish that never flows back to fish."),
    "dark": _("Light breaks the chelate: keep it dark and dissolve only what is used today."),
    "red_water": _("Colours the water red and hides the fish; that is normal."),
    "acid_into_water": _("Acid into water, never water into acid: measure the water first, then pour the acid in slowly and stir."),
    "fumes": _("Its fumes bite: outdoors, back to the wind, bottle closed at once."),
    "no_bleach": _("Never near bleach or chlorine products: chlorine gas."),
    "barrel_only": _("Only into the barrel of source water, never into water in which fish, filter or plants live."),
    "trained": _("Only by trained people; stored and carried as the label, the data sheet and local codes say."),
}  # fmt: skip
# stands under every card
ALWAYS = _(
    "Keep it locked away from children, in its labelled container. The label, the safety data sheet and local codes decide."
)


def card(code: str) -> tuple[Text, ...]:
    """Return a product's safety sentences in reading order. References: practice.

    Errors: KeyError for an unknown product.
    """
    return (*(CARDS[name] for name in PRODUCTS[code].cards), ALWAYS)
