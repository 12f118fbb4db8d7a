"""Weather that is coming: who is in danger, the list that goes out, who has answered."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.calc.weather import CAUTIONS, CHECKLISTS
from apps.core.refusing import attempt
from apps.flows.weather_letters import weather_sentence
from apps.flows.weather_watching import send_list
from apps.incidents.choices import Weather
from apps.incidents.models import WeatherWatch
from apps.office.forms.weather import WeatherForm
from apps.office.selectors import weather as reads
from apps.office.selectors.due import areas
from apps.office.views.common import POSTED, chosen, form_page, found, page_of, posted
from apps.systems.choices import SystemKind
from apps.systems.models import System


@require_safe
def weather(request: HttpRequest) -> HttpResponse:
    """Office: which lists went out, and how many have answered."""
    actor = office_of(request)
    context = {"page": page_of(request, reads.watches_of(actor)), "kinds": Weather.choices}
    return render(request, "office/weather.html", context)


@require_http_methods(POSTED)
def weather_new(request: HttpRequest, kind: str) -> HttpResponse:
    """Office: choose whose systems a weather endangers; POST sends them its list, a letter each."""
    actor = office_of(request)
    if kind not in Weather.values:
        raise Http404
    known = areas(actor)
    area = chosen(request, "area", dict.fromkeys(known))
    system_kind = chosen(request, "system", dict(SystemKind.choices))
    only_risk = chosen(request, "show", {"risk": ""}) == "risk"
    rows = reads.exposed(actor, kind, area, system_kind, only_risk)
    systems = System.objects.visible_to(actor).filter(active=True).select_related("place")
    form = WeatherForm(
        posted(request), systems=systems,
        initial={"systems": [row.system.pk for row in rows if row.risk]},
    )  # fmt: skip
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        watch = attempt(
            form,
            lambda: send_list(kind=kind, systems=data["systems"], words=data["words"],
                              again=data["again"], by=actor, at=actor.at),
        )  # fmt: skip
        if watch is not None:
            messages.success(request, _("The letters are on their way."))
            return redirect("office:weather_watch", watch.pk)
    ticked: Any = form["systems"].value() or []
    return form_page(
        request, form, "office/weather_new.html", kind=kind, rows=rows, areas=known, area=area,
        sentence=weather_sentence(kind), label=Weather(kind).label, system_kind=system_kind,
        system_kinds=SystemKind.choices, only_risk=only_risk,
        ticked={str(key) for key in ticked}, **_list(kind),
    )  # fmt: skip


def _list(kind: str) -> dict[str, list[str]]:
    checklist = CHECKLISTS[kind]
    return {
        "before": [_(line) for line in checklist.before],
        "after": [_(line) for line in checklist.after],
        "cautions": [_(line) for line in CAUTIONS],
    }


@require_safe
def weather_watch(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: who has answered the list of a weather; those who need help first."""
    actor = office_of(request)
    watch: WeatherWatch = found(reads.watches_of(actor), pk)
    context = {
        "watch": watch,
        "sentence": weather_sentence(watch.kind),
        "asks": reads.asks_of(actor, watch),
    }
    return render(request, "office/weather_watch.html", context)
