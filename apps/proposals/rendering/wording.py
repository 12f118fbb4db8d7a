"""The sentences and figures of a proposal, made from its snapshot in the reader's language."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from apps.calc.design.parts import Plan
from apps.calc.design.sizing import Doubt, rough
from apps.calc.design.survey import STOP, Concern
from apps.calc.pricing import HOURS, QUANTITY
from apps.core.dates import day_text
from apps.core.measures import measured_plain, shift_of
from apps.core.money import money_words
from apps.core.numbers import NO_BREAK, format_plain, with_unit
from apps.core.phrases import list_words, upper_first
from apps.proposals.design_words import (
    CAUTIONS,
    NAMES,
    UNITS,
    doubt_words,
    kind_name,
    part_size,
)
from apps.proposals.survey_words import LABELS, concern_words

GIVES = ("fish_year", "heads_week", "plants")
HOLDS = ("beds", "fish", "count", "tank", "volume")
TAKES = ("feed", "feed_month", "energy", "heater", "top_up", "base", "sludge")
BEDS: Mapping[str, Promise] = {
    "gravel_bed": gettext_lazy("gravel beds"), "raft": gettext_lazy("rafts"),
    "channel": gettext_lazy("channels"),
}  # fmt: skip
PLANTS: Mapping[str, Promise] = {
    "leafy": gettext_lazy("leafy greens and herbs"), "fruiting": gettext_lazy("fruiting crops"),
}  # fmt: skip
WHERE: Mapping[str, Promise] = {
    "tank": gettext_lazy("on level ground, in the shade, with a lid"),
    "settler": gettext_lazy("beside the tank, a little lower"),
    "moving_bed": gettext_lazy("after the settler, under air"),
    "gravel_bed": gettext_lazy("where the sun is, above the sump"),
    "raft": gettext_lazy("where the sun is, level"),
    "channel": gettext_lazy("where the sun is, on a slope of 1 %"),
    "sump": gettext_lazy("at the lowest point: all water falls to it"),
    "pump": gettext_lazy("in the sump, on a socket behind a residual-current device"),
    "air_pump": gettext_lazy("dry, under cover, above the highest water"),
    "backup_air": gettext_lazy("beside the air pump, charged, off the mains"),
    "heater": gettext_lazy("in the tank, behind its guard"),
}
MORE_CAUTIONS: tuple[Promise, ...] = (
    gettext_lazy("Wash what you pick, and keep the fish water off leaves that are eaten raw."),
    gettext_lazy("Drained water and sludge go to a soil garden or where local rules say, never to "
                 "a storm drain or a stream."),
    gettext_lazy("What this paper says follows published rules and common practice; local codes "
                 "and licensed people decide."),
)  # fmt: skip


# what weighs one rule against another, for whoever designs
FOR_THE_OFFICE = frozenset({"raft_rule"})
# doubts of a design that a concern of the survey has told already
TOLD_BY = {"floor": "floor_weak", "source_hard": "alkalinity_mg_l_caco3"}


def _size(snapshot: Mapping[str, Any], code: str) -> Mapping[str, Any] | None:
    return next((s for s in snapshot["sizes"] if s["code"] == code), None)


def span(size: Mapping[str, Any]) -> str:
    """Return a size as a range with its unit; one figure where both ends are the same to two."""
    stored, _per, often = size["unit"].partition(" a ")
    shift = shift_of(stored, size["high"])
    ends = [shift.shown(size[end]) if shift else size[end] for end in ("low", "high")]
    low, high = (format_plain(_roughly(end)) for end in ends)
    said = low if low == high else _("%(low)s to %(high)s") % {"low": low, "high": high}
    name = shift.name if shift else stored
    unit = UNITS.get(f"{name} a {often}") if often else None
    return f"{said}{NO_BREAK}{unit}" if unit else with_unit(said, name)


def _roughly(value: float) -> float:
    """Return a figure as it is said to somebody: two digits, and no decimals from five on."""
    return rough(value) if value < 5 else float(round(rough(value)))


def wish_sentence(snapshot: Mapping[str, Any]) -> str:
    """Return what was wished, in a sentence."""
    wish = snapshot["wish"]
    said = {
        "amount": measured_plain(wish["amount"], "kg" if wish["by"] == "fish" else "m²"), "fish": _(snapshot["species"]),
        "plants": _(snapshot["crop"]) if snapshot["crop"] else str(PLANTS[wish["crop_group"]]),
    }  # fmt: skip
    texts = {
        "beds": _("You want %(amount)s of beds. Plants: %(plants)s. Fish: %(fish)s."),
        "fish": _("You want %(amount)s of fish a year. Fish: %(fish)s. Plants: %(plants)s."),
        "room": _("You have %(amount)s of room. Plants: %(plants)s. Fish: %(fish)s."),
    }
    return texts[wish["by"]] % said


def promise_sentence(snapshot: Mapping[str, Any]) -> str:
    """Return what is proposed, in a sentence with its ranges."""
    beds, fish = _size(snapshot, "beds"), _size(snapshot, "fish")
    assert beds is not None and fish is not None  # noqa: S101, PT018 - every design has them
    said = {
        "beds": measured_plain(rough(beds["chosen"]), "m²"),
        "kind": str(BEDS[snapshot["wish"]["bed_kind"]]), "fish": span(fish),
        "species": _(snapshot["species"]),
    }  # fmt: skip
    return _("%(beds)s of %(kind)s and %(fish)s of %(species)s in one water.") % said


def rows_of(snapshot: Mapping[str, Any], codes: Sequence[str]) -> list[dict[str, str]]:
    """Return names and ranges of some sizes, those that the design has."""
    found = ((code, _size(snapshot, code)) for code in codes)
    return [{"name": str(NAMES[code]), "range": span(s)} for code, s in found if s is not None]


def standing_rows(snapshot: Mapping[str, Any], drawn: Plan) -> list[dict[str, str]]:
    """Return each part: its size, where it stands, what it takes of the floor and weighs on it."""
    held = {kind: (area, load) for kind, area, load in snapshot["stands"]}
    found = []
    for part in drawn.parts:
        area, load = held.get(part.kind, (None, None))
        found.append({
            "name": kind_name(part.kind), "size": part_size(part),
            "where": str(WHERE[part.kind]),
            "floor": measured_plain(max(0.1, round(area, 1)), "m²") if area else "",
            "load": measured_plain(rough(load), "kg/m²") if load else "",
        })  # fmt: skip
    return found


def room_sentence(snapshot: Mapping[str, Any]) -> str:
    """Return how much room it takes, beside what there is where that was measured."""
    needed = measured_plain(snapshot["room_needed"], "m²")
    if snapshot["room_m2"] is None:
        return _("With the ways between them the parts take about %(needed)s.") % {"needed": needed}
    there = measured_plain(rough(snapshot["room_m2"]), "m²")
    said = {"needed": needed, "there": there}
    if snapshot["room_needed"] > snapshot["room_m2"]:
        return _("With the ways between them the parts take about %(needed)s, and the room has %(there)s: beds go on a rack, or become smaller.") % said  # fmt: skip
    return _("With the ways between them the parts take about %(needed)s of the %(there)s there.") % said  # fmt: skip


def task_rows(snapshot: Mapping[str, Any]) -> list[dict[str, str]]:
    """Return what the client does, how often, how long each time."""
    return [
        {"name": upper_first(_(task["name"])), "every": _every(task["every_days"]),
         "minutes": with_unit(str(task["minutes"]), _("min"))}
        for task in snapshot["tasks"]
    ]  # fmt: skip


def _every(days: int) -> str:
    if days == 1:
        return _("every day")
    if days % 7 == 0:
        return ngettext("every week", "every %(count)d weeks", days // 7) % {"count": days // 7}
    return _("every %(count)d days") % {"count": days}


def week_sentence(snapshot: Mapping[str, Any]) -> str:
    """Return how much time a week the client's part takes, to half an hour."""
    minutes = sum(t["minutes"] * 7 / t["every_days"] for t in snapshot["tasks"])
    hours = max(1, round(minutes / 30)) / 2
    return _("About %(hours)s h a week in all, once it runs.") % {"hours": format_plain(hours)}


def money(snapshot: Mapping[str, Any], amount: int) -> str:
    """Return an amount of the proposal with its currency."""
    return money_words(amount, snapshot["currency"])


def price_rows(snapshot: Mapping[str, Any], group: str) -> list[dict[str, str]]:
    """Return the lines of one group: what, how much, for how much."""
    return [
        {"name": line_name(line), "quantity": _quantity(line),
         "total": "" if line["total"] is None else money(snapshot, line["total"])}
        for line in snapshot["lines"]
        if line["group"] == group
    ]  # fmt: skip


def line_name(line: Mapping[str, Any]) -> str:
    """Return what a line is for."""
    return upper_first(_(line["name"])) if line["name"] else kind_name(line["code"])


def _quantity(line: Mapping[str, Any]) -> str:
    return measured_plain(line["quantity"] / QUANTITY, line["unit"])


def work_rows(snapshot: Mapping[str, Any]) -> list[dict[str, str]]:
    """Return the work and what else is charged."""
    found = []
    if snapshot["labour"]:
        hours = with_unit(format_plain(snapshot["hours"] / HOURS), "h")
        found.append({"name": _("Work on site and in the workshop"), "quantity": hours,
                      "total": money(snapshot, snapshot["labour"])})  # fmt: skip
    return found + [
        {"name": text, "quantity": "", "total": money(snapshot, amount)}
        for text, amount in snapshot["extras"]
    ]


def price_sentence(snapshot: Mapping[str, Any]) -> str:
    """Return what it comes to in a sentence; empty where nothing has a price."""
    if not priced(snapshot):
        return ""
    said = {"sum": money(snapshot, snapshot["gross"])}
    text = (
        _("%(sum)s in all, without taxes.") if snapshot["tax"] is None
        else _("%(sum)s in all, taxes in it.")
    ) % said  # fmt: skip
    if any(line["total"] is None for line in snapshot["lines"]):
        text += " " + _("Some parts have no price yet; the proposal names them.")
    return text


def until_sentence(snapshot: Mapping[str, Any]) -> str:
    """Return until when it holds."""
    day = day_text(dt.date.fromisoformat(snapshot["valid_until"]), "year")
    return _("It holds until %(day)s.") % {"day": day}


def priced(snapshot: Mapping[str, Any]) -> bool:
    """Tell whether anything has a price."""
    return bool(snapshot["net"])


def outside_price(snapshot: Mapping[str, Any]) -> list[str]:
    """Return what the price does not hold."""
    found = [
        _("Fixed wiring, sockets and residual-current devices, by a licensed electrician."),
        _("Permits and their fees; ground works; the water, energy, feed and care once it runs."),
    ]
    names = [line_name(line) for line in snapshot["lines"] if line["total"] is None]
    if names and priced(snapshot):
        found.insert(0, _("Not priced yet: %(names)s.") % {"names": list_words(names)})
    if snapshot["tax"] is None:
        found.append(_("Taxes."))
    return [*found, *(line for line in snapshot["left_out"].splitlines() if line.strip())]


def tax_name(snapshot: Mapping[str, Any]) -> str:
    """Return what the line of the tax says."""
    return _("Tax, %(share)s %%") % {"share": format_plain(snapshot["tax_share"] / 100)}


def doubts(snapshot: Mapping[str, Any]) -> list[tuple[str, bool]]:
    """Return what to mind as (sentence, whether it comes before anything else)."""
    seen = [
        (concern_words(Concern(c["code"], c["level"], c["figure"])), c["level"] == STOP)
        for c in snapshot["concerns"]
    ]
    told = {c["code"] for c in snapshot["concerns"]}
    sized = [
        (doubt_words(Doubt(d["code"], tuple((n, v) for n, v in d["figures"]))), False)
        for d in snapshot["doubts"]
        if d["code"] not in FOR_THE_OFFICE and TOLD_BY.get(d["code"]) not in told
    ]
    return seen + sized


def open_sentence(snapshot: Mapping[str, Any]) -> str:
    """Return what nobody has looked at yet; empty where all is known."""
    if not snapshot["surveyed_on"]:
        return _("The site has not been surveyed: all sizes and prices are subject to that.")
    names = [str(LABELS[name]) for name in snapshot["open"]]
    if not names:
        return ""
    return _("Not looked at yet, and able to change sizes and prices: %(names)s.") % {
        "names": list_words(names)
    }


def cautions() -> list[str]:
    """Return the cautions that always stand."""
    return [str(text) for text in (*CAUTIONS, *MORE_CAUTIONS)]
