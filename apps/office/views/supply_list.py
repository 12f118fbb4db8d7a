"""What a new system takes: its parts and its first supplies, as a page and for a spreadsheet."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from apps.accounts.actors import office_of
from apps.catalogue.selectors import catalogue_current
from apps.clients.selectors import source_waters
from apps.core import clock
from apps.core.csv_text import csv_answer
from apps.office.calculator_words import sources_said
from apps.office.selectors import supply_list as reads
from apps.office.views.common import found
from apps.systems.models import System
from apps.systems.selectors import with_parts

SOURCES = ("fao589", "ebeling2006", "rakocy2007", "chemistry", "practice")
USUAL_TEMP = 25.0


@require_safe
def supply_list(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: what to buy for a system: parts, and supplies until its third month."""
    context = _list(request, pk) | {"sources": sources_said(SOURCES)}
    return render(request, "office/supply_list.html", context)


@require_safe
def supply_list_csv(request: HttpRequest, pk: UUID) -> HttpResponseBase:
    """Office: the same list for a spreadsheet."""
    made = _list(request, pk)
    head = [_("what"), _("name"), _("how much"), _("sold as"), _("why")]
    return csv_answer("supplies", head, reads.cells(made["parts"], made["rows"]))


def _list(request: HttpRequest, pk: UUID) -> dict[str, Any]:
    actor = office_of(request)
    system = found(with_parts(System.objects.visible_to(actor)), pk)
    loops, catalogue = list(system.loops.all()), catalogue_current()
    source = source_waters([system.place_id], clock.today()).get(system.place_id)
    of = reads.building_of(system, loops, source, USUAL_TEMP)
    return {
        "system": system, "place": system.place, "source": source, "of": of,
        "parts": reads.parts_of(loops),
        "rows": reads.needed(of, catalogue) if of else [],
    }  # fmt: skip
