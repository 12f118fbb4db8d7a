"""What the office's pages share: rows by key, filters, lists in pages, forms that can be refused."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar
from uuid import UUID

from django import forms
from django.core.exceptions import BadRequest
from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from apps.core.exceptions import StaleVersion
from apps.core.refusing import attempt

T = TypeVar("T")
PER_PAGE = 25
POSTED = ["GET", "HEAD", "POST"]


def found(rows: QuerySet[Any], pk: UUID | int | str) -> Any:
    """Return the row or raise 404."""
    row = rows.filter(pk=pk).first()
    if row is None:
        raise Http404
    return row


def chosen(request: HttpRequest, name: str, known: Mapping[str, Any], default: str = "") -> str:
    """Return a filter out of the address. Raises BadRequest for a word that is not known."""
    word = request.GET.get(name, default)
    if word != default and word not in known:
        raise BadRequest(f"{name}: " + _("not known here"))
    return word


def page_of(
    request: HttpRequest,
    rows: QuerySet[Any] | list[Any],
    per: int = PER_PAGE,
    count: int | None = None,
) -> Page:
    """Return the page of a list that the address asks for, the nearest where there is none.

    `count`: how many rows there are, where somebody has counted them already.
    """
    paginator = Paginator(rows, per)
    if count is not None:
        # a cached property: what is set is not asked for
        paginator.count = count  # type: ignore[misc]
    return paginator.get_page(request.GET.get("page"))


def posted(request: HttpRequest) -> Any:
    """Return what was sent with a form; None where the form is only looked at."""
    return request.POST if request.method == "POST" else None


def form_page(
    request: HttpRequest, form: forms.Form, template: str = "office/form.html", **context: Any
) -> HttpResponse:
    """Return the page of a form; 422 where it was refused."""
    status = 422 if form.is_bound and form.errors else 200
    return render(request, template, {"form": form, **context}, status=status)


def attempt_based(
    form: forms.Form,
    row: Any,
    names: Mapping[str, str],
    act: Callable[[int], Any],
    values: Callable[[Any], Mapping[str, Any]] | None = None,
) -> tuple[bool, list[tuple[str, str, str]]]:
    """Carry out a change that is based on a version of a row.

    Returns (done, both): where somebody else was quicker, `both` holds (label, theirs, typed) of
    each field that differs, and the form is based on theirs from then on. `names` maps fields
    whose name differs from the row's; `values` gives a row's values by field where they are no
    columns of its own.
    """
    try:
        done = attempt(form, lambda: act(form.cleaned_data["rev"]))
    except StaleVersion:
        row.refresh_from_db()
        form.add_error(None, _("Somebody else changed this meanwhile; see both and choose."))
        both = _both(form, values(row) if values else _columns(form, row, names))
        data: Any = form.data
        form.data = data.copy()
        form.data["rev"] = str(row.rev)  # type: ignore[index]
        return False, both
    return done is not None, []


def _columns(form: forms.Form, row: Any, names: Mapping[str, str]) -> dict[str, Any]:
    return {name: getattr(row, names.get(name, name), None) for name in form.fields}


def _both(form: forms.Form, held: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    found_rows = []
    for field in form.visible_fields():
        theirs, typed = held.get(field.name), form.cleaned_data.get(field.name)
        if (theirs or "") != (typed or ""):
            words = dict(getattr(field.field, "choices", ()))
            shown = (str(words.get(value) or _shown(value)) for value in (theirs, typed))
            found_rows.append((str(field.label), *shown))
    return found_rows  # type: ignore[return-value]


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, float):
        return f"{value:.10g}"
    return _("nothing") if value in (None, "") else str(value)
