"""Typed readings mean the same on the telephone: unit, doubts, word, and what they add to what is known."""

import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import Page

from apps.calc.advice.today import Taken, with_readings
from apps.calc.judgement import LoopContext
from apps.calc.plausibility import CONVERSIONS, ION_SHARE
from apps.calc.quantities import MEASURANDS
from apps.calc.reading import Ground, Typed, look
from tests.effort import cases
from tests.phone.plain import difference, plain
from tests.phone.script import call, script  # noqa: F401
from tests.phone.test_science import limits

sys.path.insert(0, str(Path(__file__).parents[1] / "calc" / "advice"))
from advice_builders import bands
from test_any_situation import any_situation

CONTEXTS = {
    "a": LoopContext("coupled", "whole", ("nile_tilapia",), ("leafy",)),
    "b": LoopContext("decoupled", "plant", (), ("fruiting",)),
    "c": LoopContext("coupled", "whole", ("rainbow_trout",), ("leafy", "fruiting"), cold=True),
}
LOOK = """
const { M } = await import('/science.js');
const P = await import('/py.js');
const R = M["apps.calc.reading"], { LoopContext } = M["apps.calc.judgement"];
const make = (made, row) => P.make(made, made.fields.map(([name]) => row[name]));
const contexts = P.dict(Object.entries(a[0]).map(([loop, row]) => [loop, make(LoopContext, row)]));
const limits = P.dict(M["apps.calc.quantities"].MEASURANDS.items());
const bands = m.bands_of(a[1]);
return a[2].map(([typed, last]) => {
  const ground = P.make(R.Ground, [contexts, bands, limits, P.dict(last.map(([l, c, v]) => [[l, c], v])), 250]);
  return m.plain(R.look(typed.map((row) => make(R.Typed, row)), ground));
});
"""
TODAY = """
const { M } = await import('/science.js');
const P = await import('/py.js');
const { Taken, with_readings } = M["apps.calc.advice.today"];
const make = (row) => P.make(Taken, Taken.fields.map(([name]) => row[name]));
return a[0].map(([known, taken]) => m.plain(with_readings(m.situation_of(known), taken.map(make), 1.5)));
"""


@st.composite
def typed_reading(draw: Any, number: int) -> Typed:
    code = draw(st.sampled_from(sorted(MEASURANDS)))
    known = MEASURANDS[code]
    units = ["", known.unit, *CONVERSIONS.get(code, {}), "%", "furlong"]
    top = known.high * draw(st.sampled_from([0.01, 0.1, 1.0, 12.0]))
    return Typed(
        key=f"{number}", loop=draw(st.sampled_from("abc")), measurand=code,
        value=round(draw(st.floats(min(known.low, top), max(known.low, top))), 3),
        unit=draw(st.sampled_from(units)),
        basis=draw(st.sampled_from(["", "n", "ion"])) if code in ION_SHARE else "",
        method=draw(st.sampled_from(["", "drops", "meter"])), checked_twice=draw(st.booleans()),
    )  # fmt: skip


@st.composite
def sheet(draw: Any) -> tuple[list[Typed], list[tuple[str, str, float]]]:
    typed = [draw(typed_reading(n)) for n in range(draw(st.integers(1, 8)))]
    last = [
        (one.loop, one.measurand, round(one.value * draw(st.floats(0.2, 3)), 3))
        for one in typed
        if draw(st.booleans())
    ]
    return typed, last


@pytest.mark.browser
def test_looks_at_drawn_sheets_alike(script: Page) -> None:  # noqa: F811
    drawn: list[Any] = []

    @cases(400)
    @given(sheet())
    def draw(one: Any) -> None:
        drawn.append(one)

    draw()
    theirs = call(script, "situation.js", LOOK, plain(CONTEXTS), limits(), plain(drawn))
    refused = doubted = 0
    for (typed, last), found in zip(drawn, theirs, strict=True):
        ground = Ground(CONTEXTS, bands(), MEASURANDS, {(a, b): v for a, b, v in last}, 250)
        own = look(typed, ground)
        refused += sum(bool(one.refused) for one in own)
        doubted += sum(bool(one.doubts) for one in own)
        assert not difference(plain(own), found)
    assert refused > 50
    assert doubted > 50


@pytest.mark.browser
def test_puts_readings_over_what_is_known_alike(script: Page) -> None:  # noqa: F811
    drawn: list[Any] = []
    codes = ["temp", "ph", "alk", "flow", "feed", "fed_ago", "outage", "germination", "no2"]
    reading = st.builds(
        Taken, st.just("a"), st.sampled_from(codes), st.floats(0, 50), st.floats(0, 5),
        st.booleans(), st.booleans(), st.floats(0, 24), st.sampled_from(["", "drops", "meter"]),
    )  # fmt: skip

    @cases(200)
    @given(any_situation(), st.lists(reading, max_size=8))
    def draw(known: Any, taken: Any) -> None:
        drawn.append((known, taken))

    draw()
    theirs = call(script, "situation.js", TODAY, plain(drawn))
    for (known, taken), found in zip(drawn, theirs, strict=True):
        assert not difference(plain(with_readings(known, taken, 1.5)), found)
