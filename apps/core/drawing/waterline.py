"""The water line: one reading as a place on a scale whose limits always stand at the same places."""

from __future__ import annotations

from django.utils.safestring import SafeString

from apps.core.drawing.ink import Ink, Palette, number
from apps.core.drawing.scale import BandLike, place
from apps.core.drawing.shapes import PENNED, check_word, judgement_shape
from apps.core.numbers import format_plain

_PAD = 9.0
_NUMBERS_HEIGHT = 16
_TOO_NEAR = 4.0


def _hatch(ink: Ink, left: float, right: float, top: float, bottom: float) -> str:
    """Strokes at 45 degrees, one every five px, cut at the rectangle's sides, as a single path."""
    height, data = bottom - top, ""
    x = left - height + 3
    while x < right:
        start, end = max(x, left), min(x + height, right)
        if end - start > 1:
            data += (
                f"M{number(start)} {number(bottom - (start - x))}"
                f"L{number(end)} {number(bottom - (end - x))}"
            )
        x += 5
    return ink.path("hatch", data) if data else ""


class _Line:
    """The geometry of one water line; drawn from the ground up."""

    def __init__(
        self,
        ink: Ink,
        band: BandLike,
        *,
        width: float,
        height: float,
        numbers: bool,
        channel: bool,
        log: bool,
    ) -> None:
        self.ink, self.band, self.log = ink, band, log
        self.width, self.height, self.numbers = width, height, numbers
        self.centre = (height - _NUMBERS_HEIGHT) / 2 if numbers else height / 2
        self.reach = 10.0 if numbers else 7.0
        if numbers:
            self.band_height = 20.0
        else:
            self.band_height = height if channel else 16.0

    def x(self, value: float) -> float:
        return _PAD + (self.width - 2 * _PAD) * place(self.band, value, log=self.log)

    def upright(self, role: str, value: float, reach: float) -> str:
        x = self.x(value)
        return self.ink.line(role, x, self.centre - reach, x, self.centre + reach)

    def ground(self) -> str:
        band, right_end = self.band, self.width - _PAD
        left = self.x(band.good_low) if band.good_low is not None else _PAD
        right = self.x(band.good_high) if band.good_high is not None else right_end
        out = ""
        if band.good_low is not None or band.good_high is not None:
            top = self.centre - self.band_height / 2
            out += self.ink.rect("band", left, top, right - left, self.band_height)
        top, bottom = self.centre - self.reach + 1, self.centre + self.reach - 1
        if band.harmful_high is not None:
            out += _hatch(self.ink, self.x(band.harmful_high), right_end, top, bottom)
            out += self.upright("tick-harm", band.harmful_high, self.reach)
        if band.harmful_low is not None:
            out += _hatch(self.ink, _PAD, self.x(band.harmful_low), top, bottom)
            out += self.upright("tick-harm", band.harmful_low, self.reach)
        out += self.ink.line("base", _PAD, self.centre, right_end, self.centre)
        for limit in (band.good_low, band.good_high):
            if limit is not None:
                out += self.upright("tick", limit, self.reach + 1)
        return out

    def below(self, limit: float) -> str:
        """What the kit cannot see: a bar from the start to its limit, and a mark pointing down."""
        x, c = self.x(limit), self.centre
        return (
            self.ink.line("below", _PAD, c, x, c)
            + self.ink.path(
                "today",
                f"M{number(x - 9)} {number(c)}L{number(x)} {number(c - 6)}V{number(c + 6)}Z",
            )
            + self.upright("tick", limit, 7)
        )

    def values(self, today: float | None, last: float | None, word: str, last_word: str) -> str:
        out, c = "", self.centre
        if today is not None and last is not None:
            role = "run-pen" if word in PENNED else "run"
            data = f"M{number(self.x(last))} {number(c)}L{number(self.x(today))} {number(c)}"
            out += self.ink.path(role, data, "wl-run")
        near = (
            today is not None and last is not None and abs(self.x(last) - self.x(today)) < _TOO_NEAR
        )
        if last is not None and not near:
            size = 1.15 if self.numbers else 1.0
            out += judgement_shape(self.ink, last_word, self.x(last), c, hollow=True, size=size)
        if today is not None:
            size = 1.2 if self.numbers else 1.0
            out += judgement_shape(self.ink, word, self.x(today), c, size=size)
        return out

    def printed_limits(self, size: float, locale: str | None) -> str:
        out = ""
        for name in ("harmful_low", "good_low", "good_high", "harmful_high"):
            value = getattr(self.band, name)
            if value is not None:
                text = format_plain(value, locale)
                out += self.ink.text(
                    "text2", self.x(value), self.height - 2, text, size=size, anchor="middle"
                )
        return out


def water_line(
    *,
    band: BandLike,
    today: float | None,
    last: float | None,
    word: str,
    last_word: str | None = None,
    width: float,
    height: float,
    numbers: bool = False,
    log: bool = False,
    below_limit: float | None = None,
    title: str,
    palette: Palette | None = None,
    channel: bool = True,
    number_size: float = 12.5,
    locale: str | None = None,
) -> SafeString:
    """One reading on its scale, as SVG.

    Parameters
    ----------
    band : limits in the measurand's unit; a missing limit is None
    today, last : the values in the same unit; None when not measured
    word, last_word : judgements (`in_band`, `near_edge`, `out_of_band`, `harmful`,
        `measure_again`); last_word defaults to `in_band`
    width, height : px; 146 x 40 beside text, 250 x 42 in a table, 300 x 62 with numbers
    numbers : print the limits under their ticks; log : a step is a factor, not a difference
    below_limit : the kit's limit when the value lay under it (then `today` is None)
    title : the sentence that stands for the picture
    channel : shade the band over the full height, so that rows join

    Raises ValueError for an unknown judgement or a number that is not finite.
    """
    check_word(word)
    earlier = check_word(last_word or "in_band")
    ink = Ink(palette)
    drawing = _Line(
        ink, band, width=width, height=height, numbers=numbers, channel=channel, log=log
    )
    body = drawing.ground()
    if below_limit is not None:
        body += drawing.below(below_limit)
    body += drawing.values(today, last, word, earlier)
    if numbers:
        body += drawing.printed_limits(number_size, locale)
    return SafeString(ink.svg(width, height, body, title=title, kind="wl"))
