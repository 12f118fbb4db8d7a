"""Reference: the catalogue to read, and the firm's own figures beside the loaded ones."""

from typing import Any

from django.contrib import messages
from django.db.models import Count, Q
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.catalogue.choices import EntryKind
from apps.catalogue.models import Entry
from apps.catalogue.selectors import catalogue_current
from apps.catalogue.services import entry_edit, entry_restore
from apps.core.csv_text import csv_answer
from apps.core.exceptions import DomainError, StaleVersion
from apps.core.numbers import unit_word, with_unit
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.office.forms.base import EmptyForm
from apps.office.forms.reference import EntryForm, shown
from apps.office.reference_words import HIDDEN, label_of
from apps.office.views.common import POSTED, attempt_based, form_page, posted
from apps.office.wording import upper_first
from apps.visits.shown import drawing_band

GROUPS = (
    ("measurands", "bands", "rules", "signs"),
    ("species", "crops", "feeding", "targets", "sizing", "cycling"),
    ("tasks", "tasks_apart", "patterns", "reasons", "left_running"),
    ("consumables", "emergency", "sources"),
)
KIND_NAMES = dict(EntryKind.choices)


@require_safe
def reference(request: HttpRequest) -> HttpResponse:
    """Office: the kinds of the catalogue with how many entries each has and how many are edited."""
    actor = office_of(request)
    counts = {
        row["kind"]: row
        for row in Entry.objects.visible_to(actor)
        .order_by()
        .values("kind")
        .annotate(count=Count("pk"), edited=Count("pk", filter=Q(edited_at__isnull=False)))
    }
    titles = (
        _("Water and what it means"), _("What lives and how much"), _("Work"), _("Stores and calls"),
    )  # fmt: skip
    groups: list[tuple[str, list[Any]]] = [
        (title, [(kind, KIND_NAMES[EntryKind(kind)], counts.get(kind, {})) for kind in kinds])
        for title, kinds in zip(titles, GROUPS, strict=True)
    ]
    return render(request, "office/reference.html", {"groups": groups})


def _kind(kind: str) -> str:
    if kind not in EntryKind.values:
        raise Http404
    return str(KIND_NAMES[EntryKind(kind)])


def _entries(actor: Actor, kind: str) -> Any:
    return Entry.objects.visible_to(actor).filter(kind=kind).order_by("position", "code")


@require_safe
def kind_page(request: HttpRequest, kind: str) -> HttpResponse:
    """Office: the entries of one kind; ?q= keeps those whose name holds it."""
    actor, name = office_of(request), _kind(kind)
    query = request.GET.get("q", "").strip()[:60]
    entries = list(_entries(actor, kind))
    catalogue = catalogue_current()
    rows = [_row(entry, catalogue) for entry in entries]
    if query:
        rows = [
            row for row in rows if query.lower() in f"{row['name']} {row['entry'].code}".lower()
        ]
    context = {"kind": kind, "name": name, "rows": rows, "wanted": query, "all": len(entries)}
    return render(request, "office/reference_kind.html", context)


def _row(entry: Entry, catalogue: Any) -> dict[str, Any]:
    figures = entry.figures
    name, note = _(entry.name), ""
    band = None
    if entry.kind == EntryKind.BAND:
        name = _(catalogue.name("measurands", figures["measurand"]))
        note = _(str(figures["context"]).replace("_", " "))
        band = drawing_band(figures)
    elif entry.kind == EntryKind.RULE:
        name, note = _(str(figures.get("cause") or entry.name)), _(str(figures.get("if", "")))
    elif entry.kind == EntryKind.EMERGENCY:
        name, note = _(str(figures["ask"])), _(str(figures["say"]))
    elif entry.kind == EntryKind.SIZING:
        name = _(str(figures["rule"]))
        note = with_unit(f"{shown(figures['low'])}–{shown(figures['high'])}", figures["unit"])
    elif entry.kind == EntryKind.SPECIES:
        note = str(figures["scientific_name"])
    elif entry.kind == EntryKind.MEASURAND:
        note = unit_word(str(figures["unit"]))
    return {"entry": entry, "name": upper_first(name), "note": note, "band": band}


def _entry(request: HttpRequest, kind: str, code: str) -> tuple[Actor, Entry]:
    actor = office_of(request)
    _kind(kind)
    entry = _entries(actor, kind).filter(code=code).first()
    if entry is None:
        raise Http404
    return actor, entry


@require_safe
def entry_page(request: HttpRequest, kind: str, code: str) -> HttpResponse:
    """Office: an entry's figures with their source, how they are known, and what was loaded."""
    _actor, entry = _entry(request, kind, code)
    catalogue = catalogue_current()
    row = _row(entry, catalogue)
    figures = [
        {
            "label": label_of(key), "value": shown(value),
            "original": shown(entry.original.get(key)) if value != entry.original.get(key) else "",
        }
        for key, value in entry.figures.items()
        if key not in HIDDEN
    ]  # fmt: skip
    source = catalogue.get("sources", entry.source_code) or {}
    context = {
        "entry": entry, "kind": kind, "kind_name": _kind(kind), "name": row["name"],
        "band": row["band"], "source_note": _(str(source.get("note") or "")), "note": row["note"], "figures": figures, "source": source,
        "editable": kind != EntryKind.SOURCE,
    }  # fmt: skip
    return render(request, "office/reference_entry.html", context)


def _numeric(actor: Actor, kind: str) -> set[str]:
    """Return the figures that are numbers somewhere in a kind: one that is empty here is too."""
    found = set()
    for original in _entries(actor, kind).values_list("original", flat=True):
        for key, value in original.items():
            if isinstance(value, int | float) and not isinstance(value, bool):
                found.add(key)
    return found


@require_http_methods(POSTED)
def entry_change(request: HttpRequest, kind: str, code: str) -> HttpResponse:
    """Office: set the firm's own figures of an entry; what was loaded stays beside."""
    actor, entry = _entry(request, kind, code)
    if kind == EntryKind.SOURCE:
        raise Http404
    form = EntryForm(
        posted(request), initial={"rev": entry.rev}, entry=entry, numeric=_numeric(actor, kind)
    )
    both: list[Any] = []
    if request.method == "POST" and form.is_valid():
        changes = form.changes()

        def act(rev: int) -> Entry:
            try:
                return entry_edit(entry=entry, changes=changes, rev=rev, by=actor, at=actor.at)
            except DomainError as error:
                if error.code == "stale":
                    raise StaleVersion(error.message) from error
                raise

        done, both = attempt_based(form, _Figures(entry), {}, act)
        if done:
            messages.success(request, _("Your figures count from now on."))
            return redirect("office:entry", kind, code)
    return form_page(
        request, form, "office/place_form.html",
        heading=_("Change %(name)s") % {"name": _row(entry, catalogue_current())["name"]},
        button=_("Keep it"), back=reverse("office:entry", args=[kind, code]), both=both,
        groups=[("", list(form.visible_fields()))],
    )  # fmt: skip


class _Figures:
    """An entry's figures as attributes, for the comparison of two versions."""

    def __init__(self, entry: Entry) -> None:
        self._entry = entry

    def refresh_from_db(self) -> None:
        """Read the entry again."""
        self._entry.refresh_from_db()

    @property
    def rev(self) -> int:
        """The version that counts now."""
        return self._entry.rev

    def __getattr__(self, name: str) -> Any:
        return self._entry.figures.get(name)


@require_http_methods(POSTED)
def entry_restored(request: HttpRequest, kind: str, code: str) -> HttpResponse:
    """Office: ask once, then put the loaded figures back."""
    actor, entry = _entry(request, kind, code)
    form = EmptyForm(posted(request))
    back = reverse("office:entry", args=[kind, code])
    if request.method == "POST" and form.is_valid():
        if attempt(form, lambda: entry_restore(entry=entry, by=actor, at=actor.at)):
            messages.success(request, _("The loaded figures count again."))
        return redirect(back)
    return form_page(
        request, form, "office/confirm.html", heading=_("Put the loaded figures back?"),
        text=_("Your own figures of this entry are dropped. What was judged by them stays as it is."),
        button=_("Put them back"), back=back, pen=True,
    )  # fmt: skip


@require_safe
def kind_csv(request: HttpRequest, kind: str) -> HttpResponseBase:
    """Office: the entries of one kind for a spreadsheet."""
    actor = office_of(request)
    _kind(kind)
    entries = list(_entries(actor, kind))
    keys = list(dict.fromkeys(key for entry in entries for key in entry.figures))
    head = [_("code"), *keys, _("how known"), _("edited")]
    cells = (
        [
            entry.code, *(_cell(entry.figures.get(key)) for key in keys), entry.knowledge,
            entry.edited_at,
        ]
        for entry in entries
    )  # fmt: skip
    return csv_answer(f"reference-{kind}", head, cells)


def _cell(value: Any) -> Any:
    if isinstance(value, bool) or value is None:
        return "" if value is None else shown(value)
    return value if isinstance(value, int | float) else shown(value) if value else ""
