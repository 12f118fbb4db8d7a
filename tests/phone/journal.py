"""What a person typed on a phone, and where it must be in the end."""

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from apps.visits.models import Operation, Photo, Value

Place = tuple[str, str | None, str]


@dataclass
class Rows:
    """What a server holds: operations, standing values, photos."""

    operations: list[tuple[Place, Any]]
    values: dict[Place, Any]
    photos: list[str]


def _place(visit: Any, sheet: Any, path: str) -> Place:
    return str(visit), str(sheet) if sheet else None, path


def held_here() -> Rows:
    """Return what the test's own database holds."""
    names = ("visit_id", "sheet_id", "path", "value")
    return Rows(
        [(_place(*row[:3]), row[3]) for row in Operation.objects.values_list(*names)],
        {_place(*row[:3]): row[3] for row in Value.objects.values_list(*names)},
        [str(pk) for pk in Photo.objects.values_list("pk", flat=True)],
    )


@dataclass
class Journal:
    """Every answer typed and every photo taken, written down apart from the phone."""

    typed: list[tuple[Place, Any]] = field(default_factory=list)
    photos: set[str] = field(default_factory=set)

    def note(self, visit: Any, sheet: Any, path: str, value: Any) -> None:
        """Write down an answer."""
        self.typed.append((_place(visit, sheet, path), value))

    def missing(self, held: Rows | None = None) -> list[str]:
        """Return what is not on the server exactly once, in words; empty where all of it is."""
        held = held or held_here()
        faults = []
        times = Counter((place, repr(value)) for place, value in held.operations)
        for place, value in dict(self.typed).items():
            if times[place, repr(value)] != 1:
                faults.append(f"{value!r} of {place[2]} is there {times[place, repr(value)]} times")
            if held.values.get(place) != value:
                faults.append(f"{place[2]} reads {held.values.get(place)!r}, typed was {value!r}")
        # nothing was taken twice, whatever was sent again
        faults += [f"{key} is there {n} times" for key, n in times.items() if n > 1]
        here = Counter(held.photos)
        faults += [
            f"photo {key} is there {here[key]} times" for key in self.photos if here[key] != 1
        ]
        return faults
