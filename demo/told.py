"""Prints what the reports of some systems say first, visit by visit: python -m demo.told --dir DEMO.

    bin/demo --once --dir DEMO --on 2026-06-11T09:00
    python -m demo.told --dir DEMO "Courtyard system" "Rope Walk"

Read them in a row: does each follow from the one before, and does it read like a person's?
"""

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from demo.run import environment

SYSTEMS = ("Courtyard system", "Back terrace", "Kiln Street greenhouse")


def lines(said: dict[str, Any]) -> Iterator[str]:
    """Yield the lines of one report: its first third, then what changed and what stands open."""
    yield f"{said['day']}  {said['verdict']}"
    yield f"  {' '.join(said['why'])}"
    for line in said["week"]:
        yield f"  - {line.day}: {line.text}"
    yield f"  Eat: {' '.join(sentence for sentence, _wait in said['eat'])}"
    yield f"  Feed: {' '.join(said['feed'])} Pick: {' '.join(said['pick'])}"
    yield f"  Next: {' '.join(said['next'])}"
    yield f"  Changed: {' '.join(said['changes'])}"
    for what, since in said["open_since"]:
        yield f"  Open: {what} since {since}"


def reports(name: str) -> Iterator[dict[str, Any]]:
    """Yield what each report of a system says, the first visit first. Nothing is stored."""
    from django.utils import translation

    from apps.accounts.selectors import firm_current
    from apps.core.measures import reading_in
    from apps.reports.rendering.document import first_of
    from apps.reports.snapshots import snapshot_of
    from apps.visits.models import Sheet

    rows = Sheet.objects.filter(system__name=name, visit__finished_at__isnull=False)
    for sheet in rows.select_related("visit__place", "system__place__client").order_by(
        "visit__finished_at", "pk"
    ):
        snapshot = snapshot_of(
            sheet, number=1, version=1, reason="", firm=firm_current(), contact=None
        )
        with translation.override(snapshot["language"]), reading_in(snapshot["units"]):
            yield first_of(snapshot)


def main() -> int:
    """Print them."""
    words = argparse.ArgumentParser(prog="python -m demo.told")
    words.add_argument("--dir", type=Path, required=True, help="folder of a demo that was loaded")
    words.add_argument("systems", nargs="*", default=SYSTEMS, help="names of systems")
    asked = words.parse_args()
    if not (asked.dir / "backyard.sqlite3").exists():
        words.error(f"--dir {asked.dir}: no demo was loaded there; run bin/demo --once first")
    environment(asked.dir.resolve(), 8000, "", 25)
    import django

    django.setup()
    for name in asked.systems:
        found = [line for said in reports(name) for line in lines(said)]
        if not found:
            words.error(f"{name!r}: no system of this name was visited")
        sys.stdout.write("\n".join([f"== {name}", *found, "", ""]))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
