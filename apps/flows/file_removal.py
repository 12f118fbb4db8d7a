"""Taking files away whose rows are gone: after the commit, by a job, until none is left.

A paper or photo is written before its row, so one whose row was refused belongs to nothing: each
night looks for those, and leaves what is young to whoever is still at it.
"""

import datetime as dt
import re
from collections.abc import Iterable, Iterator
from typing import Any

from django.apps import apps
from django.core.files.storage import default_storage
from django.utils.translation import gettext as _

from apps.core import outbox
from apps.flows.client_rows import file_columns, files_in_use

GRACE = dt.timedelta(days=7)
"""So old is what belongs to nothing when it goes: longer than any job is tried (own choice)."""
FOLDERS = ("photos", "proposals", "reports")
"""Where `core.files.store` is asked to put things; nothing else is ever looked at."""
FEW, SHARE = 20, 0.1
"""More than these, of all that is stored, belong to nothing only where the rows are not all here (own choice)."""
_NAME = re.compile(r"\w+/([0-9a-f]{2})/\1[0-9a-f]{62}\.\w{3,4}")


class TooMany(Exception):
    """So many files belong to nothing that rather the database is the wrong one."""


def files_remove(names: Iterable[str]) -> None:
    """Remove files that no row names any more. Raises Transient, as often as it takes, for what stays."""
    wanted = list(names)
    kept = files_in_use(wanted)
    left = [name for name in wanted if name not in kept and not _gone(name)]
    if left:
        raise outbox.Transient(
            _("files that could not be removed: %(count)d") % {"count": len(left)}, patient=True
        )


def _gone(name: str) -> bool:
    try:
        default_storage.delete(name)
    except FileNotFoundError:
        return True
    except OSError:
        return False
    return True


def files_sweep(at: dt.datetime) -> int:
    """Remove what was stored, belongs to no row and is older than GRACE; return how many.

    Raises TooMany, with nothing removed, where it would be more than a slip leaves behind.
    """
    held = list(_stored())
    known = _known()
    lost = [name for name in held if name not in known]
    if len(lost) > max(FEW, SHARE * len(held)):
        words = _("%(lost)d of %(held)d files belong to no row: is the database whole?")
        raise TooMany(words % {"lost": len(lost), "held": len(held)})
    # it is asked at the last moment how old one is: what is stored anew is young again
    return sum(_is_old(name, at) and _gone(name) for name in lost)


def _stored() -> Iterator[str]:
    """Yield the names of all that was stored under a name made of its bytes."""
    for folder in FOLDERS:
        for part in _listed(folder, 0):
            for name in _listed(f"{folder}/{part}", 1):
                if _NAME.fullmatch(whole := f"{folder}/{part}/{name}"):
                    yield whole


def _listed(folder: str, what: int) -> list[str]:
    try:
        return list(default_storage.listdir(folder)[what])
    except FileNotFoundError:
        return []


def _known() -> set[str]:
    """Return every name of a file that a row holds: one query a table."""
    found: set[str] = set()
    for model in apps.get_models():
        if columns := file_columns(model):
            rows: Any = model._base_manager.values_list(*columns)
            found |= {name for row in rows.iterator(chunk_size=2000) for name in row if name}
    return found


def _is_old(name: str, at: dt.datetime) -> bool:
    try:
        return default_storage.get_modified_time(name) < at - GRACE
    except FileNotFoundError:
        return False
