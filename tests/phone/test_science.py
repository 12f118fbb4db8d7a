"""The telephone's science is the server's: the same answers, to the last printed digit."""

import re
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from playwright.sync_api import Page

from apps.calc.advice.registry import RULES
from apps.calc.advice.sentences import sentences
from apps.calc.judgement import Band
from apps.field.phone.bundle import TARGET, collect, written
from apps.field.phone.translate import Module
from apps.field.phone.translating.expressions import DYNAMIC
from apps.field.phone.translating.names import (
    BUILTINS,
    FROM_DJANGO,
    KEYWORDED,
    LIBRARY,
    MATH_WORK,
    METHODS,
    NotTranslatable,
    name_of,
)
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


@pytest.mark.parametrize(
    ("python", "what"),
    [
        ("with open('a') as f:\n    pass", "With"),
        ("def f():\n    return blunder", "the name blunder"),
        ("from statistics import NormalDist\ndef f():\n    return NormalDist()", "the name NormalDist"),
        ("import math\ndef f(x):\n    return math.erf(x)", r"the name math\.erf"),
        ("import random\ndef f():\n    return random.random()", "the name random"),
        ("from django.db import models\ndef f():\n    return models", "the name models"),
        ("def f(x):\n    return x.title()", "the method title"),
        ("def f(x):\n    return x.strip('.')", "strip with 1 arguments"),
        ("def f(x):\n    return x.split(',', 1)", "split with 2 arguments"),
        ("def f(x):\n    return sum(x, start=1)", "sum with a named argument"),
        ("def f(x):\n    a = b = x\n    return a", "one value for several targets"),
        ("def f(x):\n    return f'{x!a}'", "!a in a text"),
        ("def f(x):\n    try:\n        return 1 / x\n    except ZeroDivisionError:\n        return 0",
         "the name ZeroDivisionError"),
    ],
)  # fmt: skip
def test_refuses_what_it_cannot_say(tmp_path: Path, python: str, what: str) -> None:
    file = tmp_path / "odd.py"
    file.write_text(f"x = 1\n{python}\n")
    with pytest.raises(NotTranslatable, match=rf"odd\.py:\d+: {what} has no translation"):
        Module(file).run()


def test_a_name_of_a_function_hides_one_of_python(tmp_path: Path) -> None:
    file = tmp_path / "own.py"
    file.write_text("import html\ndef f(html, list):\n    return html.tag, list\n")
    module = Module(file)
    module.run()
    assert "return [html.tag, list];" in module.lines[0]


def test_a_name_of_the_science_never_hides_what_stands_in_for_python(tmp_path: Path) -> None:
    """P is phosphorus to the science, and all of py.js to its translation."""
    file = tmp_path / "own.py"
    file.write_text('P = 30.974\nSHARE = {"po4": P / 94.97}\n')
    module = Module(file)
    module.run()
    assert "let P_ = 30.974;" in module.lines
    assert 'let SHARE = P.dict([["po4", (P_ / 94.97)]]);' in module.lines


def test_takes_what_is_asked_for_and_what_that_rests_on() -> None:
    modules = collect()
    taken = set(modules["apps.calc.statistics"].names)
    assert {"theil_sen"} <= taken
    assert not taken & {"wilson", "hampel_outliers"}, "no screen asks for these"
    with pytest.raises(LookupError, match=r"apps\.calc\.reading has no glance"):
        collect({"apps.calc.reading": ("glance",)})


@pytest.mark.browser
def test_registers_every_rule_of_the_server(script: Page) -> None:  # noqa: F811
    rules = "return m.M['apps.calc.advice.registry'].RULES.keys();"
    assert call(script, "science.js", rules) == list(RULES)


@pytest.mark.browser
def test_py_js_holds_every_name_that_the_translation_uses(script: Page) -> None:  # noqa: F811
    words = "return [Object.keys(m), Object.keys(m.m), Object.keys(m.kw), Object.keys(m.math)];"
    names, methods, keyworded, math = map(set, call(script, "py.js", words))
    wanted = set(re.findall(r"\bP\.(\w+)", TARGET.read_text()))
    wanted |= {name_of(name) for name in BUILTINS | FROM_DJANGO} | set(DYNAMIC.values())
    for module, taken in LIBRARY.items():
        wanted |= taken if module != "math" else set()
    assert wanted <= names
    assert set(METHODS) == methods
    assert keyworded == KEYWORDED
    assert math == MATH_WORK


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
        (
            "f'{1.25:.1f} {str(2)!r} {2}', dict.fromkeys('ab', 0), [1, 2].pop()",
            ["1.2 '2' 2", {"a": 0, "b": 0}, 2],
        ),
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
