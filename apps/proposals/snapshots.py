"""What a proposal says, frozen: codes, numbers and names; the sentences are made when it is drawn.

Neither what the firm pays nor its margin is in it: a client's paper holds prices alone.
"""

import datetime as dt
from typing import Any

from apps.accounts.models import Firm
from apps.calc.design.sizing import Design
from apps.calc.design.survey import concerns, missing
from apps.calc.design.takeoff import room_needed, stands
from apps.care.services.tasks import MODES, applies
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.clients.models import Contact
from apps.core.measures import METRIC
from apps.proposals.designs import design_of, plan_kept
from apps.proposals.models import Proposal
from apps.proposals.selectors import sum_of, survey_seen

TEMPLATE = "1"
CLIENT = ["client"]


def snapshot_of(
    row: Proposal, *, version: int, firm: Firm, contact: Contact | None, at: dt.datetime
) -> dict[str, Any]:
    """Return what a proposal says now, as it is kept in a version."""
    catalogue = catalogue_current()
    made, drawn = design_of(row)
    standing = stands(drawn)
    kinds = {part.kind for part in drawn.parts} | {"fish", "plants"}
    return {
        "template": TEMPLATE,
        "language": contact.language if contact else firm.language,
        "units": contact.units if contact else METRIC,
        "time_zone": firm.time_zone, "paper": firm.paper,
        "number": row.number,
        "version": version,
        "made_at": at.isoformat(),
        "firm": {
            "name": firm.name, "street": firm.street, "town": firm.town, "phone": firm.phone,
            "email": firm.email,
        },
        "client": row.place.client.name,
        "contact": contact.name if contact else "",
        "place": {"name": row.place.name, "address": row.place.address},
        "name": row.name,
        "wish": {name: row.wish[name] for name in ("by", "amount", "crop_group", "bed_kind")},
        "species": catalogue.name("species", row.wish["species"]),
        "crop": catalogue.name("crops", row.crop) if row.crop else "",
        "words": row.words,
        "sizes": _sizes(made),
        "doubts": [{"code": d.code, "figures": [list(f) for f in d.figures]} for d in made.doubts],
        "plan": plan_kept(drawn),
        "stands": [[s.kind, s.floor_m2, s.load_kg_m2] for s in standing],
        "room_needed": room_needed(standing),
        "tasks": _tasks(kinds, catalogue),
        **_survey(row),
        **_money(row, firm, catalogue),
    }  # fmt: skip


def _sizes(made: Design) -> list[dict[str, Any]]:
    return [
        {"code": s.code, "low": s.low, "high": s.high, "chosen": s.chosen, "unit": s.unit}
        for s in made.sizes
    ]


def _tasks(kinds: set[str], catalogue: Catalogue) -> list[dict[str, Any]]:
    """Return what falls to the client, in the order of the work."""
    found = [
        (task["order"], {"name": str(task["name"]), "every_days": int(task["every_days"]),
                         "minutes": int(task["minutes"])})
        for task in catalogue.of(EntryKind.TASK).values()
        if task["who"] == CLIENT and task["rhythm"] in MODES and task["every_days"]
        and applies(task, kinds)
    ]  # fmt: skip
    return [row for _order, row in sorted(found, key=lambda pair: pair[0])]


def _survey(row: Proposal) -> dict[str, Any]:
    """Return what the survey adds: the client's words, the room, what to mind, what is open."""
    if row.survey is None:
        return {"surveyed_on": "", "wants": "", "room_m2": None, "concerns": [], "open": []}
    seen = survey_seen(row.survey)
    length, width = row.survey.length_m, row.survey.width_m
    return {
        "surveyed_on": row.survey.on.isoformat(),
        "wants": row.survey.wants,
        "room_m2": length * width if length and width else None,
        "concerns": [
            {"code": c.code, "level": c.level, "figure": c.figure} for c in concerns(seen)
        ],
        "open": list(missing(seen)),
    }


def _money(row: Proposal, firm: Firm, catalogue: Catalogue) -> dict[str, Any]:
    found = sum_of(row, firm.currency)
    return {
        "currency": firm.currency,
        "valid_until": row.valid_until.isoformat(),
        "lines": [
            {"group": line.item.group, "code": line.item.code,
             "name": catalogue.name("consumables", line.item.code)
             if line.item.group == "supply" else "",
             "quantity": line.quantity, "unit": line.item.unit, "total": line.total}
            for line in found.lines
        ],
        "hours": row.hours,
        "labour": found.labour,
        "extras": [list(pair) for pair in found.extras],
        "net": found.net,
        "tax_share": row.tax,
        "tax": found.tax,
        "gross": found.gross,
        "left_out": row.left_out,
    }  # fmt: skip
