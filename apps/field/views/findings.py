"""What was seen: signs, words, photos."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import actor_of
from apps.catalogue.choices import EntryKind
from apps.core.exceptions import DomainError, Invalid
from apps.field.answers import bases_of, save
from apps.field.steps import steps_of
from apps.field.views.clashes import clash_page
from apps.field.views.common import POSTED, page, sheet_context, words_of
from apps.field.work import Row, Work, work_of
from apps.systems.models import Component
from apps.visits.models import Photo
from apps.visits.services.photos import photo_keep

MOST_PHOTOS = 12


def about_name(code: str) -> str:
    """Return what a group of signs is about."""
    return {
        "fish": _("Fish"), "leaf": _("Leaves and fruit"), "root": _("Roots"), "water": _("Water"),
        "filter": _("Filter"), "machine": _("Machines"), "store": _("Stores"), "pest": _("Pests"),
        "place": _("Place"),
    }.get(code, code)  # fmt: skip


def sign_groups(work: Work) -> list[tuple[str, list[tuple[str, str]]]]:
    """Return the catalogue's signs by what they are about."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for code, row in work.catalogue.of(EntryKind.SIGN).items():
        groups.setdefault(str(row["about"]), []).append((code, _(str(row["name"]))))
    return [(about_name(about), rows) for about, rows in groups.items()]


def photos_of(work: Work) -> list[Photo]:
    """Return the sheet's photos, oldest first: one query."""
    rows = Photo.objects.visible_to(work.actor).filter(sheet=work.sheet)
    return list(rows.order_by("taken_at", "id"))


@require_safe
def findings(request: HttpRequest, pk: UUID, sheet: UUID) -> HttpResponse:
    """Technician of the visit, or the office: what was seen so far."""
    work = work_of(actor_of(request), pk, sheet)
    photos = {str(photo.pk): photo for photo in photos_of(work)}
    parts = dict(_parts(work))
    rows = []
    for key, row in work.typed.findings.items():
        own = [photos.pop(p) for p in row.get("photo_ids") or [] if p in photos]
        sign = _(work.catalogue.name("signs", row["sign"])) if row.get("sign") else ""
        rows.append(
            {"key": key, "sign": sign, "text": row.get("text") or "", "photos": own,
             "part": parts.get(str(row.get("component") or ""), "")}
        )  # fmt: skip
    context = {
        **sheet_context(work, steps_of(work)),
        "rows": rows,
        "others": list(photos.values()),
        "fresh": uuid4(),
    }
    return page(request, "findings.html", context)


def _parts(work: Work) -> list[tuple[str, str]]:
    rows = Component.objects.visible_to(work.actor).filter(
        loop__in=work.loops, removed_on__isnull=True
    )
    return [(str(row.pk), row.name) for row in rows.order_by("place_in_flow", "name")]


@require_http_methods(POSTED)
def finding(request: HttpRequest, pk: UUID, sheet: UUID, key: UUID) -> HttpResponse:
    """Technician of the visit, or the office: one finding; POST writes it and keeps its photos."""
    work = work_of(actor_of(request), pk, sheet)
    row = work.row("findings", key)
    if request.method == "POST":
        return _write(request, work, row)
    return _finding_page(request, work, row)


def _finding_page(
    request: HttpRequest, work: Work, row: Row, fault: str = "", typed: Any = None
) -> HttpResponse:
    held = {leaf: row.get(leaf) or "" for leaf in ("sign", "text", "component")}
    if typed is not None:
        held |= {leaf: str(typed.get(leaf, "")) for leaf in held}
    ids = row.get("photo_ids") or []
    context = {
        **sheet_context(work, steps_of(work)),
        "key": row.key,
        "known": bool(row.leaves) and not row.get("gone"),
        "held": held,
        "signs": sign_groups(work),
        "parts": _parts(work),
        "photos": [photo for photo in photos_of(work) if str(photo.pk) in ids],
        "bases": {
            leaf: row.rev(leaf) for leaf in ("sign", "text", "component", "photo_ids", "gone")
        },
        "fault": fault,
    }
    return page(request, "finding.html", context, status=422 if fault else 200)


def _write(request: HttpRequest, work: Work, row: Row) -> HttpResponse:
    posted = request.POST
    prefix = f"findings/{row.key}"
    answers: dict[str, Any] = {}
    if posted.get("gone"):
        answers[f"{prefix}/gone"] = True
    else:
        for leaf in ("sign", "text", "component"):
            value = str(posted.get(leaf, "")).strip()
            if leaf in posted and value != (row.get(leaf) or ""):
                answers[f"{prefix}/{leaf}"] = value or (None if leaf == "component" else "")
        if row.get("gone"):
            answers[f"{prefix}/gone"] = False
    try:
        kept = keep_photos(request, work)
        if kept and not posted.get("gone"):
            answers[f"{prefix}/photo_ids"] = [*(row.get("photo_ids") or []), *kept]
        said = posted.get("gone") or posted.get("sign") or str(posted.get("text", "")).strip()
        if not said:
            fault = _("Say what was seen, or choose a sign. Photos are kept with the sheet.")
            return _finding_page(request, work, row, fault, posted)
        clashes = save(work, answers, bases_of(posted, prefix))
    except Invalid as error:
        return _finding_page(request, work, row, words_of(error), posted)
    except DomainError as error:
        messages.error(request, words_of(error))
        return redirect("field:findings", pk=work.visit.pk, sheet=work.sheet.pk)
    if clashes:
        return clash_page(request, work, clashes, _("What was seen"))
    return redirect("field:findings", pk=work.visit.pk, sheet=work.sheet.pk)


def keep_photos(request: HttpRequest, work: Work, caption: str = "") -> list[str]:
    """Keep the photos of a form with the sheet and return their keys. Raises Invalid, Conflict."""
    files = [f for f in request.FILES.getlist("photo") if isinstance(f, UploadedFile)]
    if len(files) > MOST_PHOTOS:
        message = _("At most twelve photos at once.")
        raise Invalid([{"pointer": "/photo", "value": len(files), "message": message}])
    kept = []
    for upload in files:
        photo = photo_keep(
            sheet=work.sheet, pk=uuid4(), data=upload.read(), caption=caption, by=work.actor,
            at=work.now,
        )  # fmt: skip
        kept.append(str(photo.pk))
    return kept


@require_http_methods(POSTED)
def photo(request: HttpRequest, pk: UUID, sheet: UUID) -> HttpResponse:
    """Technician of the visit, or the office: the sheet's photos; POST keeps new ones."""
    work = work_of(actor_of(request), pk, sheet)
    fault, caption = "", str(request.POST.get("caption", ""))
    if request.method == "POST":
        try:
            kept = keep_photos(request, work, caption)
            if kept:
                return redirect("field:photo", pk=pk, sheet=sheet)
            fault = _("Choose a photo first.")
        except DomainError as error:
            fault = words_of(error)
    context = {
        **sheet_context(work, steps_of(work)),
        "photos": photos_of(work),
        "fault": fault,
        "caption": caption,
    }
    return page(request, "photos.html", context, status=422 if fault else 200)
