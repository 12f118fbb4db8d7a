"""What waits for the office, and today's rounds: beside the due list."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Prefetch, Q, Subquery
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.care.models import Standing
from apps.core.models import Job
from apps.core.scoping import Actor
from apps.flows.backups import copy_refused
from apps.incidents.choices import Said, Stand
from apps.incidents.models import Incident
from apps.incidents.selectors import incidents_open
from apps.office.selectors.away import away_soon
from apps.office.selectors.phones import QUIET, late_check_ins, waits_words
from apps.office.selectors.waiting_item import Waiting, waits
from apps.office.selectors.waiting_letters import letters_waiting
from apps.office.selectors.waiting_notices import notices_waiting
from apps.office.selectors.waiting_proposals import proposals_waiting
from apps.office.selectors.waiting_visits import visits_waiting
from apps.office.wording import age_words, day_words, first_sentences, place_label
from apps.reports.models import Report, ReportVersion
from apps.visits.choices import HOLDING, Answer, Remark, State
from apps.visits.models import Assignment, Phone, PhoneRemark, Sheet, Visit

MOST, MOST_LOOKED_AT = 12, 200


def open_calls(actor: Actor) -> list[Waiting]:
    """Return the calls for help that are not closed, open ones first, the longest first: one query."""
    rows = incidents_open(actor).order_by("rank", "opened_at")[:MOST]
    return [_call(actor, row) for row in rows]


def _call(actor: Actor, row: Incident) -> Waiting:
    url = reverse("office:incident", args=[row.pk])
    text = (
        _(", %(place)s: %(what)s")
        if row.state == Stand.OPEN
        else _(", %(place)s: %(what)s, being watched")
    )
    what = row.said if row.kind == Said.OTHER and row.said else str(row.get_kind_display())
    words = {"place": place_label(row.system.place), "what": first_sentences(what, 90)}
    age = age_words(row.opened_at, actor.at)
    return Waiting(row.opened_at, age, url, row.system.name, text % words,
                   person=row.state == Stand.OPEN)  # fmt: skip


def waiting_for_us(actor: Actor) -> list[Waiting]:
    """Return what waits for the office, people first, then the longest: a fixed number of queries."""
    items = [
        *_reports(actor),
        *_corrections(actor),
        *visits_waiting(actor),
        *letters_waiting(actor),
    ]
    items += [*_jobs(actor), *_alone(actor), *_phones(actor), *_brought(actor)]
    items += [*_copy(actor), *_too_late(actor), *proposals_waiting(actor), *away_soon(actor)]
    items += notices_waiting(actor)
    return sorted(items, key=lambda item: (not item.person, item.since))


def _copy(actor: Actor) -> list[Waiting]:
    """Return that the nightly copy of the photos was refused: no query."""
    row = copy_refused()
    if row is None:
        return []
    words = {"gone": row.gone, "held": row.held}
    return [
        waits(
            actor, row.at, reverse("office:keeping"), _("Copy of photos and papers"),
            _(": %(gone)d of %(held)d files are gone here at once; the copy kept them") % words,
        )
    ]  # fmt: skip


def _too_late(actor: Actor) -> list[Waiting]:
    """Return promised visits that come after the day on which a limit is most likely passed.

    A forecast moves no promise, so the office is told: one query.
    """
    coming = (
        Sheet.objects.visible_to(actor)
        .filter(system=OuterRef("system"), visit__state__in=HOLDING, visit__start__gte=actor.at)
        .order_by("visit__start", "pk")
    )
    rows = (
        Standing.objects.visible_to(actor)
        .filter(ahead_from__isnull=False, system__active=True)
        .annotate(
            visit_pk=Subquery(coming.values("visit_id")[:1]),
            visit_start=Subquery(coming.values("visit__start")[:1]),
        )
        .filter(visit_pk__isnull=False)
        .select_related("system")
        .order_by("ahead_from", "pk")[:MOST_LOOKED_AT]
    )
    items = []
    for row in rows:
        likely = row.ahead.get("middle")
        start = timezone.localdate(row.visit_start)
        if likely is None or start <= dt.date.fromisoformat(likely):
            continue
        text = _(": a limit is most likely passed on %(likely)s, before the visit on %(day)s") % {
            "likely": day_words(dt.date.fromisoformat(likely)), "day": day_words(start),
        }  # fmt: skip
        url = reverse("office:visit", args=[UUID(str(row.visit_pk))])
        items.append(waits(actor, row.computed_at or actor.at, url, row.system.name, text))
    return items[:MOST]


def _reports(actor: Actor) -> list[Waiting]:
    visits = (
        Visit.objects.visible_to(actor)
        .filter(state=State.WRITTEN_UP)
        .select_related("place__client")
        .prefetch_related(Prefetch("reports", Report.objects.visible_to(actor).order_by("number")))
        .order_by("written_up_at")[:MOST]
    )
    items = []
    for visit in visits:
        numbers = ", ".join(str(report) for report in visit.reports.all())
        place = place_label(visit.place)
        name = _("Report %(numbers)s") % {"numbers": numbers} if numbers else place
        text = (
            _(", %(place)s: written up, not released") % {"place": place}
            if numbers
            else _(": written up, the report is being drawn")
        )
        since = visit.written_up_at or visit.start
        items.append(waits(actor, since, reverse("office:visit", args=[visit.pk]), name, text))
    return items


def _corrections(actor: Actor) -> list[Waiting]:
    """Return the reports whose correction is drawn and not released, or being drawn: one query."""
    later = ReportVersion.objects.filter(
        report=OuterRef("report"), number__gt=OuterRef("number"), release__isnull=False
    )
    fresh = ReportVersion.objects.filter(
        ~Exists(later), report=OuterRef("pk"), number__gt=1, release__isnull=True,
        report__visit__state=State.REPORTED,
    ).order_by("made_at")  # fmt: skip
    rows = (
        Report.objects.visible_to(actor)
        .annotate(fresh_at=Subquery(fresh.values("made_at")[:1]))
        .filter(Q(correction_due=True) | Q(fresh_at__isnull=False), visit__isnull=False)
        .select_related("visit__place__client")
        .order_by("made_at")[: 2 * MOST]
    )
    items = []
    for row in rows:
        if row.fresh_at is not None:
            items.append(
                _of_report(actor, row, row.fresh_at, _(", %(place)s: corrected, not released"))
            )
        if row.correction_due:
            text = _(", %(place)s: a correction is being drawn")
            items.append(_of_report(actor, row, row.made_at, text))
    return items


def _of_report(actor: Actor, row: Any, since: dt.datetime, text: str) -> Waiting:
    url, name = reverse("office:visit", args=[row.visit_id]), _("Report %(numbers)s")
    words = text % {"place": place_label(row.visit.place)}
    return waits(actor, since, url, name % {"numbers": row}, words)


def _jobs(actor: Actor) -> list[Waiting]:
    rows = Job.objects.visible_to(actor).filter(state=Job.State.DEAD).order_by("made_at")[:MOST]
    names = {"reports.render": _("A report"), "letters.send": _("A letter")}
    items = []
    for job in rows:
        visit = job.args.get("visit_id")
        url = reverse("office:visit", args=[visit]) if visit else reverse("office:letters")
        text = _(" was given up after %(count)d tries") % {"count": job.attempts}
        items.append(waits(actor, job.made_at, url, names.get(job.kind, _("A job")), text))
    return items


def _alone(actor: Actor) -> list[Waiting]:
    """Return those who work alone and have not said fine in time."""
    return [
        Waiting(
            item.row.fine_by, age_words(item.row.fine_by, actor.at),
            reverse("office:visit", args=[item.row.visit_id]), item.person,
            _(" works alone at %(place)s and has not said fine: call %(phone)s")
            % {"place": place_label(item.row.visit.place),
               "phone": item.phone or _("now")},
            person=True,
        )
        for item in late_check_ins(actor)
    ]  # fmt: skip


def _phones(actor: Actor) -> list[Waiting]:
    """Return the phones that went quiet with something unsent."""
    rows = (
        Phone.objects.visible_to(actor)
        .filter(Q(pending_ops__gt=0) | Q(pending_photos__gt=0), last_at__lte=actor.at - QUIET)
        .select_related("user")
        .order_by("last_at")[:MOST]
    )
    return [
        waits(
            actor, row.last_at, reverse("office:phone", args=[row.pk]), str(row.user),
            _(": %(what)s, and the phone has not been heard from since")
            % {"what": waits_words(row, actor.at)},
        )
        for row in rows
    ]  # fmt: skip


def _brought(actor: Actor) -> list[Waiting]:
    """Return what phones brought that nobody has looked at, once for each visit and kind."""
    rows = (
        PhoneRemark.objects.visible_to(actor)
        .filter(seen_at__isnull=True)
        .select_related("visit__place__client")
        .order_by("made_at")[: 8 * MOST]
    )
    groups: dict[tuple[str, Any], list[PhoneRemark]] = {}
    for row in rows:
        groups.setdefault((row.kind, row.visit_id), []).append(row)
    return [_brought_item(actor, found) for found in groups.values()]


def _brought_item(actor: Actor, rows: list[PhoneRemark]) -> Waiting:
    row, count = rows[0], len(rows)
    name = place_label(row.visit.place) if row.visit else _("A phone")
    url = f"{reverse('office:phones')}#looks"
    if row.visit is not None:
        url = f"{reverse('office:visit', args=[row.visit_id])}#looks"
    text = {
        Remark.REFUSED: ngettext(
            ": %(count)d answer of a phone could not be taken",
            ": %(count)d answers of a phone could not be taken", count,
        ),
        Remark.LATE: ngettext(
            ": %(count)d answer arrived after the report",
            ": %(count)d answers arrived after the report", count,
        ),
        Remark.DIFFERS: _(": the phone had worked out other advice than the server"),
    }[Remark(row.kind)]  # fmt: skip
    return waits(actor, row.made_at, url, name, text % {"count": count} if "%" in text else text)


def todays_rounds(actor: Actor) -> list[dict[str, Any]]:
    """Return today's visits of each technician in the order of the day: one query."""
    start = timezone.localtime(actor.at).replace(hour=0, minute=0, second=0, microsecond=0)
    rows = (
        Assignment.objects.visible_to(actor)
        .filter(start__gte=start, start__lt=start + dt.timedelta(days=1))
        .exclude(visit__state=State.CALLED_OFF)
        .select_related("user", "visit__place__client")
        .order_by("user__first_name", "user__username", "start")
    )
    rounds: dict[Any, dict[str, Any]] = {}
    for row in rows:
        entry = rounds.setdefault(row.user_id, {"user": row.user, "stops": []})
        entry["stops"].append({"visit": row.visit, "word": stop_word(row.visit)})
    return list(rounds.values())


def stop_word(visit: Visit) -> str:
    """Return where a stop stands: what the client said while it is booked, else its state."""
    if visit.state == State.BOOKED and visit.client_answer != Answer.NOT_ASKED:
        return str(visit.get_client_answer_display())
    return str(visit.get_state_display())
