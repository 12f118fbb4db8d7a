"""The readings of a system over time: how each behaves, and all of them for a spreadsheet."""

import datetime as dt
from uuid import UUID

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from apps.accounts.actors import office_of
from apps.catalogue.selectors import catalogue_current
from apps.core import clock, files
from apps.core.csv_text import csv_answer
from apps.office.calculator_words import sources_said
from apps.office.selectors import readings_page as reads
from apps.office.views.common import chosen, found
from apps.systems.models import System
from apps.systems.selectors import with_parts
from apps.visits.models import ReadingPhoto
from apps.visits.selectors import lives_now

SOURCES = ("kendall1970", "sen1968", "hampel1974", "nist", "fieller1954")
SPAN = "6"


@require_safe
def readings(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: what a system's readings say together, loop by loop, over some months."""
    actor, on = office_of(request), clock.today()
    row = found(with_parts(System.objects.visible_to(actor)), pk)
    span = chosen(request, "months", reads.SPANS, SPAN)
    loops, catalogue, days = list(row.loops.all()), catalogue_current(), reads.SPANS[span]
    rows = reads.readings_since(loops, actor.at, days)
    lives, first = lives_now(row, loops, catalogue, on), on - dt.timedelta(days=days)
    context = {
        "system": row,
        "place": row.place,
        "span": span,
        "spans": [(code, _months(int(code))) for code in reads.SPANS],
        "loops": reads.loops_read(loops, lives, rows, catalogue, first, on),
        "count": len(rows),
        "sources": sources_said(SOURCES),
    }
    return render(request, "office/readings.html", context)


@require_safe
def reading_photo(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: the photo of what a client's figure was read from; ?size=small for the small one."""
    row = found(ReadingPhoto.objects.visible_to(office_of(request)), pk)
    stored = row.small if request.GET.get("size") == "small" else row.screen
    return files.jpeg_answer(stored, f"reading-{row.pk}")


@require_safe
def readings_csv(request: HttpRequest, pk: UUID) -> HttpResponseBase:
    """Office: the same readings for a spreadsheet."""
    actor = office_of(request)
    row = found(with_parts(System.objects.visible_to(actor)), pk)
    days = reads.SPANS[chosen(request, "months", reads.SPANS, SPAN)]
    loops = list(row.loops.all())
    head = [
        _("taken at"), _("loop"), _("reading"), _("value"), _("unit"), _("judged"), _("when"),
        _("method"), _("by"), _("trusted"),
    ]  # fmt: skip
    rows = reads.readings_since(loops, actor.at, days)
    return csv_answer("readings", head, reads.cells(loops, rows, catalogue_current()))


def _months(count: int) -> str:
    return ngettext("%(count)d month", "%(count)d months", count) % {"count": count}
