"""Designs as they are kept: wish, site, rules, parts and flows as plain data, and back."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from apps.calc.design.parts import Part, Plan, plan
from apps.calc.design.sizing import Design, Rules, size
from apps.calc.design.wish import Site, Wish
from apps.catalogue.selectors import Catalogue
from apps.proposals.models import Proposal


def kept(made: Wish | Site) -> dict[str, Any]:
    """Return a wish or a site as it is stored."""
    return asdict(made)


def wish_of(data: Mapping[str, Any]) -> Wish:
    """Return a stored wish. Raises ValueError where it cannot be built any more."""
    pairs = {name: tuple(data[name]) for name in ("heads_per_m2", "growing_days")}
    return Wish(**(dict(data) | pairs))


def site_of(data: Mapping[str, Any]) -> Site:
    """Return a stored site. Raises ValueError for figures out of range."""
    return Site(**data)


def rules_of(catalogue: Catalogue) -> Rules:
    """Return the firm's sizing rules as (from, to); those without figures are left out."""
    return {
        code: (float(row["low"]), float(row["high"]))
        for code, row in catalogue.of("sizing").items()
        if row["low"] is not None and row["high"] is not None
    }


def rules_kept(rules: Rules) -> dict[str, list[float]]:
    """Return sizing rules as they are stored."""
    return {code: list(ends) for code, ends in rules.items()}


def design_of(row: Proposal) -> tuple[Design, Plan]:
    """Return what a proposal's wish comes to at its site, by the rules of the day it was made."""
    wish, site = wish_of(row.wish), site_of(row.site)
    rules = {code: (ends[0], ends[1]) for code, ends in row.rules.items()}
    made = size(wish, site, rules)
    return made, plan(made, wish, site)


def plan_kept(drawn: Plan) -> dict[str, Any]:
    """Return parts and flows as they are stored."""
    return {
        "parts": [asdict(part) for part in drawn.parts],
        "flows": [list(f) for f in drawn.flows],
    }


def plan_of(data: Mapping[str, Any]) -> Plan:
    """Return stored parts and flows."""
    return Plan(
        tuple(Part(**part) for part in data["parts"]),
        tuple((int(a), int(b), str(how)) for a, b, how in data["flows"]),
    )


def sketch_data(drawn: Plan, names: Sequence[str]) -> list[dict[str, Any]]:
    """Return a plan as the flow sketch takes it; `names`: what its parts are called, in order."""
    tank = next(part.litres for part in drawn.parts if part.kind == "tank")
    pump = next(part.flow_l_h for part in drawn.parts if part.kind == "pump")
    return [
        {
            "id": "design", "kind": "whole",
            "litres": sum(part.litres or 0.0 for part in drawn.parts),
            "turnover": round(pump / tank, 2) if pump and tank else None,
            "components": [
                {"id": str(index), "kind": part.kind, "name": name, "litres": part.litres,
                 "area_m2": part.area_m2}
                for index, (part, name) in enumerate(zip(drawn.parts, names, strict=True))
            ],
            "flows": [
                {"source": str(source), "target": str(target), "kind": how,
                 "l_h": pump if how == "pumped" else None, "l_day": None, "one_way": False}
                for source, target, how in drawn.flows
            ],
            "values": {},
        }
    ]  # fmt: skip
