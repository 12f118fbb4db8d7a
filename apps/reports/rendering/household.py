"""What a household wants to know first: eat or wait, feed, pick, when we come, whom to call."""

import datetime as dt
import math
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.core.measures import weighed
from apps.core.numbers import format_plain
from apps.reports.rendering import told
from apps.reports.rendering.acting import promised
from apps.reports.rendering.deeds import deed
from apps.reports.rendering.reader import PLAIN, Reader, upper_first

MAX_PICK = 3
# a ration under this share of a scoop is said in grams
LEAST_SCOOP = 0.5


def eat_lines(reader: Reader) -> list[tuple[str, bool]]:
    """Return what may be eaten: (sentence, wait). The usual hygiene always stands."""
    lines: list[tuple[str, bool]] = []
    held: set[str] = set()
    for hold in reader.snapshot["holds"]:
        touched = {"fish": _("Fish"), "plants": _("Greens"), "both": _("Fish and greens")}
        values = {
            "what": touched[hold["touches"]], "day": reader.day(hold["until"]),
            "product": hold["product"],
        }  # fmt: skip
        lines.append((_("%(what)s: wait until %(day)s (%(product)s).") % values, True))
        held |= {"fish", "plants"} if hold["touches"] == "both" else {hold["touches"]}
    eaten = [row for row in reader.snapshot["fish"] if row.get("eaten", True)]
    rules = {row["rule"] for row in reader.snapshot["advice"]}
    if eaten and "fish" not in held:
        if rules.intersection(told.NO_FISH_RULES):
            lines.append((_("Fish: eat none until we say so."), True))
        else:
            lines.append((_("Fish: fine to eat, cooked through."), False))
    if reader.snapshot["plants"] and "plants" not in held:
        lines.append((_("Greens: fine to eat, washed well."), False))
    return lines


def feed_lines(reader: Reader, now: dt.datetime | None = None) -> list[str]:
    """Return the feed a meal in the client's own scoops, or in grams where no scoop is on record.

    `now`: when it is read, where that may be long after the visit; what is over by then is not said.
    """
    if not reader.snapshot["fish"]:
        return []
    percent, hours = _held_back(reader.snapshot)
    until = reader.moment(reader.snapshot["visit"]["finished"]) + dt.timedelta(hours=hours)
    if now is not None and until.date() < now.astimezone(reader.zone).date():
        percent = None
    if percent == 0 and _too_cold(reader.snapshot):
        return [_("No feed while it is so cold.")]
    if percent == 0:
        return [_("Give no feed until %(day)s.") % {"day": reader.day(until.isoformat())}]
    ration = _ration(reader)
    if ration is None:
        return [_("As much as you give now.")]
    grams = ration * (100.0 if percent is None else percent) / 100
    if grams < 1:
        return [_("It is too cold to feed.")]
    lines = _meals(reader, grams)
    if percent is not None and percent < 100:
        lines.append(_("Less than usual, until %(day)s.") % {"day": reader.day(until.isoformat())})
    return lines


def feed_by_another(reader: Reader, share: float, first: dt.date) -> tuple[str, float | None]:
    """Return what somebody else feeds once a day, the share being half: all that is said, and grams.

    `first`: their first day; what holds feed back until later is said before it. Grams are None
    where no ration is on record, 0 where half of it is too little to give.
    """
    ration = _ration(reader)
    if ration is None:
        return feed_unknown(), None
    if ration * share < 1:
        return _("Give no feed."), 0.0
    words, grams = _once_a_day(reader, ration * share)
    words = f"{words} " + _("That is half of usual at most. Stop when they stop eating.")
    percent, hours = _held_back(reader.snapshot)
    until = reader.moment(reader.snapshot["visit"]["finished"]) + dt.timedelta(hours=hours)
    if percent is None or percent >= share * 100 or until.date() <= first:
        return words, grams
    held = _("Give no feed until %(day)s.") % {"day": reader.day(until.isoformat())}
    return f"{held} {words}", grams


def feed_unknown() -> str:
    """Return what somebody else feeds where nobody can say how much is usual."""
    return _("Once a day, half of what you give now in a day. Stop when they stop eating.")


def _once_a_day(reader: Reader, grams: float) -> tuple[str, float]:
    """Return an amount in level scoops, or in grams alone; never more than it."""
    scoop = float((reader.snapshot.get("feeding") or {}).get("scoop_g") or 0.0)
    scoops = math.floor(2 * grams / scoop) / 2 if scoop else 0.0
    if scoops < LEAST_SCOOP:
        amount = weighed(_down(grams), "g", 0)
        return _("Once a day: %(amount)s.") % {"amount": amount}, _down(grams)
    words = {
        "scoops": ngettext("%(scoops)s level scoop", "%(scoops)s level scoops", math.ceil(scoops))
        % {"scoops": format_plain(scoops)},
        "grams": weighed(scoops * scoop, "g", 0, within=True),
    }
    return _("Once a day: %(scoops)s (%(grams)s).") % words, scoops * scoop


def _too_cold(snapshot: Mapping[str, Any]) -> bool:
    """Return whether the cold alone holds the feed back: it lasts as long as that."""
    holding = {
        row["rule"] for row in snapshot["advice"] if row["parameters"].get("feed_percent") == 0
    }
    return holding == {"too_cold_to_feed"}


def _ration(reader: Reader) -> float | None:
    """Return the fishes' ration in grams a day; None where none could be worked out."""
    found = [row["value"] for row in reader.snapshot["derived"] if row["code"] == "ration"]
    return sum(found) if found else None


def _held_back(snapshot: Mapping[str, Any]) -> tuple[float | None, float]:
    """Return the least share of the usual feed that any advice allows, and for how many hours."""
    kept = [
        (row["parameters"]["feed_percent"], row["parameters"].get("feed_hours") or 24.0)
        for row in snapshot["advice"]
        if row["parameters"].get("feed_percent") is not None
    ]
    if not kept:
        return None, 0.0
    least = min(share for share, _hours in kept)
    return least, max(hours for share, hours in kept if share == least)


def _meals(reader: Reader, grams: float) -> list[str]:
    """Return the day's feed as so many level scoops a meal, never more than the ration."""
    feeding = reader.snapshot.get("feeding") or {}
    meals, scoop = feeding.get("meals") or 2, feeding.get("scoop_g")
    often = ngettext("%(count)s meal a day.", "%(count)s meals a day.", meals) % {"count": meals}
    scoops = math.floor(2 * grams / meals / scoop) / 2 if scoop else 0.0
    if scoops < LEAST_SCOOP:
        meal = _down(grams / meals)
        return [
            _("%(amount)s a meal.") % {"amount": weighed(meal, "g", 0)},
            often,
            # of what is given, so that a reader's own sum comes to the same
            _("That is %(day)s a day.") % {"day": weighed(meal * meals, "g", 0)},
        ]
    whole = ngettext("%(scoops)s level scoop", "%(scoops)s level scoops", math.ceil(scoops)) % {
        "scoops": format_plain(scoops)
    }
    return [
        _("%(amount)s a meal.") % {"amount": whole},
        often,
        _("About %(day)s a day.") % {"day": weighed(_down(scoops * meals * (scoop or 0)), "g", 0)},
    ]


def _down(grams: float) -> float:
    """Return an amount without figures that mean nothing: to the gram, from 50 to five grams."""
    return float(math.floor(grams / 5) * 5 if grams >= 50 else math.floor(grams))


def pick_lines(reader: Reader) -> list[str]:
    """Return what is ripe, and what will be before the next visit."""
    held = {hold["touches"] for hold in reader.snapshot["holds"]}
    if held.intersection(("plants", "both")):
        return [_("Wait with picking, see above.")]
    ready = [row for row in reader.snapshot["plants"] if row["pick_from"]]
    ready.sort(key=lambda row: (row["pick_from"], row["name"]))
    seen: dict[str, str] = {}
    for row in ready:
        seen.setdefault(row["name"], row["pick_from"])
    planned = reader.snapshot["next"]["booked"] or reader.snapshot["next"]["due"]
    last = reader.date(planned) if planned else reader.on + dt.timedelta(days=14)
    lines = []
    for name, day in seen.items():
        what = upper_first(_(name)).split(",")[0]
        if dt.date.fromisoformat(day) <= reader.on:
            lines.append(_("%(what)s: ready now.") % {"what": what})
        elif dt.date.fromisoformat(day) <= last:
            lines.append(_("%(what)s from %(day)s.") % {"what": what, "day": reader.day(day)})
    lines = list(dict.fromkeys(lines))
    lines += [
        _("%(what)s: big enough to eat.") % {"what": _(row["name"])}
        for row in reader.snapshot["fish"]
        if row.get("market_g") and row["mean_g"] >= row["market_g"] and row.get("eaten")
    ]
    if not lines and reader.snapshot["plants"]:
        return [_("Nothing yet: let it grow.")]
    return lines[:MAX_PICK]


def next_lines(reader: Reader) -> list[str]:
    """Return when somebody comes next and why."""
    planned, first = reader.snapshot["next"], promised(reader)
    lines = []
    if planned["booked"]:
        lines.append(
            _("We come on %(day)s at %(time)s.")
            % {"day": reader.day(planned["booked"]), "time": reader.clock(planned["booked"])}
        )
    elif first and (not planned["due"] or first[0] < reader.date(planned["due"])):
        # what we said that we do does not wait until care is due
        day = reader.day(first[0].isoformat())
        return [
            _("We come by %(day)s. We will write.") % {"day": day},
            _("For this: %(what)s") % {"what": first[1]},
        ]
    elif planned["due"]:
        lines.append(
            _("Next care: about %(day)s. We will write.") % {"day": reader.day(planned["due"])}
        )
    return [*lines, *why_next(reader)]


def why_next(reader: Reader) -> list[str]:
    """Return why then: what a forecast sees, what was advised to be looked at, what falls due."""
    tasks = reader.snapshot["next"]["tasks"]
    foreseen = next((task for task in tasks if task.get("basis") == "forecast"), None)
    if foreseen and foreseen.get("measurand"):
        name = _(PLAIN.get(foreseen["measurand"], foreseen["measurand"]))
        return [
            _("%(name)s may reach its limit then.") % {"name": upper_first(name)},
            _("Give or take some days."),
        ]
    if tasks:
        return [_("Then due: %(task)s.") % {"task": deed(tasks[0]["code"], tasks[0]["name"])}]
    return []


def next_tasks(reader: Reader) -> list[tuple[str, str]]:
    """Return what will be done then: (deed, day on which it is due)."""
    return [
        (
            upper_first(deed(task["code"], task["name"])),
            reader.day(task["due"]) if task["due"] else "",
        )
        for task in reader.snapshot["next"]["tasks"]
    ]


def night_lines(reader: Reader) -> list[str]:
    """Return the first step when fish gasp, and whom to call at night."""
    phone = reader.snapshot["firm"]["emergency_phone"] or reader.snapshot["firm"]["phone"]
    return [
        _("Fish gasp? Air on, no feed, no chemicals. Then call."),
        _("Call %(phone)s, day and night.") % {"phone": phone},
    ]
