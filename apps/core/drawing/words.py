"""Words of the drawings: judgements, urgencies, and the sentence that stands for a picture."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext

from apps.core.drawing import marks, shapes
from apps.core.drawing.scale import BandLike
from apps.core.numbers import format_plain, with_unit

JUDGEMENT_WORDS: dict[str, Promise] = {
    shapes.IN_BAND: gettext_lazy("in band"),
    shapes.NEAR_EDGE: gettext_lazy("near the edge"),
    shapes.OUT_OF_BAND: gettext_lazy("out of band"),
    shapes.HARMFUL: gettext_lazy("harmful"),
    shapes.MEASURE_AGAIN: gettext_lazy("measure again"),
}
URGENCY_WORDS: dict[str, Promise] = {
    marks.NOW: gettext_lazy("now"),
    marks.TODAY: gettext_lazy("today"),
    marks.WITHIN_3_DAYS: gettext_lazy("within 3 days"),
    marks.NEXT_VISIT: gettext_lazy("next visit"),
    marks.GOOD_TO_KNOW: gettext_lazy("good to know"),
}
TREND_WORDS: dict[str, Promise] = {
    "rising": gettext_lazy("rising"),
    "falling": gettext_lazy("falling"),
    "steady": gettext_lazy("steady"),
}


def band_text(band: BandLike, unit: str = "", locale: str | None = None) -> str:
    """The good band in words: "good from 6.4 to 7.2", "good up to 0.5 mg/L"; empty without limits."""
    low, high = band.good_low, band.good_high
    if low is None and high is None:
        return ""
    low_text = with_unit(format_plain(low, locale), unit) if low is not None else ""
    high_text = with_unit(format_plain(high, locale), unit) if high is not None else ""
    if high is None:
        return _("good from %(low)s up") % {"low": low_text}
    if low is None or low == 0:
        return _("good up to %(high)s") % {"high": high_text}
    return _("good from %(low)s to %(high)s") % {
        "low": format_plain(low, locale),
        "high": high_text,
    }


def reading_sentence(
    *,
    name: str,
    today: str | None,
    unit: str = "",
    last: str | None = None,
    trend: str | None = None,
    band: BandLike,
    word: str,
    below_limit: str | None = None,
    beyond: bool = False,
    reason: str = "",
    locale: str | None = None,
) -> str:
    """The sentence of a water line, used as its text alternative and as its caption.

    `today`, `last` and `below_limit` are figures already written for the reader; `trend` is
    `rising`, `falling`, `steady` or None; `reason` says why nothing was measured.

    "pH 6.43, was 6.62, falling; good from 6.4 to 7.2; near the edge"
    """
    parts = [_what(name, today, unit, below_limit, reason)]
    if beyond:
        parts.append(_("beyond the scale"))
    if last is not None:
        parts.append(_("was %(figure)s") % {"figure": last})
    if trend is not None:
        parts.append(str(TREND_WORDS[trend]))
    # Translators: what stands between two words about a reading, as "was 7.9, rising"
    between = pgettext("between words", ", ")
    sentence = [between.join(parts), band_text(band, unit, locale)]
    if today is not None or below_limit is not None:
        sentence.append(str(JUDGEMENT_WORDS[shapes.check_word(word)]))
    # Translators: what stands between the parts of a sentence about a reading
    return pgettext("between parts", "; ").join(part for part in sentence if part)


def _what(name: str, today: str | None, unit: str, below_limit: str | None, reason: str) -> str:
    if below_limit is not None:
        figure = with_unit(below_limit, unit)
        return _("%(name)s below %(figure)s, the least the kit can see") % {
            "name": name,
            "figure": figure,
        }
    if today is not None:
        return f"{name} {with_unit(today, unit)}"
    if reason:
        return _("%(name)s not measured: %(reason)s") % {"name": name, "reason": reason}
    return _("%(name)s not measured") % {"name": name}
