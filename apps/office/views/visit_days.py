"""Visit days of all places, by day."""

import datetime as dt

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from apps.accounts.actors import office_of
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.core.asked import day_of
from apps.office.selectors import visit_days as reads
from apps.office.selectors.due import areas
from apps.office.views.common import chosen

SPAN = dt.timedelta(days=7 * reads.WEEKS)
FURTHEST = dt.timedelta(days=366)


@require_safe
def visit_days(request: HttpRequest) -> HttpResponse:
    """Office: the visit days of all places for four weeks, by day; ?from= turns on or back."""
    actor = office_of(request)
    today = clock.today()
    first = day_of(request, "from") or today
    if abs(first - today) > FURTHEST:
        raise BadRequest("from: " + _("a day within a year is needed"))
    known = areas(actor)
    area = chosen(request, "area", dict.fromkeys(known))
    days = reads.firm_days(actor, first, catalogue_current(), area)
    context = {
        "days": days, "first": first, "last": first + SPAN - reads.ONE_DAY, "today": today,
        "before": first - SPAN, "after": first + SPAN, "areas": known, "area": area,
        "visits": sum(len(day.days) for day in days),
        "hours": round(sum(day.minutes for day in days) / 60),
    }  # fmt: skip
    return render(request, "office/visit_days.html", context)
