"""The telephone's science is the server's: the same answers, to the last printed digit."""

import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from playwright.sync_api import Page

from apps.calc.advice.sentences import sentences
from apps.calc.judgement import Band
from apps.field.phone.bundle import TARGET, written
from apps.field.phone.translate import Module, NotTranslatable
from tests.effort import cases
from tests.phone.plain import difference, plain
from tests.phone.script import call, script  # noqa: F401

sys.path.insert(0, str(Path(__file__).parents[1] / "calc" / "advice"))
from advice_builders import LIMITS, assess, bands
from test_any_situation import any_situation

ASSESS = """
const bands = m.bands_of(a[0]);
return a[1].map((row) => {
  const found = m.assessed(row, bands);
  return [m.plain(found), found.advice.map((one) => m.plain(m.sentences(one)))];
});
"""


def limits() -> list[Any]:
    """Return the bands as the telephone is sent them."""
    return [
        [measurand, context, {name: getattr(band, name) for name in LIMITS}]
        for (measurand, context), band in bands().items()
    ]


def test_is_made_from_the_science_as_it_stands() -> None:
    assert TARGET.read_text() == written(), "run manage.py phone_science"


@pytest.mark.browser
def test_assesses_drawn_situations_alike(script: Page) -> None:  # noqa: F811
    drawn: list[Any] = []

    @cases(400)
    @given(any_situation())
    def draw(situation: Any) -> None:
        drawn.append(situation)

    draw()
    assert len(drawn) >= 400
    theirs = call(script, "situation.js", ASSESS, limits(), [plain(one) for one in drawn])
    advised = 0
    for situation, (found, said) in zip(drawn, theirs, strict=True):
        own = assess(situation)
        advised += len(own.advice)
        assert not difference(plain(own), found)
        assert not difference([plain(sentences(one)) for one in own.advice], said)
    assert advised > 400


def test_refuses_what_it_cannot_say(tmp_path: Path) -> None:
    file = tmp_path / "odd.py"
    file.write_text("x = 1\nwith open('a') as f:\n    pass\n")
    with pytest.raises(NotTranslatable, match=r"odd.py:2: With has no translation"):
        Module(file).run()


@pytest.mark.browser
@pytest.mark.parametrize(
    ("python", "script_says"),
    [
        ("round(2.5), round(3.5), round(-2.5), round(0.125, 2)", [2, 4, -2, 0.12]),
        ("round(2.675, 2), round(1e-7, 3), round(0.05, 1)", [2.67, 0, 0.1]),
        ("7 // 2, -7 // 2, -7 % 3", [3, -4, 2]),
        ("[] or 'none', 0 or 3, 2 and 0", ["none", 3, 0]),
        ("(1, 2) == (1, 2), 1 == True, 'a' in 'cat', 3 in (1, 2)", [True, True, True, False]),
        ("{('a', 'b'): 1}[('a', 'b')], {'x': 1} | {'y': 2}", [1, {"x": 1, "y": 2}]),
        ("max([(1, 'b'), (1, 'a')]), min((3, 1), key=lambda x: -x)", [[1, "b"], 3]),
        ("sorted('banana', reverse=True)[:2], 'a-b'.split('-')[-1]", [["n", "n"], "b"]),
        ("[y for x in range(4) if (y := x * 2) > 2]", [4, 6]),
    ],
)
def test_means_the_same(
    script: Page,  # noqa: F811
    python: str,
    script_says: Any,
    tmp_path: Path,
) -> None:
    file = tmp_path / "piece.py"
    body = python if python.startswith("[y") else f"[{python}]"
    file.write_text(f"def piece():\n    return {body}\n")
    module = Module(file)
    module.run()
    lines = "\n".join(module.lines)
    body = f"const P = m; {lines}\nreturn (await import('/situation.js')).plain(piece());"
    own: dict[str, Any] = {}
    exec(file.read_text(), own)
    assert plain(own["piece"]()) == script_says
    assert call(script, "py.js", body) == script_says


def test_bands_have_all_their_limits() -> None:
    assert set(LIMITS) < set(Band.__dataclass_fields__)
