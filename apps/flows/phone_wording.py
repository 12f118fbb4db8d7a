"""Where a phone and the server worked out differently, in words."""

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _

from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue


def differs_words(says: Sequence[dict[str, Any]], catalogue: Catalogue) -> list[str]:
    """Return in words where a phone and the server worked out differently."""
    return [
        _("%(rule)s: the phone had %(phone)s, the server %(server)s")
        % {"rule": _rule(row["rule"], catalogue), "phone": _dose(row["phone"]),
           "server": _dose(row["server"])}
        for row in says
    ]  # fmt: skip


def _rule(code: str, catalogue: Catalogue) -> str:
    entry = catalogue.get(EntryKind.RULE, code) or {}
    return _(str(entry["cause"])) if entry.get("cause") else code.replace("_", " ")


def _dose(side: dict[str, Any] | None) -> str:
    if side is None:
        return _("none")
    return _("advice without a dose") if side["dose"] is None else f"{side['dose']:.4g}"
