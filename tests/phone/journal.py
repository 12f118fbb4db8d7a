"""What a person typed on a phone, and where it must be in the end."""

from collections import Counter
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from apps.visits.models import Operation, Photo, Value

Place = tuple[str, str | None, str]


@dataclass
class Journal:
    """Every answer typed and every photo taken, written down apart from the phone."""

    typed: list[tuple[Place, Any]] = field(default_factory=list)
    photos: set[str] = field(default_factory=set)

    def note(self, visit: Any, sheet: Any, path: str, value: Any) -> None:
        """Write down an answer."""
        self.typed.append(((str(visit), str(sheet) if sheet else None, path), value))

    def last(self) -> dict[Place, Any]:
        """Return what was typed last in each place."""
        return dict(self.typed)

    def missing(self) -> list[str]:
        """Return what is not on the server exactly once, in words; empty where all of it is."""
        faults = []
        ids = [UUID(place[0]) for place, _value in self.typed]
        rows = Operation.objects.filter(visit_id__in=ids).values_list(
            "visit_id", "sheet_id", "path", "value", "outcome"
        )
        held = Counter(
            ((str(v), str(s) if s else None, p), repr(value)) for v, s, p, value, _o in rows
        )
        applied = {
            (str(row.visit_id), str(row.sheet_id) if row.sheet_id else None, row.path): row.value
            for row in Value.objects.filter(visit_id__in=ids)
        }
        for place, value in self.last().items():
            if held[place, repr(value)] != 1:
                faults.append(f"{value!r} of {place[2]} is there {held[place, repr(value)]} times")
            if applied.get(place) != value:
                faults.append(f"{place[2]} reads {applied.get(place)!r}, typed was {value!r}")
        # no key was taken twice, whatever was sent again
        faults += [f"{key} is there {n} times" for key, n in held.items() if n > 1]
        here = Counter(map(str, Photo.objects.values_list("pk", flat=True)))
        faults += [
            f"photo {key} is there {here[key]} times" for key in self.photos if here[key] != 1
        ]
        return faults
