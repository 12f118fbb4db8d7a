"""What a reading means and what to do about it, in the words of the phone."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from apps.advice.models import Advice
from apps.advice.selectors import advice_text, caution_texts
from apps.advice.services import advice_row, sheet_assess
from apps.batches.choices import Touches
from apps.calc.advice.results import Assessment
from apps.calc.advice.situation import Hold
from apps.catalogue.selectors import Catalogue
from apps.core.drawing.words import URGENCY_WORDS, band_text
from apps.core.numbers import format_figure, with_unit
from apps.core.templatetags.look import weekday_date
from apps.field.work import Work, past_of
from apps.reports.rendering.wording import meaning, side_of
from apps.systems.models import Loop
from apps.visits.choices import Word
from apps.visits.models import Reading
from apps.visits.selectors import band_as_json, band_for
from apps.visits.shown import Shown, shown

# a worked-out value speaks for the reading that it comes from
SPEAKS_FOR = {"nh3": "tan", "do_pct": "do", "flow_pct": "flow"}
# a sentence to a line is easier to follow at a tank than a paragraph
_SENTENCE_ENDS = re.compile(r"(?<=[.])\s+(?=[^\W\d_a-z])")


@dataclass(frozen=True)
class Advised:
    """One advice as the phone shows it."""

    row: Advice
    text: str
    sentences: list[str]
    urgency: str
    cautions: list[str]
    source: str
    inputs: list[tuple[str, str]]


def assessed(work: Work) -> Assessment:
    """Return what the sheet's readings and signs lead to; nothing is stored."""
    signs = [row["sign"] for row in work.typed.findings.values() if row.get("sign")]
    readings = sorted(work.readings.values(), key=lambda row: (row.taken_at, str(row.pk)))
    found, _parts = sheet_assess(
        work.sheet, readings=readings, signs=signs, now=work.now, catalogue=work.catalogue
    )
    return found


def advised_all(work: Work, found: Assessment) -> list[Advised]:
    """Return the drafted advice in words, most urgent first."""
    rows = [advice_row(draft, work.sheet, i, work.now) for i, draft in enumerate(found.advice)]
    return [advised(row, work.catalogue) for row in rows]


def advised(row: Advice, catalogue: Catalogue) -> Advised:
    """Return an advice in words."""
    parameters = row.parameters
    source = catalogue.get("sources", str(parameters.get("source", ""))) or {}
    text = row.decision_text or advice_text(row.rule, parameters)
    return Advised(
        row=row,
        text=text,
        sentences=_SENTENCE_ENDS.split(text),
        urgency=str(URGENCY_WORDS[row.urgency]),
        cautions=caution_texts(parameters.get("cautions", [])),
        source=str(source.get("title") or ""),
        inputs=_inputs(dict((parameters.get("explanation") or {}).get("inputs") or {}), catalogue),
    )


def _inputs(inputs: dict[str, Any], catalogue: Catalogue) -> list[tuple[str, str]]:
    codes = {"alkalinity": "alk", "source_alkalinity": ""}
    litres = {"volume_l": _("water in the loop")}
    said = []
    for name, value in inputs.items():
        entry = catalogue.measurand(codes.get(name, name))
        if entry is not None:
            figure = format_figure(value, int(entry.get("decimals") or 0))
            said.append((_(str(entry["name"])), with_unit(figure, str(entry["unit"]))))
        elif name in litres:
            said.append((litres[name], with_unit(format_figure(value, 0), "L")))
    return said


def advised_for(items: Sequence[Advised], loop: Loop, measurand: str) -> list[Advised]:
    """Return the advice that deals with a measurand in a loop."""
    return [
        item
        for item in items
        if item.row.loop_id in (None, loop.pk)
        and any(_about(answer) == measurand for answer in item.row.parameters.get("answers", ()))
    ]


def _about(answer: str) -> str:
    code = answer.split(".", 1)[0]
    return SPEAKS_FOR.get(code, code)


def hold_text(hold: Hold) -> str:
    """Return what must not be eaten, and until when."""
    return _("%(what)s: nothing to be eaten until %(day)s (%(product)s).") % {
        "what": Touches(hold.touches).label, "day": weekday_date(hold.until), "product": hold.product,
    }  # fmt: skip


def unread(work: Work, loop: Loop, measurand: str) -> Shown:
    """Return a reading that nobody has taken yet: its unit, its good band, last time's."""
    entry = work.catalogue.measurand(measurand) or {}
    past = past_of(work, loop, measurand)
    last = past[-1] if past else None
    band = band_for(work.catalogue, measurand, work.ground.lives[loop.pk].context)
    return shown({
        "id": "", "loop": str(loop.pk), "measurand": measurand,
        "name": str(entry.get("name") or measurand), "value": None,
        "unit": str(entry.get("unit") or ""), "decimals": int(entry.get("decimals") or 0),
        "word": Word.IN_BAND, "trusted": True, "band": band_as_json(band), "trend": "",
        "last": last.value if last else None, "last_word": last.word if last else None,
        "series": [],
    })  # fmt: skip


def sentences_for(item: Shown, reading: Reading, last_day: str) -> list[str]:
    """Return what a reading means: its effect, its change since last time, its good band."""
    said = []
    effect = meaning(reading.measurand, side_of(item))
    if not effect and reading.measurand == "tan" and reading.word != "in_band":
        effect = _("At this pH and temperature too much of it is the toxic part.")
    if effect and reading.word not in ("in_band", "measure_again"):
        said.append(effect)
    change = _change(item, last_day)
    if change:
        said.append(change)
    band = band_text(item.band, item.unit)
    if band:
        said.append(f"{band[:1].upper()}{band[1:]}.")
    return said


def _change(item: Shown, last_day: str) -> str:
    if item.today is None or item.before is None or not last_day:
        return ""
    decimals = int(item.data["decimals"])
    by = round(item.today - item.before, decimals)
    if not by:
        return _("As on %(day)s.") % {"day": last_day}
    figure = with_unit(format_figure(abs(by), decimals), item.unit)
    words = _("It fell by %(figure)s since %(day)s.") if by < 0 else _(
        "It rose by %(figure)s since %(day)s."
    )  # fmt: skip
    return words % {"figure": figure, "day": last_day}
