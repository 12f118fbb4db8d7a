"""Calculators: the computing by itself. Nothing is stored, so a look and a try are both GET."""

import math
from collections.abc import Mapping
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from apps.accounts.actors import office_of
from apps.calc.calculators import CALCULATORS, Calculator, CalculatorError
from apps.catalogue.selectors import catalogue_current
from apps.core.numbers import format_plain, round_half_up, with_unit
from apps.office.calculator_words import CHOICES, GROUPS, RESULTS, formula_shown, say, sources_said
from apps.office.forms.calculators import CalculatorForm, label_of

DIGITS = 4


@require_safe
def calculators(request: HttpRequest) -> HttpResponse:
    """Office: what can be worked out, by group."""
    office_of(request)
    grouped = [(str(title), [CALCULATORS[name] for name in names if name in CALCULATORS])
               for title, names in GROUPS]  # fmt: skip
    placed = {name for _title, names in GROUPS for name in names}
    rest = [item for name, item in CALCULATORS.items() if name not in placed]
    if rest:
        grouped.append((_("More"), rest))
    shown = [(title, [(item, _(item.title)) for item in items]) for title, items in grouped]
    return render(request, "office/calculators.html", {"groups": shown})


@require_safe
def calculator(request: HttpRequest, name: str) -> HttpResponse:
    """Office: one calculator; with its fields in the address, what comes out and why."""
    office_of(request)
    item = CALCULATORS.get(name)
    if item is None:
        raise Http404
    asked = any(key in request.GET for key in _keys(item))
    species = {code: _(str(row["name"])) for code, row in catalogue_current().of("species").items()}
    form = CalculatorForm(request.GET if asked else None, calculator=item, names=species)
    answer: dict[str, Any] | None = None
    if asked and form.is_valid():
        try:
            answer = item.run(form.payload())
        except CalculatorError as error:
            form.refuse(error.errors)
    context = {
        "item": item,
        "title": _(item.title),
        "form": form,
        "groups": form.groups(),
        "answer": answer_shown(answer, item) if answer else None,
        "formula": formula_shown(_(item.formula)),
        "others": [(other, _(other.title)) for other in CALCULATORS.values() if other is not item],
    }
    status = 422 if form.errors else 200
    return render(request, "office/calculator.html", context, status=status)


def _keys(item: Calculator) -> set[str]:
    return {field.name for field in item.fields}


def answer_shown(answer: Mapping[str, Any], item: Calculator) -> dict[str, Any]:
    """Return a calculator's answer in words and figures."""
    plain, tables = [], []
    for key, value in answer["result"].items():
        words = RESULTS.get(key)
        label = str(words.name) if words else key.replace("_", " ")
        if isinstance(value, list):
            tables.append((label, *_table(value)))
        else:
            plain.append((label, _value(value, words.unit if words else "")))
    how = answer["explanation"]
    titles = {field.name: (label_of(field), field.unit) for field in item.fields}
    return {
        "plain": plain,
        "tables": tables,
        "cautions": [say(text) for text in answer["cautions"]],
        "how": {
            "formula": formula_shown(_(item.formula)),
            "inputs": [_input(titles.get(key, (key, "")), value) for key, value in how["inputs"].items()],
            "source": sources_said(item.sources),
            "valid_range": say(item.valid_range),
            "assumptions": [say(text) for text in how["assumptions"]],
        },
    }  # fmt: skip


def _value(value: Any, unit: str) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, int | float):
        return with_unit(significant(value), unit)
    if value is None:
        return ""
    return str(CHOICES.get(str(value)) or _(str(value)))


def significant(value: float) -> str:
    """Return a figure with about four digits that mean something.

    >>> significant(0.0123456), significant(1234.6), significant(0.0)
    ('0.01235', '1,235', '0')
    """
    if value == 0:
        return "0"
    before_point = math.floor(math.log10(abs(value))) + 1
    decimals = max(0, min(9, DIGITS - before_point))
    return format_plain(round_half_up(value, decimals))


def _input(title: tuple[str, str], value: Any) -> tuple[str, str]:
    name, unit = title
    if isinstance(value, list):
        return name, "; ".join(
            ", ".join(_value(cell, "") for cell in row.values()) if isinstance(row, Mapping)
            else _value(row, unit)
            for row in value
        )  # fmt: skip
    return name, _value(value, unit)


def _table(rows: list[Any]) -> tuple[list[str], list[list[str]]]:
    if not rows or not isinstance(rows[0], Mapping):
        return [], [[_value(row, "")] for row in rows]
    keys = list(rows[0])
    heads = [str(RESULTS[key].name) if key in RESULTS else key for key in keys]
    units = [RESULTS[key].unit if key in RESULTS else "" for key in keys]
    cells = [
        [_value(row[key], unit) for key, unit in zip(keys, units, strict=True)] for row in rows
    ]
    return heads, cells
