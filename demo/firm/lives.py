"""What lives in each loop on a day, from rows in memory: which bands a reading is judged by."""

import datetime as dt
from typing import Any
from uuid import UUID

from apps.calc.judgement import LoopContext
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.visits.selectors import COLD, LoopLife


def lives_on(bench: Any, day: dt.date, catalogue: Catalogue) -> dict[UUID, LoopLife]:
    """Return what decides the bands of each loop of a system on a day."""
    works, lives = bench.works, {}
    for kind, loop in works.loops.items():
        species = tuple(
            dict.fromkeys(
                batch.species for batch in bench.truth.batches if batch.alive(day)
            )
        ) if kind != "plant" else ()  # fmt: skip
        parts = {part.pk for part in works.loop_parts(kind)}
        standing = [
            crop for crop in bench.crops
            if crop.component_id in parts and crop.transplanted_on <= day
            and (crop.ended_on is None or crop.ended_on > day)
        ]  # fmt: skip
        groups = tuple(
            dict.fromkeys(
                str((catalogue.get(EntryKind.CROP, crop.crop_code) or {}).get("group", "leafy"))
                for crop in standing
            )
        )
        cold = any(
            (catalogue.get(EntryKind.SPECIES, code) or {}).get("group") == COLD for code in species
        )
        context = LoopContext(
            system_kind=works.system.kind, loop_kind=kind, species=species, crop_groups=groups,
            cold=cold,
            cycling=not species and kind != "plant" and works.system.kind != "plants_only",
        )  # fmt: skip
        lives[loop.pk] = LoopLife(context, (), ())
    return lives
