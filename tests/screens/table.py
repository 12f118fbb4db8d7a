"""Which pages there are: address name, role, state, and whose row each part names.

A page that is not in the table fails the walk; so does a row without a page.
"""

from dataclasses import dataclass, field

from tests.trust.policy import POLICIES

# answers that are no page: files, data, and what only takes a POST
NO_PAGE = frozenset({
    "livez", "readyz", "portal:report", "portal:answer", "accounts:logout", "office:due_csv",
    "office:places_csv", "office:systems_csv", "office:letters_csv", "office:reference_csv",
    "office:report_pdf", "office:photo", "field:look", "field:start",
    "field:undo",
})  # fmt: skip


@dataclass(frozen=True)
class Row:
    """One picture to take. `query` brings a page into a state: empty, or an error."""

    name: str
    role: str
    state: str = "full"
    query: str = ""
    kwargs: dict[str, str] = field(default_factory=dict)


def role_of(name: str) -> str:
    """Return who looks at a page."""
    if name.startswith("field:"):
        return "technician"
    if name.startswith("portal:"):
        return "client"
    return "anonymous" if name == "accounts:login" else "office"


def rows() -> list[Row]:
    """Return every page once with data, and the lists once empty."""
    pages = [
        Row(name, role_of(name), kwargs=policy.objects)
        for name, policy in POLICIES.items()
        if not name.startswith("api:") and name not in NO_PAGE
    ]
    empty = [
        Row("office:search", "office", "empty", "?q=zzzzzz"),
        Row("office:systems", "office", "empty", "?q=zzzzzz"),
        Row("office:search", "office", "found", "?q=a"),
    ]
    return pages + empty
