"""The shapes of surveys for the OpenAPI document, made of the questions that the sheet asks."""

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator

from apps.office.api.schemas import DAY, FLAG, ID, TEXT, TIME, WHOLE, Schema, many, shape, taken
from apps.office.forms.base import NumberField
from apps.office.forms.places import SourceForm
from apps.proposals import survey_words as ask
from apps.proposals.models import SiteSurvey


def _limits(asked: ask.Asked) -> dict[str, Any]:
    held = SourceForm.base_fields.get(asked.name) if asked.name in ask.WATER else None
    if isinstance(held, NumberField):
        found = {"minimum": held.low, "maximum": held.high}
        return {name: value for name, value in found.items() if value is not None}
    column: Any = SiteSurvey._meta.get_field(asked.name)
    limits = {type(v): v.limit_value for v in column.validators}
    return {"minimum": limits.get(MinValueValidator, 0), "maximum": limits[MaxValueValidator]}


def _answer(asked: ask.Asked) -> Schema:
    """Return the schema of one answer; null: nobody looked."""
    if asked.kind == ask.TICK:
        return FLAG
    if asked.choices is not None:
        return {"type": ["string", "null"], "enum": [*asked.choices.values, "", None]}
    if asked.kind in (ask.NUMBER, ask.WHOLE):
        kind = "integer" if asked.kind == ask.WHOLE else "number"
        return {"type": [kind, "null"], **_limits(asked)}
    column: Any = SiteSurvey._meta.get_field(asked.name)
    more = {"description": "a code of the catalogue"} if asked.kind == ask.SPECIES else {}
    return {"type": ["string", "null"], "maxLength": column.max_length, **more}


ANSWERS: dict[str, Schema] = {
    asked.name: _answer(asked) for _code, _title, rows in ask.GROUPS for asked in rows
}
CONCERN = shape({"code": TEXT, "level": TEXT, "text": TEXT})
PHOTO = shape({"id": ID, "caption": TEXT, "width": WHOLE, "height": WHOLE, "sha256": TEXT})
SURVEY = shape({
    "id": ID, "place": ID, "on": DAY, "surveyed_by": TEXT,
    "answers": {"type": "object", "description": "by question; null: nobody looked"},
    "concerns": many(CONCERN), "open": many(TEXT), "left_empty": many(TEXT), "photos": many(PHOTO),
    "changed_at": TIME, "changed_by": TEXT, "rev": WHOLE,
})  # fmt: skip
FIRST: dict[str, Schema] = {"on": DAY, "surveyed_by": {**TEXT, "minLength": 1, "maxLength": 120}}
NEW_SURVEY = taken(shape({"place": ID, **FIRST}, ANSWERS))
SURVEY_CHANGE = taken(shape({}, {**FIRST, **ANSWERS}))
