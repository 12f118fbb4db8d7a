"""Rules on what plants lack, with doses for the litres of this loop."""

from apps.calc import feed
from apps.calc.advice import guards
from apps.calc.advice.doses import SUBSTANCES, dose_explanation, grams_for, weekly_steps
from apps.calc.advice.facts import Facts
from apps.calc.advice.guards import BasePlan, base_plan, can_dose, potassium_room
from apps.calc.advice.registry import PLANTS, Act, rule
from apps.calc.advice.results import NEXT_VISIT, OFFICE, TECHNICIAN, Step

WEEK_H = 168.0
IRON_TARGET = 2.0  # mg/L every three weeks (Rakocy 2007)
IRON_DAYS = 21
FRUIT_POTASSIUM = 80.0  # mg/L
EC_STEP = 0.3  # mS/cm a day
GROW_OUT_PERCENT = 1.5  # of body weight a day (FAO 589: 1 to 2)


def _dose(
    f: Facts, substance: str, element: str, mg_l: float, source: str, *, parts: int = 1,
    every_hours: float = WEEK_H, params: dict[str, float | str] | None = None,
    cautions: tuple[str, ...] = (), why: str = "", assumed: tuple[str, ...] = (),
) -> Act:  # fmt: skip
    """Return an act dosing ``mg_l`` of an element in equal parts, or none with the reason."""
    extra: dict[str, float | str] = dict(params or {})
    if why or mg_l <= 0:
        return Act({**extra, "no_dose": why or "not_needed"}, cautions=cautions)
    grams = grams_for(substance, element, mg_l, f.loop.volume_l)
    steps = weekly_steps(substance, grams, parts, every_hours)
    inputs = {"mg_l": mg_l, "volume_l": f.loop.volume_l,
              "share": getattr(SUBSTANCES[substance], element)}  # fmt: skip
    return Act(
        {**extra, "mg_l": mg_l, "total_g": grams, "parts": float(parts)},
        dose=steps[0].dose,
        unit="g",
        substance=substance,
        steps=steps,
        cautions=("dissolve_first", *cautions),
        explanation=dose_explanation("element_dose", inputs, source, *assumed),
    )


@rule(
    "nitrogen_short", ref="R23", urgency=NEXT_VISIT, who=OFFICE, source="fao589",
    priority=PLANTS, recheck_hours=336, answers=("no3.low", "ec.low"), cautions=("do_not_overfeed",),
    wet=False,
)  # fmt: skip
def nitrogen_short(f: Facts) -> Act | None:
    """Old leaves pale first, nitrate or conductivity low: too little feed for the plants."""
    low = f.below("no3", f.band("no3").amber_lo) or f.trend("ec") == "falling"
    if not f.coupled or not low or not f.has("old_leaves_pale"):
        return None
    params: dict[str, float | str] = {"area": f.bed_m2}
    tan = f.v("tan")
    if tan is not None and tan < 0.5 and f.ration_g_day and guards.feed_percent(f) is None:
        params["feed_g"] = f.ration_g_day
    params["add_kg"] = max(0.0, min(_fish_for_area(f), _fish_room(f)))
    return Act(params)


def _fish_for_area(f: Facts) -> float:
    per_m2 = 65.0 if f.fruiting else 45.0
    return f.bed_m2 * per_m2 / (GROW_OUT_PERCENT / 100 * 1000) - f.biomass_kg


def _fish_room(f: Facts) -> float:
    """Return the kg of fish for which density, filter and air still have room."""
    rooms = []
    densest = min((kind.most_kg_m3 for kind in f.species), default=15.0)
    if f.loop.tank_l:
        rooms.append(densest * f.loop.tank_l / 1000)
    per_kg = GROW_OUT_PERCENT / 100 * 1000
    if f.filter_g_day is not None:
        rooms.append(0.5 * f.filter_g_day / feed.tan_g_day(per_kg, f.loop.protein))
    if f.loop.air_l_min is not None:
        rooms.append(f.loop.air_l_min * 0.12 * 24 / feed.oxygen_g_day(per_kg))
    return min(rooms, default=0.0) - f.biomass_kg


@rule(
    "fruit_hungry", ref="R24", urgency=NEXT_VISIT, who=TECHNICIAN, source="osu_ec_ph",
    priority=PLANTS, recheck_hours=168, answers=("ec.low", "k.low"),
    cautions=("no_nitrogen_salts_with_fish",),
)  # fmt: skip
def fruit_hungry(f: Facts) -> Act | None:
    """Fruiting crops in thin water."""
    ec = f.v("ec")
    limit = f.band("ec").t_lo if f.plant_water else 0.6
    if not f.fruiting or ec is None or limit is None or ec >= limit:
        return None
    params: dict[str, float | str] = {"ec": ec, "target_ec": limit}
    if f.plant_water:
        days = max(1.0, round((limit - ec) / EC_STEP + 0.499))
        return Act({**params, "ec_step": EC_STEP, "days": days})
    k = f.v("k")
    if k is None:
        return Act({**params, "no_dose": "measure_first"})
    wanted = min(FRUIT_POTASSIUM - k, potassium_room(f))
    return _dose(f, "K2SO4", "k", wanted, "chemistry", params={**params, "k": k},
                 why=can_dose(f, "k") or _room(wanted))  # fmt: skip


def _room(wanted: float) -> str:
    return "" if wanted > 0 else "no_room_for_salt"


@rule(
    "potassium_short", ref="R25", urgency=NEXT_VISIT, who=TECHNICIAN, source="chemistry",
    priority=PLANTS, recheck_hours=240, answers=("k.low",),
)  # fmt: skip
def potassium_short(f: Facts) -> Act | None:
    """Edges of old leaves burnt or fruit weak, and potassium below its target."""
    k = f.v("k")
    if k is None or not f.below("k", f.band("k").t_lo):
        return None
    if not f.has("old_leaf_edges_burnt", "weak_fruit"):
        return None
    wanted = min(10.0, potassium_room(f))
    params: dict[str, float | str] = {"k": k}
    plan = base_plan(f, (f.v("alk") or 0.0) + 12.8) if f.below("ph", 6.4) else None
    if isinstance(plan, BasePlan):
        by_base = plan.steps[0].dose
        grams = min(by_base, grams_for("KHCO3", "k", wanted, f.loop.volume_l))
        return Act({**params, "mg_l": wanted}, dose=grams, unit="g", substance="KHCO3",
                   steps=(Step(0.0, grams, "g", "KHCO3"),), cautions=("goggles", "dissolve_first"),
                   explanation=dose_explanation(
                       "element_dose", {"mg_l": wanted, "volume_l": f.loop.volume_l,
                                        "share": SUBSTANCES["KHCO3"].k}, "chemistry"))  # fmt: skip
    return _dose(f, "K2SO4", "k", wanted, "chemistry", params=params,
                 why=can_dose(f, "k") or _room(wanted))  # fmt: skip


def iron_chelate(ph: float | None) -> str:
    """Return the chelate that holds iron at this pH: EDTA below 6.5, EDDHA above 7.2.

    Valid range: pH 5 to 9. References: rakocy2007, practice.
    """
    if ph is not None and ph > 7.2:
        return "Fe-EDDHA 6 %"
    return "Fe-EDTA 13 %" if ph is not None and ph < 6.5 else "Fe-DTPA 11 %"


@rule(
    "iron_short", ref="R26", urgency=NEXT_VISIT, who=TECHNICIAN, source="rakocy2007",
    priority=PLANTS, recheck_hours=168, answers=("fe.low",), cautions=("eddha_red",),
)  # fmt: skip
def iron_short(f: Facts) -> Act | None:
    """New leaves yellow between green veins, or iron out of its band."""
    sign = f.has("new_leaves_yellow_between_veins") and f.has_plants
    if not sign and not f.below("fe", f.band("fe").amber_lo):
        return None
    fe = f.v("fe")
    if fe is None and f.within_days(IRON_DAYS, "iron_given"):
        return Act({"no_dose": "iron_given"})
    wanted = IRON_TARGET - (fe or 0.0)
    params: dict[str, float | str] = {} if fe is None else {"fe": fe}
    assumed = ("iron_taken_as_zero",) if fe is None else ()
    return _dose(f, iron_chelate(f.v("ph")), "fe", wanted, "rakocy2007", params=params,
                 why=can_dose(f), assumed=assumed)  # fmt: skip


@rule(
    "magnesium_short", ref="R27", urgency=NEXT_VISIT, who=TECHNICIAN, source="chemistry",
    priority=PLANTS, recheck_hours=240, answers=("mg.low",),
)  # fmt: skip
def magnesium_short(f: Facts) -> Act | None:
    """Old leaves yellow between the veins, or magnesium out of its band."""
    sign = f.has("old_leaves_yellow_between_veins") and f.has_plants
    low = f.below("mg", f.band("mg").amber_lo)
    if not low and not (sign and not f.above("mg", f.band("mg").t_hi)):
        return None
    mg = f.v("mg")
    params: dict[str, float | str] = {} if mg is None else {"mg": mg}
    return _dose(f, "MgSO4.7H2O", "mg", 5.0, "chemistry", params=params, why=can_dose(f))


@rule(
    "phosphorus_short", ref="R27", urgency=NEXT_VISIT, who=TECHNICIAN, source="chemistry",
    priority=PLANTS, recheck_hours=240, answers=("po4.low",),
    cautions=("calcium_chloride_apart",),
)  # fmt: skip
def phosphorus_short(f: Facts) -> Act | None:
    """Old leaves purple with little phosphate, or phosphate out of its band."""
    sign = f.has("old_leaves_purple") and f.below("po4", 1.0)
    if not sign and not f.below("po4", f.band("po4").amber_lo):
        return None
    potassium = SUBSTANCES["KH2PO4"].k / SUBSTANCES["KH2PO4"].p
    wanted = min(1.0, potassium_room(f) / potassium)
    return _dose(f, "KH2PO4", "p", wanted, "chemistry", params={"po4": f.v("po4") or 0.0},
                 why=can_dose(f, "po4") or _room(wanted))  # fmt: skip


@rule(
    "blossom_end_rot", ref="R29", urgency=NEXT_VISIT, who=TECHNICIAN, source="practice",
    priority=PLANTS, recheck_hours=336, answers=("ca.low",),
    cautions=("calcium_chloride_apart", "no_hydroxide"),
)  # fmt: skip
def blossom_end_rot(f: Facts) -> Act | None:
    """Fruit black at the blossom end: calcium does not reach it."""
    if not f.has("blossom_end_rot") or not f.has_plants:
        return None
    ca, target = f.v("ca"), f.band("ca").t_lo
    short = ca is not None and target is not None and ca < target
    why = can_dose(f, "ca") or ("" if short else "not_needed")
    params: dict[str, float | str] = {} if ca is None else {"ca": ca}
    return _dose(f, "CaCl2.2H2O", "ca", 20.0, "chemistry", parts=2, every_hours=WEEK_H,
                 params=params, why=why)  # fmt: skip
