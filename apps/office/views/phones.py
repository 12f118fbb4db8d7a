"""The technicians' phones: what waits on them, what they brought, and cutting one off."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from apps.accounts.actors import office_of
from apps.core.refusing import attempt
from apps.flows import checking_in
from apps.flows.phone_copy import copy_take
from apps.office.forms.phones import CopyForm, CutForm
from apps.office.selectors import phones as reads
from apps.office.views.common import POSTED, form_page, found, page_of, posted
from apps.visits.choices import Remark
from apps.visits.models import CheckIn, Phone, PhoneRemark
from apps.visits.services.phones import phone_cut_off, remarks_seen


@require_safe
def phones(request: HttpRequest) -> HttpResponse:
    """Office: each phone with what waits on it, and what phones brought that nobody has looked at."""
    actor = office_of(request)
    waiting = page_of(request, reads.remarks(actor).filter(seen_at__isnull=True))
    context = {
        "phones": reads.phones_of(actor),
        "alone": reads.late_check_ins(actor),
        "page": waiting,
        "looks": reads.remarks_shown(list(waiting.object_list)),
    }
    return render(request, "office/phones.html", context)


@require_safe
def phone(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: one phone with everything that could not be taken from it."""
    actor = office_of(request)
    row = found(Phone.objects.visible_to(actor).select_related("user"), pk)
    rows = reads.remarks(actor).filter(device=str(row.pk), kind=Remark.REFUSED)
    page = page_of(request, rows)
    gap = reads.gaps_of(actor, [row])[row.pk]
    context = {
        "item": reads.phone_shown(row, gap, actor.at),
        "phone": row,
        "page": page,
        "looks": reads.remarks_shown(list(page.object_list)),
    }
    return render(request, "office/phone.html", context)


@require_http_methods(POSTED)
def phone_cut(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: cut a phone off or let it in again, with a reason that stays on record."""
    actor = office_of(request)
    row = found(Phone.objects.visible_to(actor).select_related("user"), pk)
    cut = row.cut_off_at is None
    form = CutForm(posted(request))
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data["reason"]
        done = attempt(
            form, lambda: phone_cut_off(phone=row, cut=cut, reason=reason, by=actor, at=actor.at)
        )
        if done is not None:
            words = _("The phone is cut off.") if cut else _("The phone is let in again.")
            messages.success(request, words)
            return redirect("office:phone", row.pk)
    name = {"name": row.user}
    return form_page(
        request, form, button=_("Cut it off") if cut else _("Let it in"),
        heading=(_("Cut %(name)s's phone off?") if cut else _("Let %(name)s's phone in again?"))
        % name,
        lead=_("Its sign-in opens nothing and nothing that it sends is taken from then on; what waits "
               "there stays there, and can be saved as a copy. If it is lost, change the password too.")
        if cut else _("It may send again what waits there."),
        back=reverse("office:phone", args=[row.pk]),
        trail=[(_("Phones"), reverse("office:phones"))],
    )  # fmt: skip


@require_http_methods(POSTED)
def copy(request: HttpRequest) -> HttpResponse:
    """Office: take in the file that a phone saved, and see what came of it."""
    actor = office_of(request)
    user: Any = request.user
    form = CopyForm(posted(request), request.FILES or None)
    came = None
    if request.method == "POST" and form.is_valid():
        upload = form.cleaned_data["copy"]
        came = attempt(form, lambda: copy_take(upload=upload, user=user, by=actor, at=actor.at))
    return form_page(
        request, form, "office/phone_copy.html", came=came, back=reverse("office:phones")
    )


@require_POST
def looked(request: HttpRequest) -> HttpResponse:
    """Office: note that what phones brought was looked at: of one visit, or one by one."""
    actor = office_of(request)
    rows = PhoneRemark.objects.visible_to(actor)
    back = reverse("office:phones")
    visit, remark = request.POST.get("visit", ""), request.POST.get("remark", "")
    try:
        chosen = rows.filter(visit=UUID(visit)) if visit else rows.filter(pk=UUID(remark))
    except ValueError:
        chosen = rows.none()
    count = remarks_seen(remarks=chosen, by=actor, at=actor.at)
    if visit and count:
        back = reverse("office:visit", args=[UUID(visit)])
    messages.success(
        request, ngettext("%(count)d looked at.", "%(count)d looked at.", count) % {"count": count}
    )
    return redirect(back)


@require_POST
def heard(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note that somebody who works alone was spoken to and is well."""
    actor = office_of(request)
    row = found(CheckIn.objects.visible_to(actor).select_related("visit"), pk)
    checking_in.office_heard(check_in=row, by=actor, at=actor.at)
    messages.success(request, _("Noted: all is well."))
    return redirect("office:visit", row.visit_id)
