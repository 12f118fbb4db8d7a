"""Systems: the list, and a system's page."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from apps.accounts.actors import office_of
from apps.ahead.selectors import forecasts_of
from apps.care.selectors import FIRM_TASKS
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.core.csv_text import csv_answer
from apps.flows.middleware import list_seen
from apps.incidents.selectors import incidents_at
from apps.office.selectors import ahead_page as heading
from apps.office.selectors import system_page as reads
from apps.office.selectors import systems_list as lists
from apps.office.selectors.due import areas, hours_words
from apps.office.selectors.feed import feed_words
from apps.office.selectors.system_life import life_of
from apps.office.views.common import chosen, found, page_of
from apps.systems.models import System
from apps.systems.selectors import with_parts
from apps.visits.selectors import lives_now
from apps.visits.shown import sketch

MOST_EVENTS = 200
MOST_INCIDENTS = 6


@require_safe
def systems(request: HttpRequest) -> HttpResponse:
    """Office: all systems with their worst reading and their dates; filters, sorting, pages."""
    actor, on = office_of(request), clock.today()
    kept = chosen(request, "show", lists.FILTERS)
    sort = chosen(request, "sort", lists.SORTS, "name")
    known = areas(actor)
    area = chosen(request, "area", dict.fromkeys(known))
    rows = lists.systems_of(actor, area)
    page = page_of(request, lists.arranged(rows, kept, sort, on))
    context = {
        "filters": lists.filter_words(rows, kept, on),
        "areas": known,
        "area": area,
        "sort": sort,
        "page": page,
        "rows": lists.rows_shown(list(page.object_list), catalogue_current()),
    }
    return render(request, "office/systems.html", context)


@require_safe
def systems_csv(request: HttpRequest) -> HttpResponseBase:
    """Office: the systems under the same filters, for a spreadsheet."""
    actor, on = office_of(request), clock.today()
    kept = chosen(request, "show", lists.FILTERS)
    sort = chosen(request, "sort", lists.SORTS, "name")
    area = chosen(request, "area", dict.fromkeys(areas(actor)))
    rows = lists.arranged(lists.systems_of(actor, area), kept, sort, on)
    list_seen(request, rows)
    head = [
        _("system"), _("kind"), _("place"), _("client"), _("street"), _("town"), _("area"),
        _("litres"), _("running since"), _("last visit"), _("care due by"), _("worst reading"),
        _("value"), _("unit"), _("judged"),
    ]  # fmt: skip
    return csv_answer("systems", head, lists.cells(rows, catalogue_current()))


@require_safe
def system(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a system with its sketch, readings, life, care plan, history, advice and visits."""
    actor, on = office_of(request), clock.today()
    row = found(with_parts(System.objects.visible_to(actor)).select_related("standing"), pk)
    loops = list(row.loops.all())
    catalogue = catalogue_current()
    readings = reads.readings_of(loops, actor.at, catalogue)
    tasks = reads.care_rows(actor, row, catalogue, on)
    most = MOST_EVENTS if request.GET.get("history") == "all" else reads.RECENT
    drawn = any(part["components"] for part in readings.sketch)
    kept = forecasts_of(actor, row.pk)
    lives = lives_now(row, loops, catalogue, on) if kept else {}
    context = {
        "system": row,
        "place": row.place,
        "has_forecast": bool(kept),
        "first": heading.first_shown(loops, lives, kept, catalogue, actor.at),
        "loops": loops,
        "sentence": reads.opening(readings, tasks, on),
        "wide": sketch(readings.sketch, layout="wide") if drawn else "",
        "stacked": sketch(readings.sketch, layout="stacked") if drawn else "",
        "tables": readings.tables,
        "tasks": tasks,
        "ours": [row for row in tasks if row["task"].who in FIRM_TASKS],
        "theirs": [row for row in tasks if row["task"].who not in FIRM_TASKS],
        "built": reads.built_of(loops),
        "flows": reads.flows_shown(actor, row),
        "feed": feed_words(row),
        "life": life_of(loops, actor, on, catalogue),
        "advice": reads.advice_rows(row, catalogue),
        "done": reads.advice_done(row, catalogue),
        "visits": reads.visits_of(actor, row),
        "events": reads.events_of(actor, row, loops, catalogue, most),
        "all_events": most == MOST_EVENTS,
        "incidents": list(incidents_at(actor, row.pk)[:MOST_INCIDENTS]),
        "hours": hours_words(list(row.place.hours.all())),
    }
    return render(request, "office/system.html", context)
