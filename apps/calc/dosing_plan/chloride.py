"""Chloride against nitrite: ten times the nitrite ion, sodium under its limit."""

from apps.calc import units
from apps.calc.advice.facts import Facts
from apps.calc.dosing_plan.products import PRODUCTS
from apps.calc.dosing_plan.results import CHLORIDE, NotUsed, Plan, Refusal, Request, Step
from apps.calc.dosing_plan.rooms import GIVEN, WEEK_MOST, Rooms
from apps.calc.dosing_plan.weighing import bucket_litres, weighed
from apps.calc.water import chloride_needed_mg_l
from apps.calc.wording import Text
from apps.calc.wording import text as _

SALTS = ("NaCl", "CaCl2.2H2O", "KCl")
RATIO = 10.0
_HOURS_APART = 1.0
_LEAST_CL = 0.5  # mg/L worth weighing


def chloride_plan(f: Facts, ask: Request, rooms: Rooms) -> Plan | Refusal:
    """Return the salts that bring chloride to ten times the nitrite ion, an hour apart.

    Common salt as far as measured sodium stays at 50 mg/L or below, then calcium chloride, then
    potassium chloride within the week's potassium. What was not measured of chloride counts as
    none. None for bass and sunfish. Expects that :func:`needs.lacks` found nothing.
    References: srac462, tomasso1986, chemistry.
    """
    no2 = f.fresh("no2")
    if no2 is None:
        message = "no2 must be read first"
        raise ValueError(message)
    if not f.has_fish:
        return Refusal(
            "goal", _("No fish live in this loop: nitrite harms none. Choose another goal.")
        )
    if not all(kind.chloride_helps for kind in f.species):
        return Refusal("goal", _(
            "Chloride does not help bass and sunfish against nitrite: change water and feed less."
        ))  # fmt: skip
    now = f.v("cl") or 0.0
    needed = chloride_needed_mg_l(no2, now, RATIO)
    if needed < _LEAST_CL:
        return Refusal("no2", _(
            "With nitrite at {value} mg/L N and chloride at {chloride} mg/L the ratio is kept: "
            "nothing is to be added.", value=no2, chloride=now,
        ))  # fmt: skip
    steps, at = _steps(f, ask, rooms, now, now + needed)
    left_out = _left_out(f, ask, rooms, {step.product for step in steps})
    if not steps:
        why = next((item.text for item in left_out if item.product in ask.at_hand), None)
        return Refusal("at_hand", why or _(
            "None of the chloride salts is at hand. Tick one that is, or order calcium chloride."
        ))  # fmt: skip
    return Plan(
        CHLORIDE, now + needed, now, at, f.loop.volume_l, tuple(steps), tuple(left_out),
        tuple(_notes(f, now + needed, at)), ("srac462", "tomasso1986", "chemistry"),
    )  # fmt: skip


def _room_cl(rooms: Rooms, code: str) -> float:
    """Return the chloride [mg/L] for which a salt's own metal leaves room. Fish come before plants:
    the plants' limit of chloride does not hold here."""
    shares = PRODUCTS[code].shares
    metals = [e for e in shares if e in ("na", "k")]
    return min(
        (rooms.room(e, 0) / shares[e] * shares["cl"] for e in metals), default=units.CHLORIDE * 1e3
    )


def _steps(
    f: Facts, ask: Request, rooms: Rooms, now: float, target: float
) -> tuple[list[Step], float]:
    steps: list[Step] = []
    at = now
    for code in SALTS:
        if code not in ask.at_hand:
            continue
        product = PRODUCTS[code]
        chloride = min(target - at, _room_cl(rooms, code))
        exact = chloride / product.shares["cl"] * f.loop.volume_l / 1000
        grams = weighed(exact, ask.scale_g)
        given = grams * 1000 / f.loop.volume_l
        if given * product.shares["cl"] < _LEAST_CL:
            continue
        brings = rooms.take(product, given, 0)
        after = at + brings["cl"]
        ph = f.v("ph")
        steps.append(Step(
            0, _HOURS_APART * len(steps), code, exact, grams, bucket_litres(product, grams),
            "client" if product.mild and ask.by_client else "technician",
            {"cl": at}, {"cl": after}, ph, ph, brings, rooms.totals(0),
        ))  # fmt: skip
        at = after
    return steps, at


def _left_out(f: Facts, ask: Request, rooms: Rooms, used: set[str]) -> list[NotUsed]:
    found = []
    for code in SALTS:
        if code in used:
            continue
        why: Text = _("Another that comes first serves.")
        if code not in ask.at_hand:
            why = _("None is at hand.")
        elif code == "NaCl" and f.v("na") is None:
            why = _("Sodium was not measured, and it may not pass {limit} mg/L.", limit=50.0)
        elif code == "NaCl" and rooms.room("na", 0) <= 0:
            why = _(
                "Sodium stands at {value} mg/L; {limit} is the most.",
                value=f.v("na") or 0.0,
                limit=50.0,
            )
        elif code == "KCl" and rooms.room("k", 0) <= 0:
            why = _(
                "The last seven days have brought {value} mg/L of {element}, and {limit} is the most. "
                "Wait, or tick another product.",
                value=round(rooms.week("k", 0), 1), element=GIVEN["k"], limit=WEEK_MOST["k"],
            )  # fmt: skip
        found.append(NotUsed(code, why))
    return found


def _notes(f: Facts, target: float, at: float) -> list[Text]:
    notes = [
        _("Do not dilute the chloride while nitrite is up: replace it with every water change.")
    ]
    if f.v("cl") is None:
        notes.append(_("Chloride was not measured and is counted as none."))
    if target - at >= _LEAST_CL:
        notes.append(_(
            "{left} mg/L of chloride are still missing under the limits: tick another salt, change "
            "water and feed less.", left=round(target - at, 1),
        ))  # fmt: skip
    most = f.band("cl").t_hi
    if f.has_plants and most is not None and at > most:
        notes.append(_(
            "Chloride then passes {limit} mg/L: beans and strawberries suffer; the fish come first.",
            limit=most,
        ))  # fmt: skip
    return notes
