"""Plans of rounds as plain JSON: for the API and for the command."""

from typing import Any

from apps.flows.rounds_wording import failed_text, left_out_text, note_text
from apps.office.api.shapes import iso
from apps.rounds.models import RoundPlan
from apps.rounds.planning.plan import Call, Round
from apps.rounds.planning.problem import MONEY
from apps.rounds.selectors import moment_of
from apps.rounds.selectors.shown import PlanShown, plan_shown


def plan_brief(row: RoundPlan) -> dict[str, Any]:
    """Return a plan as a line of a list."""
    plan = row.plan or {}
    return {
        "id": str(row.pk),
        "first": row.first.isoformat(),
        "days": row.days,
        "state": row.state,
        "share": row.share,
        "value": row.best / MONEY if row.best is not None else None,
        "cost": plan["cost"] / MONEY if plan else None,
        "rounds": len(plan.get("rounds", [])),
        "left_out": len(plan.get("left_out", [])),
        "made_at": iso(row.made_at),
        "made_by": row.made_by,
        "judged_at": iso(row.judged_at),
        "ended_at": iso(row.ended_at),
        "ended_by": row.ended_by,
        "revises": str(row.revises_id) if row.revises_id else None,
        "failed_because": failed_text(plan_shown(row)) if row.failed_code else "",
    }


def plan_shape(row: RoundPlan, *, stale: bool) -> dict[str, Any]:
    """Return a plan with its rounds; `stale`: whether what it was made from has changed."""
    shown = plan_shown(row)
    plan = shown.plan
    return {
        **plan_brief(row),
        "stale": stale,
        "estimated": plan.estimated if plan else False,
        "km": sum(made.metres for made in plan.rounds) / 1000 if plan else 0,
        "change": row.change or None,
        "notes": [
            {"code": note["code"], "text": note_text(shown, note["code"], note["params"])}
            for note in row.notes
        ],
        "technician_days": [_round(shown, made) for made in plan.rounds] if plan else [],
        "not_planned": [
            {
                **_stop(shown, left.stop), "reason": left.reason,
                "text": left_out_text(shown, left.stop, left.reason, left.params),
            }
            for left in plan.left_out
        ] if plan else [],
    }  # fmt: skip


def _round(shown: PlanShown, made: Round) -> dict[str, Any]:
    first = shown.row.first
    lunch = made.lunch
    return {
        "technician": {"id": made.technician, "name": shown.person(made.technician)},
        "day": shown.day(made.day).isoformat(),
        "leave": iso(moment_of(first, made.leave)),
        "back": iso(moment_of(first, made.back)),
        "lunch": {
            "start": iso(moment_of(first, lunch.start)), "end": iso(moment_of(first, lunch.end))
        } if lunch else None,
        "km": made.metres / 1000,
        "cost": made.bill.total / MONEY,
        "calls": [_call(shown, call) for call in made.calls],
    }  # fmt: skip


def _call(shown: PlanShown, call: Call) -> dict[str, Any]:
    first = shown.row.first
    return {
        **_stop(shown, call.stop),
        "arrive": iso(moment_of(first, call.arrive)),
        "start": iso(moment_of(first, call.start)),
        "end": iso(moment_of(first, call.leave)),
    }


def _stop(shown: PlanShown, name: str) -> dict[str, Any]:
    work, stop = shown.work[name], shown.stop(name)
    return {
        "stop": name,
        "kind": work.kind,
        "visit": str(work.visit) if work.visit else None,
        "place": str(work.place),
        "place_name": shown.place(name),
        "systems": [{"id": str(row.pk), "name": row.name} for row in shown.systems_at(name)],
        "people": stop.people if stop else 1,
    }
