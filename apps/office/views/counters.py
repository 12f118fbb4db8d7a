"""Counters that tasks wait for: what they showed, a reading more, and one that was wrong."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.care.choices import Counter
from apps.care.models import CareTask, MeterReading
from apps.care.services import meter_add, meter_withdraw
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.core.dates import day_text
from apps.core.numbers import format_plain
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.office.forms.base import ReasonForm
from apps.office.forms.care import MeterForm
from apps.office.views.common import POSTED, form_page, found, posted
from apps.office.views.system_edits import system_url, trail_of
from apps.office.wording import people_by_author


@require_http_methods(POSTED)
def meter_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note what the counter shows that a task waits for; what it showed stands below."""
    actor = office_of(request)
    rows = CareTask.objects.visible_to(actor).exclude(meter="")
    task = found(rows.select_related("system__place__client", "loop", "component"), pk)
    unit = str(Counter(task.meter).label)
    form = MeterForm(posted(request), initial={"taken_on": clock.today()}, unit=unit)
    if request.method == "POST" and form.is_valid():
        done = attempt(form, lambda: _read(task, form, actor))
        if done is not None:
            messages.success(request, _("The reading is noted."))
            return redirect(system_url(task.system, "care"))
    name = _(catalogue_current().name("tasks", task.code))
    return form_page(
        request, form, "office/meter.html", heading=_("Note a counter"), button=_("Note it"),
        lead=name, back=system_url(task.system, "care"), trail=trail_of(task.system), unit=unit,
        readings=_shown(actor, task),
    )  # fmt: skip


@require_http_methods(POSTED)
def meter_end(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: withdraw a counter's reading that was wrong; it stays on record with the reason."""
    actor = office_of(request)
    rows = MeterReading.objects.visible_to(actor).select_related("system__place__client")
    reading = found(rows, pk)
    back = _page_of(actor, reading)
    form = ReasonForm(posted(request), label=_("What was wrong"))
    if request.method == "POST" and form.is_valid():
        done = attempt(
            form,
            lambda: meter_withdraw(reading=reading, by=actor, at=actor.at, **form.cleaned_data),
        )
        if done is not None:
            messages.success(request, _("Withdrawn; the dates go by the other readings."))
            return redirect(back)
    said = {
        "value": format_plain(reading.value), "unit": Counter(reading.meter).label,
        "day": day_text(reading.taken_on, "year"),
    }  # fmt: skip
    return form_page(
        request, form, heading=_("Withdraw a reading"), button=_("Withdraw it"), back=back,
        lead=_("%(value)s %(unit)s, read on %(day)s. It stays on record with your reason, and the "
               "dates of what waits for this counter go by the other readings.") % said,
        trail=trail_of(reading.system),
    )  # fmt: skip


def _page_of(actor: Actor, reading: MeterReading) -> str:
    """Return the address of a counter's page, the system's where no task waits for it any more."""
    waiting = CareTask.objects.visible_to(actor).filter(
        system=reading.system_id, loop=reading.loop_id, component=reading.component_id,
        meter=reading.meter,
    )  # fmt: skip
    task = waiting.order_by("-active", "code").first()
    if task is None:
        return system_url(reading.system, "care")
    return reverse("office:meter_new", args=[task.pk])


def _shown(actor: Actor, task: CareTask) -> list[dict[str, Any]]:
    """Return what the counter of a task has shown, the newest first, withdrawn ones among it."""
    rows = MeterReading.objects.visible_to(actor).filter(
        system=task.system_id, loop=task.loop_id, component=task.component_id, meter=task.meter
    )
    held = list(rows.select_related("withdrawal").order_by("-taken_on", "-made_at"))
    gone = {row.pk: row.withdrawal for row in held if hasattr(row, "withdrawal")}
    authors = [row.by for row in held] + [row.by for row in gone.values()]
    names = people_by_author([by for by in authors if by])
    return [
        {"row": row, "value": format_plain(row.value), "by": names.get(row.by, ""),
         "gone": gone.get(row.pk), "gone_by": names.get(gone[row.pk].by, "") if row.pk in gone else ""}
        for row in held
    ]  # fmt: skip


def _read(task: CareTask, form: MeterForm, actor: Actor) -> MeterReading:
    return meter_add(
        system=task.system, loop=task.loop, component=task.component, meter=task.meter,
        **form.cleaned_data, by=actor, at=actor.at,
    )  # fmt: skip
