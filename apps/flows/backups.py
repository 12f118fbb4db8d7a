"""What the nightly copy of the media had to refuse, as it left it beside the database."""

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings


@dataclass(frozen=True)
class Refused:
    """So many files of a copy were gone from the media at once that it kept them; since when."""

    at: dt.datetime
    gone: int
    held: int


def copy_refused() -> Refused | None:
    """Return what the last copy refused; None where all was well, or no copy is made here."""
    path = Path(settings.BACKYARD_DIR) / "backup" / "refused"
    try:
        gone, held = path.read_text(encoding="ascii").split()
        at = dt.datetime.fromtimestamp(path.stat().st_mtime, dt.UTC)
        return Refused(at, int(gone), int(held))
    except (OSError, ValueError):
        return None
