"""The proposal and the survey sheet as HTML: everything that their templates print."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import get_language, get_language_bidi, gettext

from apps.accounts.models import Firm
from apps.calc.design.survey import STOP, concerns, missing
from apps.catalogue.selectors import Catalogue
from apps.clients.models import Place
from apps.core import files
from apps.core.dates import day_text
from apps.core.drawing.ink import PRINT
from apps.core.measures import METRIC, reading_in
from apps.core.numbers import format_plain
from apps.core.phrases import list_words, upper_first
from apps.proposals import survey_words
from apps.proposals.design_words import kind_name
from apps.proposals.designs import plan_of, sketch_data
from apps.proposals.models import SiteSurvey, SurveyPhoto
from apps.proposals.rendering import wording
from apps.proposals.selectors import survey_seen
from apps.visits.shown import sketch


def _day(text: str, zone: str) -> str:
    moment = dt.datetime.fromisoformat(text)
    day = moment.astimezone(ZoneInfo(zone)).date() if "T" in text else moment.date()
    return day_text(day, "year")


def context_of(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the proposal's template prints."""
    drawn = plan_of(snapshot["plan"])
    names = [kind_name(part.kind) for part in drawn.parts]
    zone = snapshot["time_zone"]
    minutes = next(s for s in snapshot["sizes"] if s["code"] == "minutes")
    return {
        "snapshot": snapshot,
        "language": snapshot["language"],
        "direction": "rtl" if get_language_bidi() else "ltr",
        "number": f"{snapshot['number']:04d}",
        "day": _day(snapshot["made_at"], zone),
        "valid_until": _day(snapshot["valid_until"], zone),
        "surveyed_on": _day(snapshot["surveyed_on"], zone) if snapshot["surveyed_on"] else "",
        "wish": wording.wish_sentence(snapshot),
        "promise": wording.promise_sentence(snapshot),
        "holds": wording.rows_of(snapshot, wording.HOLDS),
        "gives": wording.rows_of(snapshot, wording.GIVES),
        "takes": wording.rows_of(snapshot, wording.TAKES),
        "minutes": wording.span(minutes),
        "sketch": sketch(sketch_data(drawn, names), layout="rows", palette=PRINT),
        "standing": wording.standing_rows(snapshot, drawn),
        "room": wording.room_sentence(snapshot),
        "tasks": wording.task_rows(snapshot),
        "week": wording.week_sentence(snapshot),
        "parts": wording.price_rows(snapshot, "part"),
        "supplies": wording.price_rows(snapshot, "supply"),
        "work": wording.work_rows(snapshot),
        "priced": wording.priced(snapshot),
        "net": wording.money(snapshot, snapshot["net"]),
        "tax": None if snapshot["tax"] is None else wording.money(snapshot, snapshot["tax"]),
        "tax_name": "" if snapshot["tax"] is None else wording.tax_name(snapshot),
        "gross": wording.money(snapshot, snapshot["gross"]),
        "outside": wording.outside_price(snapshot),
        "doubts": wording.doubts(snapshot),
        "open": wording.open_sentence(snapshot),
        "cautions": wording.cautions(),
    }  # fmt: skip


def html_of(snapshot: Mapping[str, Any]) -> str:
    """Return the proposal as one HTML page in its reader's language and units."""
    units = snapshot.get("units", METRIC)
    with translation.override(snapshot["language"]), reading_in(units):
        return render_to_string("pdf/proposal.html", context_of(snapshot))


def survey_html(
    place: Place,
    survey: SiteSurvey | None,
    *,
    firm: Firm,
    catalogue: Catalogue,
    at: dt.datetime,
    photos: Sequence[Mapping[str, str]] = (),
) -> str:
    """Return a survey as one HTML page in the active language; without one, a blank to take along.

    `photos`: as photos_printed returns them.
    """
    seen = survey_seen(survey) if survey else {}
    found = concerns(seen)
    return render_to_string("pdf/survey.html", {
        "place": place,
        "survey": survey,
        "photos": photos,
        "firm": firm,
        "at": survey.changed_at if survey else at,
        "language": get_language() or settings.LANGUAGE_CODE,
        "direction": "rtl" if get_language_bidi() else "ltr",
        "groups": [
            (title, [_answered(asked, seen, catalogue) for asked in rows])
            for _code, title, rows in survey_words.GROUPS
        ],
        "concerns": [(survey_words.concern_words(c), c.level == STOP) for c in found],
        "open": list_words([str(survey_words.LABELS[name]) for name in missing(seen)])
        if survey else "",
    })  # fmt: skip


def photos_printed(rows: Iterable[SurveyPhoto]) -> tuple[list[dict[str, str]], dict[str, bytes]]:
    """Return photos as the survey prints them {src, caption}, and their bytes by asset name.

    One whose file is gone has no `src`: its place says so.
    """
    shown, held = [], {}
    for number, row in enumerate(rows, 1):
        name = f"photo/{number}.jpg"
        try:
            held[name] = files.read(row.small)
        except OSError:
            name = ""
        caption = row.caption or gettext("Photo %(number)d") % {"number": number}
        shown.append({"src": f"asset:{name}" if name else "", "caption": caption})
    return shown, held


def _answered(
    asked: survey_words.Asked, seen: Mapping[str, Any], catalogue: Catalogue
) -> dict[str, Any]:
    """Return one question with its answer, or with what can be ticked or filled in."""
    value = seen.get(asked.name)
    words = [str(label) for _value, label in asked.choices.choices] if asked.choices else []
    if asked.kind == survey_words.TICK:
        words = [str(label) for code, label in survey_words.Known.choices if code != "unknown"]
    return {
        "label": asked.label,
        "kind": asked.kind,
        "unit": str(asked.unit),
        "choices": words,
        "hint": asked.hint,
        "said": said(asked, value, catalogue),
    }


def said(asked: survey_words.Asked, value: Any, catalogue: Catalogue) -> str:
    """Return an answer in words; empty where there is none."""
    if value in (None, ""):
        return ""
    if asked.choices:
        return str(asked.choices(value).label)
    if asked.kind == survey_words.TICK:
        return str((survey_words.Known.YES if value else survey_words.Known.NO).label)
    if asked.kind == survey_words.SPECIES:
        return upper_first(gettext(catalogue.name("species", str(value))))
    return format_plain(value) if isinstance(value, int | float) else str(value)
