"""Taking files away whose rows are gone: after the commit, by a job, until none is left."""

from collections.abc import Iterable

from django.core.files.storage import default_storage
from django.utils.translation import gettext as _

from apps.core import outbox
from apps.flows.client_rows import files_in_use


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
