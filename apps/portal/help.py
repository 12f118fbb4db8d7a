"""Help from the client's page: the first-aid card at once, then words, ticks and photos to us."""

import math
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.advice.without_air import AirLeft, loops_now, minutes_words, pump_words
from apps.calc.callscript import FIRST_AID
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Contact
from apps.core import clock
from apps.core.dates import day_text
from apps.core.exceptions import DomainError
from apps.core.fields import LongWordsField, WordsField
from apps.core.refusing import refuse
from apps.core.scoping import Actor
from apps.flows.home_help import MOST_PHOTOS, Asked, help_ask
from apps.incidents.choices import GRAVEST_FIRST, Said, Stand
from apps.incidents.models import IncidentNote
from apps.portal.opening import by_link, opened, private
from apps.portal.uploads import PhotosField
from apps.systems.models import System
from apps.visits.choices import HOLDING

MOST_SHOWN = 3
METHODS = ["GET", "HEAD", "POST"]
SIGNS = {
    Said.HURT: gettext_lazy("Somebody is hurt, or water is on plugs or cables"),
    Said.GASPING: gettext_lazy("Fish gasp at the surface"),
    Said.POWER: gettext_lazy("The power is out"),
    Said.STOPPED: gettext_lazy("Pump or air stands still"),
    Said.LEVEL: gettext_lazy("Water runs out, or the level falls"),
    Said.DEAD: gettext_lazy("Fish are dead"),
    Said.WATER: gettext_lazy("The water looks or smells different"),
    Said.OTHER: gettext_lazy("Something else"),
}  # fmt: skip


class HelpForm(forms.Form):
    """What is seen; any one of its fields is enough."""

    key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    signs = forms.MultipleChoiceField(
        label=gettext_lazy("What you see"), required=False, widget=forms.CheckboxSelectMultiple,
        choices=[(code.value, SIGNS[code]) for code in GRAVEST_FIRST],
    )  # fmt: skip
    words = LongWordsField(
        label=gettext_lazy("In your words: since when, what you did"), required=False,
        max_length=2000, widget=forms.Textarea(attrs={"rows": 3}),
    )  # fmt: skip
    photos = PhotosField(
        label=gettext_lazy("Photos"), required=False,
        help_text=gettext_lazy("The whole tank, a fish from the side, the gear. Four at once, JPEG, PNG or WebP, up to 15 MB each."),
    )  # fmt: skip
    phone = WordsField(
        label=gettext_lazy("Number to call you back"), required=False, max_length=40,
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "tel"}),
    )  # fmt: skip

    def asked(self, name: str) -> Asked:
        """Return what a valid form says; `name`: who writes."""
        data = self.cleaned_data
        return Asked(
            key=data["key"], signs=data["signs"], words=data["words"],
            # those beyond what is taken are counted, and not read
            photos=[(row.name or _("a photo"), _read(row, number)) for number, row in
                    enumerate(data["photos"])],
            caller=", ".join(part for part in (name, data["phone"]) if part),
        )  # fmt: skip


def _read(row: Any, number: int) -> bytes:
    return bytes(row.read()) if number < MOST_PHOTOS else b""


@dataclass(frozen=True)
class AirShown:
    """How long the fish last without air, in words; `figure` is empty where nobody can say."""

    figure: str
    rests_on: str


def air_shown(system: System, actor: Actor) -> AirShown | None:
    """Return the shortest time of a system's waters with fish; None where there are no fish."""
    loops = loops_now(system, catalogue_current(), actor.at)
    left = [row.air for row in loops if row.air is not None]
    if not left:
        return None
    known = [row for row in left if row.minutes is not None and not math.isinf(row.minutes)]
    worst = min(known, key=lambda row: row.minutes or 0.0, default=None)
    if worst is None or len(known) < len(left):
        return AirShown("", _("Nobody can say how long these fish last without air: be quick."))
    said = " ".join(part for part in (pump_words(worst), _rests_on(worst)) if part)
    return AirShown(minutes_words(worst.minutes or 0.0), said)


def _rests_on(left: AirLeft) -> str:
    rows = [row for row in (left.do, left.temp) if row is not None]
    oldest = timezone.localdate(min(row.taken_at for row in rows))
    words = {"day": day_text(oldest)}
    if left.fresh:
        return _("Counted from the readings of %(day)s; in heat, or just fed, less.") % words
    return _("Counted from old readings, of %(day)s: less may be left.") % words


@login_not_required
@require_http_methods(METHODS)
@by_link
def help_page(request: HttpRequest, secret: str, system: UUID) -> HttpResponse:
    """Whoever holds the link: what to do at once, and a message with photos to the office."""
    now = clock.now()
    link, actor, language = opened(request, secret, now)
    rows = System.objects.visible_to(actor).select_related("place__client")
    row = rows.filter(pk=system, active=True).first()
    if row is None or link.purpose != Purpose.PAGE:
        raise Http404
    with translation.override(language):
        contact = (
            Contact.objects.visible_to(actor).filter(pk=link.contact_id or UUID(int=0)).first()
        )
        form = HelpForm(
            request.POST if request.method == "POST" else None, request.FILES or None,
            initial={"phone": contact.phone if contact else ""},
        )  # fmt: skip
        if request.method == "POST" and form.is_valid():
            name = contact.name if contact else row.place.client.name
            if _sent(request, form, row, actor, name):
                return private(redirect("portal:help", secret=secret, system=row.pk))
        firm = firm_current()
        context = {
            "secret": secret, "firm": firm, "system": row, "form": form,
            "phone": firm.emergency_phone or firm.phone, "air": air_shown(row, actor),
            "first_aid": [_(text) for text in FIRST_AID], "sent": sent_lately(actor, row),
        }  # fmt: skip
        status = 422 if form.is_bound and form.errors else 200
        return private(render(request, "portal/help.html", context, status=status))


def _sent(request: HttpRequest, form: HelpForm, system: System, actor: Actor, name: str) -> bool:
    """Send a form's message; say what became of it. False with the reason on the form."""
    try:
        taken = help_ask(system=system, asked=form.asked(name), by=actor, at=actor.at)
    except DomainError as error:
        refuse(form, error)
        return False
    messages.success(request, _("It is on our screen now. Somebody calls you."))
    if taken.left_out:
        messages.error(request, " ".join(taken.left_out))
    return True


@dataclass(frozen=True)
class SentShown:
    """One message of the client's: when, what was ticked, their words, how many photos, who comes."""

    row: IncidentNote
    signs: list[str]
    photos: int
    coming: str


def sent_lately(actor: Actor, system: System) -> list[SentShown]:
    """Return what the client wrote about incidents that are not closed, newest first: two queries."""
    rows = (
        IncidentNote.objects.visible_to(actor)
        .filter(incident__system=system)
        .exclude(incident__state=Stand.CLOSED)
        .select_related("incident__visit")
        .prefetch_related("incident__visit__assignments__user")
        .order_by("-at", "pk")[:MOST_SHOWN]
    )
    return [
        SentShown(
            row, [str(SIGNS[Said(code)]) for code in row.what.get("signs", []) if code in SIGNS],
            int(row.what.get("photos", 0)), _coming(row),
        )
        for row in rows
    ]  # fmt: skip


def _coming(row: IncidentNote) -> str:
    visit = row.incident.visit
    if visit is None or visit.state not in HOLDING:
        return ""
    people = ", ".join(str(item.user) for item in visit.assignments.all())
    words = {"people": people or _("Somebody"), "time": f"{timezone.localtime(visit.start):%H:%M}"}
    return _("%(people)s comes, there by about %(time)s.") % words
