"""What a client writes down at home, and ticks off. GET shows a form; what acts is a POST."""

import datetime as dt
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.advice.choices import Close, Decision
from apps.advice.models import Advice
from apps.advice.services import advice_close
from apps.batches.choices import Touches
from apps.batches.selectors import fish_now, holds_now, plantings_now
from apps.care.models import Standing
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.core import clock
from apps.core.dates import day_text
from apps.core.drawing.words import JUDGEMENT_WORDS
from apps.core.exceptions import DomainError, Invalid
from apps.core.measures import NAMES, measured, shift_of
from apps.core.numbers import unit_word, with_unit
from apps.core.refusing import refuse
from apps.core.scoping import Actor
from apps.flows.home_log import FEED_LEFT, log_at_home
from apps.portal.forms import GIVEN, WATER, DoneForm, Home, LogForm, mass_unit, names
from apps.portal.opening import by_link, opened, private
from apps.reports.rendering.acting import what_words, whose
from apps.reports.rendering.papers import harvest_lines, harvest_total
from apps.reports.snapshot_past import harvest_data
from apps.reports.snapshots import advice_data
from apps.systems.models import Loop, System
from apps.visits.choices import State, TakenBy, Word
from apps.visits.models import Reading

METHODS = ["GET", "HEAD", "POST"]
LATELY = dt.timedelta(days=30)
MOST_SHOWN = 5


@login_not_required
@require_http_methods(METHODS)
@by_link
def log(request: HttpRequest, secret: str, system: UUID) -> HttpResponse:
    """Whoever holds the link: write down readings, feed, dead fish, what was picked."""
    now = clock.now()
    link, actor, language = opened(request, secret, now)
    row = System.objects.visible_to(actor).filter(pk=system, active=True).first()
    if row is None or link.purpose != Purpose.PAGE:
        raise Http404
    with translation.override(language):
        catalogue = catalogue_current()
        home = _home(row, catalogue, now)
        sent = request.POST if request.method == "POST" else None
        form = LogForm(sent, request.FILES or None, home=home, now=now)
        again: set[str] = set()
        if request.method == "POST" and form.is_valid():
            stored, again = _store(form, row, actor)
            if stored is not None:
                _say(request, stored, catalogue)
                _warn_of_holds(request, form, actor)
                return private(redirect("portal:page", secret=secret))
        context = {
            "secret": secret, "firm": firm_current(), "system": row, "form": form,
            "water": _boxes(form, WATER, again), "given": _boxes(form, GIVEN, again),
            "left": _left_box(form, again), "mass_unit": unit_word(mass_unit()),
        }  # fmt: skip
        status = 422 if form.is_bound and form.errors else 200
        return private(render(request, "portal/log.html", context, status=status))


def _store(form: LogForm, system: System, actor: Actor) -> tuple[list[Reading] | None, set[str]]:
    """Store what a form says; return it, or None and which figures are to be looked at again."""
    try:
        return log_at_home(system=system, entry=form.entry(), by=actor, at=actor.at), set()
    except (DomainError, ValidationError) as error:
        refuse(form, error)
        rows = error.errors if isinstance(error, Invalid) else []
        return None, {str(item["pointer"]).strip("/") for item in rows if item.get("look_again")}


def _boxes(form: LogForm, codes: Sequence[str], again: set[str]) -> list[dict[str, Any]]:
    """Return the figures as they are shown: with a unit or a choice of units, a tick where doubted."""
    found = []
    for code in codes:
        if code not in form.fields:
            continue
        parts = {
            name: form[f"{code}_{name}"]
            for name in ("unit", "basis", "sure", "photo")
            if f"{code}_{name}" in form.fields
        }
        sure = code in again or bool(form.is_bound and parts["sure"].value())
        unit = unit_word(form.unit_of(code).removesuffix("/day"))
        found.append({"box": form[code], **parts, "sure_asked": sure, "plain": unit})
    return found


def _left_box(form: LogForm, again: set[str]) -> dict[str, Any] | None:
    """Return the line for the feed that is left as it is shown; None where there are no fish."""
    if FEED_LEFT not in form.fields:
        return None
    sure = form[f"{FEED_LEFT}_sure"]
    asked = FEED_LEFT in again or bool(form.is_bound and sure.value())
    unit = form[f"{FEED_LEFT}_unit"]
    return {"box": form[FEED_LEFT], "unit": unit, "sure": sure, "sure_asked": asked}


def _home(system: System, catalogue: Catalogue, at: dt.datetime) -> Home:
    loops = list(Loop.objects.filter(system=system).order_by("kind"))
    ids, on = [loop.pk for loop in loops], timezone.localdate(at)
    last = Reading.objects.filter(
        loop_id__in=ids, taken_by=TakenBy.CLIENT, measurand__in=WATER
    ).order_by("taken_at")
    living = [row for row in fish_now(ids, on) if row.count]
    fish = [
        (str(row.batch.pk), _name(catalogue, "species", row.batch.species_code, row.count))
        for row in living
    ]
    plants = [
        (str(row.pk), _name(catalogue, "crops", row.crop_code, row.count))
        for row in plantings_now(ids, on)
    ]
    return Home(
        loops=loops, fish=fish, plants=plants,
        entries={code: catalogue.measurand(code) or {} for code in (*WATER, *GIVEN)},
        basis={row.measurand: row.basis for row in last},
        eaten=any((catalogue.get("species", row.batch.species_code) or {}).get("eaten")
                  for row in living),
    )  # fmt: skip


def _name(catalogue: Catalogue, kind: str, code: str, count: int) -> str:
    return _("%(name)s, %(count)s") % {"name": _(catalogue.name(kind, code)), "count": count}


def _say(request: HttpRequest, stored: Sequence[Reading], catalogue: Catalogue) -> None:
    """Thank for an entry, say what each figure is, and whom to call where one does harm."""
    words = [_words(row, catalogue) for row in stored]
    messages.success(request, " ".join([_("Thank you, we have it."), *words]))
    if any(row.word == Word.HARMFUL for row in stored):
        firm = firm_current()
        phone = firm.emergency_phone or firm.phone
        messages.error(
            request, _("One of these does harm. Call us now: %(phone)s.") % {"phone": phone}
        )


def _warn_of_holds(request: HttpRequest, form: LogForm, actor: Actor) -> None:
    """Say that what was harvested must not be eaten yet, where a hold stands on it."""
    data, firm = form.cleaned_data, firm_current()
    got = {
        Touches.FISH: data.get("taken"),
        Touches.PLANTS: data.get("heads") or data.get("mass_kg"),
    }
    for hold in holds_now([loop.pk for loop in form.home.loops], timezone.localdate(actor.at)):
        touched = [
            code for code, some in got.items() if some and hold.touches in (code, Touches.BOTH)
        ]
        if touched:
            words = {
                "day": day_text(hold.until), "product": hold.treatment.product, "phone": firm.phone,
            }  # fmt: skip
            text = _("Do not eat it: wait until %(day)s (%(product)s). Ask us: %(phone)s.")
            messages.error(request, text % words)
            return


def _words(row: Reading, catalogue: Catalogue) -> str:
    figure = figure_of(row, catalogue)
    if not row.band:
        return f"{figure}."
    return _("%(figure)s: %(word)s.") % {"figure": figure, "word": JUDGEMENT_WORDS[row.word]}


def figure_of(row: Reading, catalogue: Catalogue) -> str:
    """Return a logged figure with its name, as the client wrote it where the unit was theirs."""
    entry = catalogue.measurand(row.measurand) or {}
    name = names().get(row.measurand) or _(str(entry.get("name") or row.measurand))
    decimals = int(entry.get("decimals") or 0)
    shift = shift_of(row.unit)
    # another reader's units are turned into this one's
    strange = row.typed_unit in NAMES and (shift is None or row.typed_unit != shift.name)
    if row.typed_unit and row.typed_unit != row.unit and not strange:
        return f"{name} {with_unit(row.typed, row.typed_unit.removesuffix('/day'))}"
    return f"{name} {measured(row.value, row.unit.removesuffix('/day'), decimals)}"


@dataclass(frozen=True)
class HomeShown:
    """A client's system on their page: what they wrote down lately, how much waits for a tick.

    `feed`: until when the feed lasts, in words; empty where nobody has counted it.
    """

    system: System
    lately: list[tuple[dt.datetime, str]]
    to_tick: int
    harvest: list[tuple[str, str]]
    together: str
    feed: str = ""


def homes_shown(actor: Actor) -> list[HomeShown]:
    """Return each system of a client's with what they wrote down of late, newest first."""
    systems = list(
        System.objects.visible_to(actor)
        .filter(active=True)
        .select_related("standing")
        .prefetch_related("loops")
        .order_by("name", "pk")
    )
    ids = [row.pk for row in systems]
    waits = Counter(to_tick(actor, ids).values_list("system_id", flat=True))
    catalogue = catalogue_current()
    lately: dict[UUID, dict[dt.datetime, list[str]]] = {pk: {} for pk in ids}
    rows = Reading.objects.visible_to(actor).filter(
        loop__system__in=ids, taken_by=TakenBy.CLIENT, taken_at__gt=actor.at - LATELY
    )
    for row in rows.select_related("loop").order_by("-taken_at", "measurand"):
        moments = lately[row.loop.system_id]
        if row.taken_at in moments or len(moments) < MOST_SHOWN:
            moments.setdefault(row.taken_at, []).append(figure_of(row, catalogue))
    harvests = {row.pk: _harvest(row, actor, catalogue) for row in systems}
    return [
        HomeShown(
            row, [(when, ", ".join(said)) for when, said in lately[row.pk].items()], waits[row.pk],
            harvest_lines(harvests[row.pk]), harvest_total(harvests[row.pk]),
            _feed_words(row, timezone.localdate(actor.at)),
        )
        for row in systems
    ]  # fmt: skip


def _feed_words(system: System, today: dt.date) -> str:
    """Return until when the feed at a place lasts, by what was counted there last."""
    standing: Standing | None = getattr(system, "standing", None)
    until = standing.feed_until if standing else None
    if until is None:
        return ""
    if until < today:
        return _("The feed may be used up by now. Count what is left, and write it down.")
    return _("Feed lasts until about %(day)s.") % {"day": day_text(until)}


def _harvest(system: System, actor: Actor, catalogue: Catalogue) -> dict[str, Any]:
    """Return what was harvested this year so far."""
    today = timezone.localdate(actor.at)
    ids = [loop.pk for loop in system.loops.all()]
    first, currency = today.replace(month=1, day=1), firm_current().currency
    return harvest_data(ids, first, today, catalogue, currency)


def to_tick(actor: Actor, system_ids: Sequence[UUID]) -> QuerySet[Advice]:
    """Return what a client was told to do and has not said is done."""
    told = Q(sheet__visit__state=State.REPORTED) | Q(sheet=None)
    rows = Advice.objects.visible_to(actor).filter(
        told, system_id__in=system_ids, who="client", closed_at=None
    )
    rows = rows.exclude(decision=Decision.STRIKE).order_by("by_at", "position", "pk")
    # what no client may give is never theirs, as on the paper
    theirs = [row.pk for row in rows if whose(advice_data(row)) == "client"]
    return rows.filter(pk__in=theirs)


def words_of(row: Advice) -> str:
    """Return what an advice says, in the words of the report."""
    return what_words(advice_data(row))


@login_not_required
@require_http_methods(METHODS)
@by_link
def done(request: HttpRequest, secret: str, system: UUID) -> HttpResponse:
    """Whoever holds the link: say what is done, and when."""
    now = clock.now()
    link, actor, language = opened(request, secret, now)
    row = System.objects.visible_to(actor).filter(pk=system, active=True).first()
    if row is None or link.purpose != Purpose.PAGE:
        raise Http404
    with translation.override(language):
        rows = to_tick(actor, [row.pk])
        today = timezone.localdate(now)
        sent = request.POST if request.method == "POST" else None
        form = DoneForm(sent, rows=rows, today=today)
        form.fields["done"].label_from_instance = words_of  # type: ignore[attr-defined]
        if request.method == "POST" and form.is_valid():
            count = _close(form, actor, today)
            said = ngettext("Thank you. It is noted.", "Thank you. All %(count)d are noted.", count)
            messages.success(request, said % {"count": count})
            return private(redirect("portal:page", secret=secret))
        context = {
            "secret": secret, "firm": firm_current(), "system": row, "form": form,
            "some": rows.exists(),
        }  # fmt: skip
        status = 422 if form.is_bound and form.errors else 200
        return private(render(request, "portal/done.html", context, status=status))


def _close(form: DoneForm, actor: Actor, today: dt.date) -> int:
    day = form.cleaned_data["day"]
    when = actor.at
    if day < today:
        when = timezone.make_aware(dt.datetime.combine(day, dt.time(12)))
    rows = list(form.cleaned_data["done"])
    for row in rows:
        # nobody does what was not said yet
        advice_close(advice=row, closed_as=Close.DONE, by=actor, at=max(when, row.made_at))
    return len(rows)
