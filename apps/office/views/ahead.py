"""Ahead: where a system's water is heading, and when somebody should come."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.ahead.selectors import forecasts_of
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.flows.ahead import forecast_ask
from apps.office.selectors import ahead_page as reads
from apps.office.selectors.system_page import visits_of
from apps.office.views.common import POSTED, found
from apps.systems.models import System
from apps.systems.selectors import with_parts
from apps.visits.selectors import lives_now


@require_http_methods(POSTED)
def ahead(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a system's forecast, loop by loop; a POST has it made anew."""
    actor, on = office_of(request), clock.today()
    row = found(with_parts(System.objects.visible_to(actor)), pk)
    if request.method == "POST":
        forecast_ask([row.pk], actor.at)
        messages.success(request, _("The forecast is being made anew; look again in a minute."))
        return redirect("office:ahead", row.pk)
    loops, catalogue = list(row.loops.all()), catalogue_current()
    kept, visits = forecasts_of(actor, row.pk), visits_of(actor, row)
    lives = lives_now(row, loops, catalogue, on)
    context = {
        "system": row,
        "place": row.place,
        "said": reads.visit_words(kept, visits, on),
        "made_at": max((one.row.made_at for one in kept.values()), default=None),
        "loops": reads.loops_shown(loops, lives, kept, catalogue, actor.at, visits),
        "kept": bool(kept),
    }
    return render(request, "office/ahead.html", context)
