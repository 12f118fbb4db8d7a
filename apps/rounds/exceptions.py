"""What can go wrong with a plan of rounds."""

from apps.core.exceptions import Conflict, DomainError


class PlanStale(DomainError):
    """Visits, hours or days changed since the plan was made."""

    status = 412
    code = "plan_stale"


class PlanNotReady(Conflict):
    """The plan is being made, or it has ended."""

    code = "plan_not_ready"


class ChangeRefused(DomainError):
    """A change by hand that would break what stands; `violations` in `extra` says what."""

    status = 409
    code = "change_refused"
