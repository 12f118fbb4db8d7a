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


class TimeHeld(Conflict):
    """Somebody's time is held for a client who may still pick it."""

    code = "time_held"


class NoOffer(Conflict):
    """No times can be offered for a visit; `why` in `extra` says why in a word."""

    code = "no_offer"


class OfferEnded(Conflict):
    """The client, the office or the time itself has ended an offer; `state` in `extra` says how."""

    code = "offer_ended"


class TimeGone(Conflict):
    """One of the times offered cannot be had any more; the others still can."""

    code = "time_gone"


class NotKept(Conflict):
    """A client confirms a time that is not kept, or in whose place they were offered others."""

    code = "not_kept"
