"""Who may use which address: every page and every operation has its row here.

`who` names the roles that the address is for: office, technician, link (whoever holds a client's
link), anyone. `objects` says whose row each part of the address names.
"""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Policy:
    """One address. `methods`: what it takes; `body`: what a write is tried with."""

    who: frozenset[str]
    methods: tuple[str, ...] = ("GET",)
    objects: dict[str, str] = field(default_factory=dict)
    body: dict[str, str] = field(default_factory=dict)
    # a technician reads here but writes only with the office's word
    writes: frozenset[str] | None = None


OFFICE = frozenset({"office"})
STAFF = frozenset({"office", "technician"})
LINK = frozenset({"link"})
ANYONE = frozenset({"anyone"})


def api(who: frozenset[str], *methods: str, **objects: str) -> Policy:
    """Return the policy of an operation of the API."""
    return Policy(who, methods or ("GET",), objects)


POLICIES: dict[str, Policy] = {
    "livez": Policy(ANYONE),
    "readyz": Policy(ANYONE),
    "accounts:login": Policy(ANYONE, ("GET", "POST")),
    "accounts:logout": Policy(STAFF, ("POST",)),
    "accounts:sessions": Policy(STAFF, ("GET", "POST")),
    "portal:page": Policy(LINK, ("GET",), {"secret": "secret"}),
    "portal:answer": Policy(LINK, ("POST",), {"secret": "secret", "visit": "visit"},
                            {"answer": "confirmed"}),
    "portal:report": Policy(LINK, ("GET",), {"secret": "secret", "version": "version"}),
    "api:schema": api(STAFF),
    "api:due": api(STAFF),
    "api:systems": api(STAFF),
    "api:system": api(STAFF, pk="system"),
    "api:places": api(STAFF),
    "api:technicians": api(STAFF),
    "api:visits": Policy(STAFF, ("GET", "POST"), {}, {
        "place": "place", "systems": "[system]", "technicians": "[ana]",
        "start": "2026-06-20T08:00:00Z", "end": "2026-06-20T09:00:00Z",
    }, writes=OFFICE),
    "api:visit": Policy(STAFF, ("GET", "PATCH"), {"pk": "visit"}, {"start": "2026-06-20T08:00:00Z"},
                        writes=OFFICE),
    "api:transition": Policy(STAFF, ("POST",), {"pk": "visit"}, {"to": "under_way"}),
    "api:assessment": api(STAFF, pk="visit"),
    "api:values": Policy(STAFF, ("PUT",), {"pk": "visit"}, {}),
    "api:submission": Policy(STAFF, ("POST",), {"pk": "visit"}, {}),
    "api:visit_reports": api(STAFF, pk="visit"),
    "api:photos": Policy(STAFF, ("POST",), {"pk": "visit"}, {}),
    "api:photo": api(STAFF, pk="photo"),
    "api:release": Policy(OFFICE, ("POST",), {"pk": "report"}),
    "api:report_pdf": api(STAFF, pk="report"),
    "api:correction": Policy(OFFICE, ("POST",), {"pk": "reading"}, {"value": "6.5", "reason": "x"}),
    "api:letters": api(OFFICE),
    "api:letter_again": Policy(OFFICE, ("POST",), {"pk": "letter"}),
    "api:calculators": api(STAFF),
    "api:calculate": Policy(STAFF, ("POST",), {"name": "ammonia"}, {}),
    "api:catalogue": api(STAFF, kind="species"),
}  # fmt: skip
