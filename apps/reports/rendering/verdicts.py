"""How the system is, why, and what changed: short sentences chosen by what the readings did.

Nothing here is random: the same readings, and the same before them, give the same words. Every
sentence has fewer than eight words, so that it can be taken in at one look.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.core.measures import measured
from apps.core.numbers import with_unit
from apps.incidents.choices import Cause
from apps.reports.rendering import told
from apps.reports.rendering.reader import (
    FISH_FEEL,
    Reader,
    bare_unit,
    head_name,
    names_of,
    plain_name,
    said_name,
    side_of,
    upper_first,
    worst_items,
)
from apps.visits.shown import Shown

CALM = ("in_band", "near_edge")
# without one of these read nobody may call the fish well
PROOF = ("do", "tan", "nh3", "no2")
MAX_WHY = 2
# a reading that went this share of its good band is worth a word (common practice)
MOVED = 0.25
FEW = 3
# after these nobody calls the trouble over
OPEN_CAUSES = ("", Cause.UNKNOWN, Cause.DISEASE)


def verdict(reader: Reader) -> str:
    """Return how the system is, so that a reader may stop there."""
    word, items = worst_items(reader.judged())
    urgent = [row for row in reader.snapshot["advice"] if row["urgency"] == "now"]
    if word == "harmful":
        first = (
            _("Your fish need help now.")
            if reader.snapshot["fish"]
            else _("The water needs help now.")
        )
        return f"{first} {_far_off(items)}"
    if urgent:
        # a machine or a cut can be what hurts while the water still reads well
        what = urgent[0]["text"] or _(told.TOLD.get(urgent[0]["rule"], ""))
        return (_("One thing cannot wait.") + f" {what}").strip()
    if not word:
        return _("We could not judge the water today.")
    if word in CALM:
        if reader.snapshot.get("incident"):
            return _after_a_call(reader)
        if fish_troubled(reader):
            return _("The water is well. Your fish need a look.")
        return _all_well(reader, word, items)
    return _("Your fish are well.") + f" {_off(items)}" if fish_well(reader) else _off(items)


def _after_a_call(reader: Reader) -> str:
    """Return how it stands after a call for help, once the water reads well."""
    row = reader.snapshot["incident"]
    if row["closed"] and row["cause"] not in OPEN_CAUSES:
        return _("The trouble is over. The water is well.")
    return _("The water is well now. We watch it.")


def fish_troubled(reader: Reader) -> bool:
    """Return whether fish died since last time, or show a sign that somebody found."""
    signs = [row["sign"] for row in reader.snapshot["findings"]]
    rules = {row["rule"] for row in reader.snapshot["advice"]}
    return bool(reader.snapshot["fish"]) and (
        bool((reader.snapshot.get("past") or {}).get("deaths"))
        or any(sign.startswith("fish_") for sign in signs)
        or bool(rules.intersection(told.NO_FISH_RULES))
    )


def fish_well(reader: Reader) -> bool:
    """Return whether all that fish feel lies well, oxygen or a waste among it, and none suffers."""
    felt = [item for item in reader.judged() if item.data["measurand"] in FISH_FEEL]
    return (
        bool(reader.snapshot["fish"])
        and any(item.data["measurand"] in PROOF for item in felt)
        and all(item.word in CALM for item in felt)
        and not fish_troubled(reader)
    )


def _all_well(reader: Reader, word: str, items: Sequence[Shown]) -> str:
    past = reader.snapshot.get("past") or {}
    before: list[str] = past.get("words") or []
    lost: list[int] = past.get("lost") or [0] * len(before)
    calm = next((i for i, was in enumerate(before) if was not in CALM or lost[i]), len(before))
    if before and before[0] in ("harmful", "out_of_band"):
        first = _("All is well again.")
    elif past and not past.get("count"):
        first = _("A good start: all is well.")
    elif calm >= FEW and word == "in_band":
        first = _("All is well, %(count)s visits running.") % {"count": calm + 1}
    elif fish_well(reader):
        first = _("Fish and water are well.")
    else:
        first = _("The water is well.")
    if word == "in_band":
        return first
    if len(_once(items)) > FEW:
        return f"{first} " + _("Some readings are near their limits.")
    names = {"names": names_of(items, plain_name)}
    if all(item.data.get("last_word") == "near_edge" for item in items):
        return f"{first} " + _("Still watch %(names)s.") % names
    return f"{first} " + _("Watch %(names)s.") % names


def _once(items: Sequence[Shown]) -> list[Shown]:
    return list({item.data["measurand"]: item for item in items}.values())


def side_word(item: Shown) -> str:
    """Return on which side a reading lies, as it is said of it."""
    side = side_of(item)
    if item.data["measurand"] == "temp":
        return {"low": _("cold"), "high": _("warm")}.get(side, "")
    return {"low": _("low"), "high": _("high")}.get(side, "")


def _sides(items: Sequence[Shown]) -> str:
    sides = {side_word(item) for item in items}
    return sides.pop() if len(sides) == 1 else ""


def _far_off(items: Sequence[Shown]) -> str:
    once, side = _once(items), _sides(items)
    values = {"names": upper_first(names_of(once)), "side": side}
    if not side:
        return _("%(names)s are far off.") % values
    return ngettext("%(names)s is far too %(side)s.", "%(names)s are far too %(side)s.", len(once)) % values  # fmt: skip


def _off(items: Sequence[Shown]) -> str:
    once, side = _once(items), _sides(items)
    if len(once) > FEW:
        return _("%(count)s readings need a hand.") % {"count": len(once)}
    names = upper_first(names_of(once))
    if len(once) > 1:
        values = {"names": names, "side": side}
        return (_("%(names)s are %(side)s.") if side else _("%(names)s are off.")) % values
    item, values = once[0], {"name": names, "side": side}
    was, moved = item.data.get("last_word"), _moved(item)
    if was is None:
        return _("%(name)s is %(side)s.") % values
    if was in CALM:
        return _("%(name)s has turned %(side)s.") % values
    if moved and (moved == "up") != (side_of(item) == "high"):
        return _("%(name)s is %(side)s, but mending.") % values
    if moved == "up":
        return _("%(name)s is %(side)s and rising.") % values
    if moved == "down":
        return _("%(name)s is %(side)s and falling.") % values
    return _("%(name)s is still %(side)s.") % values


def _moved(item: Shown) -> str:
    """Return whether a reading went up or down as it is printed; empty where it did not."""
    if item.before is None or item.today is None or item.figure == item.last:
        return ""
    return "up" if item.today > item.before else "down"


def moved_sentence(item: Shown) -> str:
    """Return where a reading stands and from where it came."""
    values = {
        "name": head_name(item), "from": item.last,
        "figure": with_unit(item.figure, bare_unit(item.unit)),
    }  # fmt: skip
    moved = _moved(item)
    if moved == "up":
        return _("%(name)s rose from %(from)s to %(figure)s.") % values
    if moved == "down":
        return _("%(name)s fell from %(from)s to %(figure)s.") % values
    if item.before is None:
        return _("%(name)s stands at %(figure)s.") % values
    return _("%(name)s stayed at %(figure)s.") % values


def good_sentence(item: Shown) -> str:
    """Return what would be good for this system."""
    return _("Good is %(band)s.") % {"band": item.good} if item.good else ""


def outside_sentence(item: Shown) -> str:
    """Return how many of the readings that are drawn lay outside the good band."""
    low, high = item.data["band"].get("t_lo"), item.data["band"].get("t_hi")
    values = [value for _day, value in item.data["series"]]
    out = sum((low is not None and v < low) or (high is not None and v > high) for v in values)
    if not out:
        return ""
    if out == len(values):
        return _("All readings here lay outside.")
    return ngettext(
        "%(count)s of %(all)s readings lay outside.", "%(count)s of %(all)s readings lay outside.",
        out,
    ) % {"count": out, "all": len(values)}  # fmt: skip


def why(reader: Reader) -> list[str]:
    """Return a few sentences that say why."""
    word, items = worst_items(reader.judged())
    if not word:
        return [_("What is missing stands below.")]
    if word in CALM and lost_since(reader):
        return [lost_since(reader), *_calm_why(reader)]
    cause = (reader.snapshot.get("incident") or {}).get("cause")
    if cause and word in CALM:
        return [_("The cause: %(cause)s.") % {"cause": Cause(cause).label}]
    if word == "in_band":
        return _calm_why(reader)
    said = []
    shown = _once(items)[: MAX_WHY if word != "near_edge" else 1]
    for item in shown:
        parts = [moved_sentence(item), good_sentence(item)]
        meant = told.MEANS.get((item.data["measurand"], side_of(item)))
        if meant and len(shown) == 1:
            parts.append(_(meant))
        said.append(" ".join(part for part in parts if part))
    return said


def _calm_why(reader: Reader) -> list[str]:
    """Return what moved most in a calm system, if anything did."""

    def share(item: Shown) -> float:
        low, high = item.band.good_low or 0.0, item.band.good_high
        if item.before is None or item.today is None or high is None or high <= low:
            return 0.0
        return abs(item.today - item.before) / (high - low)

    most = max(reader.judged(), key=share)
    if most.before is None:
        return [_("All readings lie in their good bands.")]
    if share(most) < MOVED or not _moved(most):
        return [_("The readings have hardly moved.")]
    return [f"{moved_sentence(most)} {good_sentence(most)}".strip()]


def changes(reader: Reader) -> list[str]:
    """Return what changed since the last visit; nothing where this is the first."""
    past = reader.snapshot.get("past") or {}
    if not past.get("last_on"):
        return []
    said = []
    for item in _once(reader.judged()):
        was, name = item.data.get("last_word"), {"name": upper_first(said_name(item))}
        if was in ("out_of_band", "harmful") and item.word in CALM:
            said.append(_("%(name)s is back in its good band.") % name)
        elif was in CALM and item.word in ("out_of_band", "harmful"):
            said.append(_("%(name)s has left its good band.") % name)
        elif was == "out_of_band" and item.word == "harmful":
            said.append(_("%(name)s has become harmful.") % name)
    done = list(dict.fromkeys(row["rule"] for row in past["done"]))
    said += [
        _("Done: %(what)s") % {"what": _(told.TOLD[rule])} for rule in done if rule in told.TOLD
    ]
    said += [text for text in (lost_since(reader), *_lives(reader, past)) if text]
    return said or [_("Nothing of note changed.")]


def lost_since(reader: Reader) -> str:
    """Return how many fish died since the last visit; empty where none did."""
    count = (reader.snapshot.get("past") or {}).get("deaths")
    if not count:
        return ""
    return ngettext("%(count)s fish died.", "%(count)s fish died.", count) % {"count": count}


def _lives(reader: Reader, past: Mapping[str, Any]) -> list[str]:
    """Return how the fish grew, what was picked and what was planted since the last visit."""
    said = []
    for row in reader.snapshot["fish"]:
        if row.get("grew_from") and row["weighed_on"] > past["last_on"]:
            values = {
                "name": _(row["name"]), "from": measured(row["grew_from"], "g", 0),
                "now": measured(row["mean_g"], "g", 0),
            }  # fmt: skip
            if row["mean_g"] > row["grew_from"]:
                said.append(_("%(name)s: %(from)s, now %(now)s.") % values)
    for words, names in (
        (_("Picked: %(names)s."), past.get("picked")),
        (_("Planted: %(names)s."), past.get("planted")),
    ):
        if names:
            shown = [_(name).split(",")[0] for name in names[:FEW]]
            said.append(words % {"names": ", ".join(dict.fromkeys(shown))})
    return said


def open_since(reader: Reader) -> list[tuple[str, str]]:
    """Return what earlier visits asked for already and is still open: (what, since when)."""
    since = (reader.snapshot.get("past") or {}).get("since") or {}
    rows = []
    for row in reader.snapshot["advice"]:
        day = since.get(row["id"])
        if day and row["rule"] in told.TOLD and row["rule"] not in told.NEVER_OPEN:
            rows.append((_(told.TOLD[row["rule"]]), reader.day(day)))
    return list(dict.fromkeys(rows))
