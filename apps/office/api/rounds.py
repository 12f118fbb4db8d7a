"""Plans of rounds: asked for, read, accepted, dropped, changed by hand. All of it is the office's."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.utils.dateparse import parse_date, parse_time
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response

from apps.core import clock
from apps.core.exceptions import Invalid
from apps.flows.operation import Operation, body_of, found, once, only, page, text_in
from apps.flows.rounds import plan_accept, plan_drop, plan_start, stale
from apps.flows.rounds_changes import stop_move, technician_away
from apps.office.api import schemas
from apps.office.api.people import technician_in, technicians_in
from apps.office.api.rounds_schemas import (
    ACCEPTED,
    AWAY,
    MOST_ITERATIONS,
    MOST_SECONDS,
    MOST_SEED,
    MOVED_STOP,
    NEW_PLAN,
    PLAN,
    PLAN_BRIEF,
)
from apps.office.api.rounds_shapes import plan_brief, plan_shape
from apps.rounds.choices import PlanState
from apps.rounds.models import RoundPlan
from apps.rounds.planning.effort import Effort

USUAL_SECONDS = 10.0


class Plans(Operation):
    """The plans."""

    filters = frozenset({"state"})

    @extend_schema(
        operation_id="round_plans",
        parameters=[
            OpenApiParameter("state", str, enum=PlanState.values),
            OpenApiParameter("limit", int), OpenApiParameter("offset", int),
        ],
        responses={200: schemas.listed(PLAN_BRIEF)},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Office: all, the latest first."""
        rows = RoundPlan.objects.visible_to(self.office_only())
        state = request.query_params.get("state")
        if state is not None:
            if state not in PlanState.values:
                raise ParseError(
                    _("state=%(state)s: one of %(allowed)s")
                    % {"state": repr(state), "allowed": ", ".join(PlanState.values)}
                )
            rows = rows.filter(state=state)
        rows = rows.defer("problem", "work", "notes", "change", "judge_says")
        return page(request, rows, lambda items: [plan_brief(item) for item in items])

    @extend_schema(
        operation_id="round_plan_make",
        parameters=[schemas.KEY],
        request=NEW_PLAN,
        responses={201: PLAN},
    )
    def post(self, request: Request) -> Response:
        """Office: have a plan made; it is ready once its state says so."""
        actor = self.office_only()
        body = body_of(request)
        only(body, ("first", "days", "seconds", "iterations", "seed"), ("first", "days"))

        def act() -> tuple[int, Any]:
            plan = plan_start(
                first=day_in(body, "first"), days=whole_in(body, "days"), effort=_effort(body),
                today=clock.today(), by=actor, at=actor.at,
            )  # fmt: skip
            return 201, _shown(plan)

        answer = once(request, actor, act)
        if answer.status_code == 201 and isinstance(answer.data, dict):
            where = f"/api/v1/rounds/plans/{answer.data['id']}"
            answer["Location"] = request.build_absolute_uri(where)
        return answer


class OnePlan(Operation):
    """One plan."""

    @extend_schema(operation_id="round_plan", responses={200: PLAN})
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: any, with how far it has come, its rounds, and whether it is older than its visits."""
        return Response(_shown(found(RoundPlan.objects.visible_to(self.office_only()), pk)))


class AcceptPlan(Operation):
    """Acceptance."""

    @extend_schema(operation_id="round_plan_accept", request=None, responses={200: ACCEPTED})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: turn a plan into visits; those that clients were told of stay as they are."""
        actor = self.office_only()
        plan = found(RoundPlan.objects.visible_to(actor), pk)
        visits = plan_accept(plan=plan, today=clock.today(), by=actor, at=actor.at)
        plan.refresh_from_db()
        return Response({"plan": _shown(plan), "visits": [str(visit.pk) for visit in visits]})


class DropPlan(Operation):
    """Dropping."""

    @extend_schema(operation_id="round_plan_drop", request=None, responses={200: PLAN})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: drop a plan; one that is being made stops."""
        actor = self.office_only()
        plan = found(RoundPlan.objects.visible_to(actor), pk)
        plan_drop(plan=plan, by=actor, at=actor.at)
        return Response(_shown(plan))


class MoveStop(Operation):
    """A stop moved by hand."""

    @extend_schema(operation_id="round_plan_move", request=MOVED_STOP, responses={201: PLAN})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: make a plan in which a stop goes elsewhere, or hear what that would break."""
        actor = self.office_only()
        plan = found(RoundPlan.objects.visible_to(actor), pk)
        body = body_of(request)
        known = ("stop", "technicians", "day", "time", "position")
        only(body, known, ("stop", "technicians", "day"))
        made = stop_move(
            plan=plan, stop=text_in(body, "stop", 100),
            technicians=technicians_in(body, "technicians", most=2), day=day_in(body, "day"),
            time=_time(body), position=whole_in(body, "position") if "position" in body else None,
            today=clock.today(), by=actor, at=actor.at,
        )  # fmt: skip
        return Response(_shown(made), status=201)


class TechnicianAway(Operation):
    """A technician who is away."""

    @extend_schema(operation_id="round_plan_absence", request=AWAY, responses={201: PLAN})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: make a plan without a technician for some days; applied when it is accepted."""
        actor = self.office_only()
        plan = found(RoundPlan.objects.visible_to(actor), pk)
        body = body_of(request)
        only(body, ("technician", "first", "last", "reason"), ("technician", "first", "last"))
        made = technician_away(
            plan=plan, technician=technician_in(body["technician"], "/technician", "technician"),
            first=day_in(body, "first"), last=day_in(body, "last"),
            reason=text_in(body, "reason", 200), today=clock.today(), by=actor, at=actor.at,
        )  # fmt: skip
        return Response(_shown(made), status=201)


def _shown(plan: RoundPlan) -> dict[str, Any]:
    """Return a plan; only one that could be accepted is asked whether it is stale."""
    return plan_shape(plan, stale=plan.state == PlanState.READY and stale(plan, clock.today()))


def day_in(body: dict[str, Any], name: str) -> dt.date:
    """Return a day out of a body. Raises Invalid."""
    value = body.get(name)
    try:
        day = parse_date(value) if isinstance(value, str) and value.isascii() else None
    except ValueError:
        day = None
    if day is None or not 2000 <= day.year <= 2100:
        raise _refuse(name, value, _("a date such as 2026-06-11 is needed"))
    return day


def whole_in(
    body: dict[str, Any], name: str, low: int = 0, high: int = 10_000, where: str = ""
) -> int:
    """Return a whole number out of a body. Raises Invalid."""
    value = body.get(name)
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        words = _("a whole number from %(low)s to %(high)s is needed")
        raise _refuse(name, value, words % {"low": low, "high": high}, where)
    return value


def _effort(body: dict[str, Any]) -> Effort:
    """Return how long to search: for seconds, or so often. Raises Invalid."""
    seed = whole_in(body, "seed", 0, MOST_SEED) if "seed" in body else 1
    if "iterations" in body:
        if "seconds" in body:
            raise _refuse("seconds", body["seconds"], _("give either seconds or iterations"))
        return Effort(iterations=whole_in(body, "iterations", 1, MOST_ITERATIONS), seed=seed)
    value = body.get("seconds", USUAL_SECONDS)
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number or not 1 <= value <= MOST_SECONDS:
        words = _("a number from %(low)s to %(high)s is needed")
        raise _refuse("seconds", value, words % {"low": 1, "high": MOST_SECONDS})
    return Effort(seconds=float(value), seed=seed)


def _time(body: dict[str, Any]) -> dt.time | None:
    """Return a local time of day out of a body, None where it is not given. Raises Invalid."""
    if "time" not in body:
        return None
    value = body["time"]
    try:
        time = parse_time(value) if isinstance(value, str) and value.isascii() else None
    except ValueError:
        time = None
    if time is None or time.tzinfo is not None:
        raise _refuse("time", value, _("a time of day such as 09:05 is needed"))
    return time


def _refuse(name: str, value: Any, message: str, where: str = "") -> Invalid:
    shown = value if not isinstance(value, dict | list) else None
    return Invalid(
        [{"pointer": f"{where}/{name}", "value": shown, "message": f"{name}: {message}"}]
    )
