"""A recipe for a plant loop: grams of the salts at hand. Nothing is stored: a try is a GET."""

import math
from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from apps.accounts.actors import office_of
from apps.batches.selectors import fish_now
from apps.calc.recipe.conductivity import solution_ec_ms_cm
from apps.calc.recipe.salts import MICRO
from apps.calc.recipe.solve import TARGETS, Line, Recipe, Weighed, blended, helping, recipe
from apps.calc.recipe.stock import Can, Stock, stock
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.core.numbers import format_figure, format_plain, round_half_up
from apps.office.calculator_words import sources_said
from apps.office.forms.recipe import ELEMENT_NAMES, RecipeForm, salt_name
from apps.office.selectors.recipe import RecipeStart, recipe_start
from apps.office.views.common import found
from apps.office.views.system_edits import trail_of
from apps.office.wording import list_words, upper_first
from apps.systems.choices import LoopKind
from apps.systems.models import Loop

SOURCES = ("chemistry", "lawson_hanson1974", "sonneveld1999", "crc")
EC_A_DAY = 0.3  # mS/cm that roots stand (common practice)
MOST_AMMONIUM = 0.1  # of the nitrogen (common practice)
MOST_SODIUM = 50.0  # mg/L (common practice)
BUFFERED = 60.0  # mg/L CaCO3 above which source water holds the pH up


@require_safe
def loop_recipe(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: what to weigh for a plant loop; with its fields in the address, the grams."""
    actor = office_of(request)
    loop = found(Loop.objects.visible_to(actor).select_related("system__place"), pk)
    catalogue, start = catalogue_current(), recipe_start(loop, clock.now())
    if loop.kind != LoopKind.PLANT or fish_now([loop.pk], clock.today()):
        context = {"loop": loop, "trail": trail_of(loop.system), "start": start}
        return render(request, "office/recipe.html", {**context, "with_fish": True})
    asked = "target" in request.GET
    form = RecipeForm(request.GET if asked else None, catalogue=catalogue, start=start)
    answer = None
    if asked and form.is_valid():
        if start.litres:
            target = catalogue.of("targets")[form.cleaned_data["target"]]
            answer = _answer(form, start, {e: float(target[e]) for e in TARGETS})
        else:
            form.add_error(
                None, _("Say first how many litres the loop holds, on its system's page.")
            )
    context = {
        "loop": loop, "system": loop.system, "trail": trail_of(loop.system), "start": start,
        "form": form, "groups": form.groups(), "answer": answer,
    }  # fmt: skip
    return render(request, "office/recipe.html", context, status=422 if form.errors else 200)


def _answer(form: RecipeForm, start: RecipeStart, target: dict[str, float]) -> dict[str, Any]:
    values = form.cleaned_data
    now = form.water("now")
    present = blended(now, form.water("source"), start.litres, values["fresh_l"])
    made = recipe(target, present, start.litres, values["salts"], float(values["scale_g"]))
    cans = stock(made.salts, made.volume_l, float(values["factor"]))
    more = helping(target, present, start.litres, values["salts"], float(values["scale_g"]))
    return {
        "salts": [_salt(w) for w in made.salts],
        "micro": any(w.times > 1 for w in made.salts),
        "lines": [_line(line) for line in made.lines],
        "ec": format_figure(made.ec_ms_cm, 1),
        "cans": [_can(can) for can in cans.cans],
        "warnings": [
            *_unknown(form, start),
            *_misses(made, more),
            *_warnings(form, start, made, present),
            *_can_warnings(cans),
        ],
        "sources": sources_said(SOURCES),
    }


def _salt(w: Weighed) -> dict[str, str]:
    text = ""
    if w.times > 1:
        text = _("in 1 L of stock; of it %(ml)s mL") % {"ml": format_plain(w.stock_ml)}
    return {"name": upper_first(salt_name(w.salt.code)), "grams": format_plain(w.weighed_g), "how": text}  # fmt: skip


def _line(line: Line) -> dict[str, str]:
    decimals = 2 if line.element in MICRO else 0

    def figure(value: float | None) -> str:
        return "" if value is None else format_figure(value, decimals)

    off = round_half_up(line.off_mg_l, decimals)
    return {
        "name": upper_first(str(ELEMENT_NAMES[line.element])),
        "present": figure(line.present), "wanted": figure(line.wanted),
        "reached": figure(line.reached),
        "off": f"{'+' if off > 0 else '−'}{format_figure(abs(off), decimals)}" if off else "",
    }  # fmt: skip


def _can(can: Can) -> dict[str, Any]:
    return {
        "letter": can.letter,
        "litres": format_plain(round_half_up(can.litres, 2)),
        "salts": [(upper_first(salt_name(code)), format_plain(grams)) for code, grams in can.salts],
    }


def _unknown(form: RecipeForm, start: RecipeStart) -> list[str]:
    """Return what is counted as none because nobody has measured it, and the way out."""
    found, fresh = [], form.cleaned_data["fresh_l"]
    empty = form.empty("now") if fresh < start.litres else []
    if empty:
        names = list_words([str(ELEMENT_NAMES[e]) for e in empty])
        found.append(_("Not measured, counted as none: %(names)s.") % {"names": names})
    empty = form.empty("source") if fresh else []
    if empty:
        names = list_words([str(ELEMENT_NAMES[e]) for e in empty])
        found.append(
            _("Not measured in the source water, taken as 0: %(names)s. Too much may be weighed: "
              "measure its hardness and nitrate and keep them with the place, or write them above.")
            % {"names": names}
        )  # fmt: skip
    return found


def _misses(made: Recipe, more: Sequence[str]) -> list[str]:
    """Return what ends up too far from what is wanted, and which salts would mend it."""
    if not made.missed:
        return []
    lines = list_words([_missed(line) for line in made.missed])
    found = [_("More than a tenth off what is wanted: %(lines)s.") % {"lines": lines}]
    if more:
        names = list_words([salt_name(code) for code in more])
        found.append(_("What would bring it closer: %(names)s. Tick it where it is at hand.") % {"names": names})  # fmt: skip
    else:
        found.append(_("No further salt of the list mends that: change how much fresh water goes in, or settle what the crop stands."))  # fmt: skip
    return found


def _missed(line: Line) -> str:
    shown = _line(line)
    words = {"name": str(ELEMENT_NAMES[line.element]), "reached": shown["reached"], "wanted": shown["wanted"]}  # fmt: skip
    return _("%(name)s %(reached)s instead of %(wanted)s mg/L") % words


def _warnings(
    form: RecipeForm, start: RecipeStart, made: Recipe, present: dict[str, float]
) -> list[str]:
    found = []
    if made.too_much:
        names = list_words([str(ELEMENT_NAMES[e]) for e in made.too_much])
        found.append(
            _("More than wanted is there already: %(names)s. Only fresh water lowers it.")
            % {"names": names}
        )
    days = math.ceil((made.ec_ms_cm - solution_ec_ms_cm(present)) / EC_A_DAY - 1e-9)
    if days > 1:
        found.append(
            _("With plants in it: in %(days)s equal parts, one a day, so that the conductivity "
              "rises by 0.3 mS/cm a day at most.") % {"days": days}
        )  # fmt: skip
    if made.ammonium_share > MOST_AMMONIUM:
        found.append(_("More than a tenth of the nitrogen is ammonium: it burns roots in warm or stagnant water."))  # fmt: skip
    sodium = next((line.reached for line in made.lines if line.element == "na"), 0.0)
    if sodium > MOST_SODIUM:
        found.append(_("Sodium passes 50 mg/L: renew water instead."))
    if (start.source_alkalinity or 0.0) > BUFFERED and form.cleaned_data["fresh_l"]:
        found.append(
            _("The source water has %(alk)s mg/L alkalinity and holds the pH up: trained people "
              "bring it down in the barrel first, acid into water.")
            % {"alk": format_plain(start.source_alkalinity or 0.0)}
        )  # fmt: skip
    return found


def _can_warnings(cans: Stock) -> list[str]:
    if all(can.dissolves for can in cans.cans):
        return []
    return [
        _("Not all of it dissolves in the cans: make them %(most)s times as strong at most.")
        % {"most": format_plain(cans.most_factor)}
    ]
