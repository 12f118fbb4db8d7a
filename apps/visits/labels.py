"""What stands beside a typed figure: its unit and basis as they are read out, and a doubt in words."""

import re
from typing import Any

from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.core.numbers import format_plain

SUBSCRIPT_ZERO = 0x2080


def basis_name(code: str, measurand: str) -> SafeString:
    """Return what a kit's figure stands for: the element or the ion."""
    ions = {"tan": ("NH", 4), "no2": ("NO", 2), "no3": ("NO", 3), "po4": ("PO", 4)}
    if code == "ion" and measurand in ions:
        ion = format_html("{}<sub>{}</sub>", *ions[measurand])
        return format_html(_("as {ion}, the ion"), ion=ion)
    return format_html(_("as {element}"), element="P" if measurand == "po4" else "N")


def basis_option(code: str, measurand: str) -> str:
    """Return a basis as a choice of a list, which holds no tags: "as NH₄, the ion"."""
    name = str(basis_name(code, measurand))
    return re.sub(r"<sub>(\d)</sub>", lambda found: chr(SUBSCRIPT_ZERO + int(found[1])), name)


def unit_label(unit: str, measurand: str) -> str:
    """Return a unit as it is read out; pH has none and says its name."""
    if measurand == "ph" and not unit:
        return "pH"
    return unit.replace("uS", "µS").replace("ppm", "ppm, × ")


def doubt_words(code: str, parameters: dict[str, Any]) -> str:
    """Return a doubt as a sentence."""
    shown = {
        name: format_plain(round(value, 3)) if isinstance(value, int | float) else value
        for name, value in parameters.items()
    }
    words = doubt_texts()
    return words.get(code, words["other"]) % {"percent": "", "last": "", "below": "", **shown}


def doubt_texts() -> dict[str, str]:
    """Return the sentences of doubts with their gaps, by code; "other" for any other."""
    return {
        "unusual": _("This is unusual. Look at the meter or the colour once more."),
        "fahrenheit": _("This looks like degrees Fahrenheit."),
        "degrees_of_hardness": _("This looks like degrees of hardness, not mg/L."),
        "ion_for_nitrogen": _("This looks like the ion that the kit prints, not its element."),
        "solids_scale": _("This looks like another scale of dissolved solids."),
        "oversaturated": _("That is %(percent)s %% of what the water can hold."),
        "ph_and_alkalinity": _("pH and alkalinity do not go together: one of them may be off."),
        "jump": _("A jump from %(last)s last time."),
        "drops_blind": _("Drops cannot show a pH under %(below)s: take the meter."),
        "kit_expired": _("The kit had expired."),
        "meter_failed": _("The meter failed its check."),
        "other": _("Something about this value is odd. Measure once more."),
    }
