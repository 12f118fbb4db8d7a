"""A new system's supply list: its parts, and what is needed before and in its first three months."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _later
from django.utils.translation import pgettext

from apps.calc.commissioning.supplies import Building, Supply, supplies
from apps.catalogue.selectors import Catalogue
from apps.clients.models import SourceWater
from apps.core.numbers import format_plain, with_unit
from apps.office.wording import upper_first
from apps.proposals.design_words import part_size
from apps.systems.choices import LoopKind
from apps.systems.models import Loop, System
from apps.systems.selectors import loop_sizes

WHY = {
    "media": _later("a tenth more than fits, for washing and settling"),
    "chlorine": _later("for the first filling, by the chlorine of the source water"),
    "ammonia": _later("until the filter is ready, and two test doses"),
    "base": _later("what the filter uses while it comes in, and what the source water lacks"),
    "feed": _later("as much as keeps once opened; for plants in all of the beds"),
    "iron": _later("2 mg/L every three weeks for three months"),
    "plants": _later("25 plants for each square metre of bed"),
    "tests": _later("every other day until the filter is ready, then each week"),
    "once": _later("one of each"),
}
LEAST, MOST = 50.0, 100_000.0


def building_of(
    system: System, loops: Sequence[Loop], source: SourceWater | None, temp_c: float
) -> Building | None:
    """Return what a list is made for; None where the litres are not known or cannot be."""
    sizes = [loop_sizes(loop) for loop in loops]
    litres = sum(size.litres for size in sizes)
    if not LEAST <= litres <= MOST:
        return None
    return Building(
        litres=litres,
        media_litres=sum(amount for size in sizes for _name, amount in size.media),
        bed_m2=sum(size.bed_m2 for size in sizes),
        temp_c=temp_c,
        source_alkalinity=source.alkalinity_mg_l_caco3 if source else 0.0,
        source_chlorine=min(source.total_chlorine_mg_l, 10.0) if source else 0.0,
        fish=any(loop.kind != LoopKind.PLANT for loop in loops) and system.kind != "plants_only",
    )


def needed(of: Building, catalogue: Catalogue) -> list[dict[str, Any]]:
    """Return the supplies in words."""
    return [
        {"name": upper_first(_(catalogue.name("consumables", row.code))), "amount": amount_of(row),
         "why": str(WHY[row.why]), "pack": _pack(row.code, catalogue)}
        for row in supplies(of)
    ]  # fmt: skip


def amount_of(row: Supply) -> str:
    """Return an amount with its unit, grams as kilograms from 1,000 on."""
    if row.unit == "g" and row.amount >= 1000:
        return with_unit(format_plain(row.amount / 1000), "kg")
    if row.unit == "kit":
        return format_plain(row.amount)
    return with_unit(format_plain(row.amount), row.unit) if row.unit else format_plain(row.amount)


def _pack(code: str, catalogue: Catalogue) -> str:
    entry = catalogue.get("consumables", code) or {}
    return pgettext("unit", str(entry["unit"])) if entry.get("unit") else ""


def parts_of(loops: Iterable[Loop]) -> list[dict[str, Any]]:
    """Return the fitted parts with their sizes."""
    return [
        {"name": part.name or str(part.get_kind_display()), "kind": str(part.get_kind_display()),
         "size": part_size(part)}
        for loop in loops
        for part in loop.fitted  # type: ignore[attr-defined]
    ]  # fmt: skip


def cells(parts: Iterable[dict[str, Any]], rows: Iterable[dict[str, Any]]) -> Iterator[list[str]]:
    """Yield the list as lines for a spreadsheet."""
    for part in parts:
        yield [_("part"), part["name"], part["size"], "", part["kind"]]
    for row in rows:
        yield [_("supply"), row["name"], row["amount"], row["pack"], row["why"]]
