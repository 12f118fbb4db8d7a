"""What a client allows of photos, who looked at their data, and what is kept how long."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.accounts.models import User
from apps.clients.models import Client
from apps.clients.selectors import past_clients
from apps.core.csv_text import csv_answer
from apps.flows.access_log import ALL, Look, looks_at
from apps.flows.backups import copy_refused
from apps.flows.erasing import files_waiting
from apps.flows.forgetting import SUBJECTS, last_time
from apps.flows.photo_consent import photos_allow
from apps.office.forms.client_data import PhotosForm
from apps.office.views.common import POSTED, attempt_based, form_page, found, page_of, posted

MOST = 10_000
"""So many looks are read at most, the newest; the files hold the rest."""


@dataclass(frozen=True)
class LookShown:
    """One look in words."""

    at: dt.datetime
    who: str
    page: str
    method: str
    everybody: bool
    rows: int


def _client(request: HttpRequest, pk: UUID) -> Client:
    client: Client = found(Client.objects.visible_to(office_of(request)), pk)
    return client


def _looks(client: Client, wanted: str) -> list[LookShown]:
    rows = list(islice(looks_at(client.pk), MOST))
    names = _names(rows)
    shown = [
        LookShown(
            dt.datetime.fromisoformat(row.at), names.get(row.who, _("somebody who is gone")),
            row.page, row.method, row.client == ALL, row.rows,
        )
        for row in rows
    ]  # fmt: skip
    word = wanted.casefold()
    return [row for row in shown if word in row.who.casefold() or word in row.page.casefold()]


def _names(rows: Sequence[Look]) -> dict[str, str]:
    """Return who looked, in words: staff by name, a client by their link."""
    keys = {row.who for row in rows}
    theirs = {"link": _("the client, by a link"), "feed": _("the client, by a calendar")}
    links = {
        key: words for key in keys if (words := theirs.get(key.partition(":")[0])) and ":" in key
    }
    staff = User.objects.filter(pk__in=[key for key in keys if key not in links])
    return {str(user.pk): str(user) for user in staff} | links


@require_http_methods(POSTED)
def client_photos(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note what a client allows of photos, and how they said so."""
    actor = office_of(request)
    client = _client(request, pk)
    initial = {"use": client.photos, "how": client.photos_how, "rev": client.rev}
    form = PhotosForm(posted(request), initial=initial)
    both: list[Any] = []
    place = client.places.order_by("name").first()
    back = reverse("office:place", args=[place.pk]) if place else reverse("office:places")
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        done, both = attempt_based(
            form, client, {"use": "photos", "how": "photos_how"},
            lambda rev: photos_allow(
                client=client, use=data["use"], how=data["how"], rev=rev, by=actor, at=actor.at
            ),
        )  # fmt: skip
        if done:
            messages.success(request, _("Kept."))
            return redirect(back)
    return form_page(
        request, form, heading=_("Photos at %(name)s") % {"name": client.name},
        button=_("Keep it"), back=back, both=both,
        lead=_("Until they say yes, photos stay in our records: none stands in a report, on their page "
               "or in a proposal. Reports that went out stay as they are; those that wait are drawn anew."),
    )  # fmt: skip


@require_safe
def client_access(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: who looked at a client's data, when and on which page; `?q=` names a person or page."""
    client = _client(request, pk)
    wanted = request.GET.get("q", "").strip()
    page = page_of(request, list(_looks(client, wanted)))
    context = {
        "client": client, "page": page, "q": wanted,
        "back": reverse("office:client_data", args=[client.pk]),
    }  # fmt: skip
    return render(request, "office/client_access.html", context)


@require_safe
def client_access_csv(request: HttpRequest, pk: UUID) -> HttpResponseBase:
    """Office: the same looks for a spreadsheet."""
    client = _client(request, pk)
    rows = _looks(client, request.GET.get("q", "").strip())
    head = [_("at"), _("who"), _("page"), _("method"), _("a list"), _("rows")]
    return csv_answer(
        "looks", head,
        ([row.at, row.who, row.page, row.method, _("yes") if row.everybody else "", row.rows or ""] for row in rows),
    )  # fmt: skip


@require_safe
def keeping(request: HttpRequest) -> HttpResponse:
    """Office: what is kept how long, what the last night took away, sums of who was erased."""
    office_of(request)
    last = last_time()
    gone = last.change if last else {}
    context = {
        "subjects": [
            {"words": row.words, "days": row.days, "setting": row.setting, "gone": gone.get(row.code)}
            for row in SUBJECTS
        ],
        "last": last,
        "past": past_clients(),
        "files_waiting": files_waiting(),
        "copy": copy_refused(),
    }  # fmt: skip
    return render(request, "office/keeping.html", context)
