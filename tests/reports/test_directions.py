"""Papers that are read from right to left: columns, values, letters of drawings, text that comes out."""

import io
import unicodedata
from typing import Any

import pytest
from pypdf import PdfReader

from apps.core.numbers import END, FIRST_STRONG, run, with_unit
from apps.reports.rendering.arabic import for_paper
from apps.reports.rendering.pdf import html_to_pdf

PAGE = """<!doctype html><html lang="{code}" dir="{side}"><head><title>x</title>
<style>@page {{ size: 200mm 100mm; margin: 10mm }} .g {{ display: grid; grid-template-columns: {columns} }}</style>
</head><body>{body}</body></html>"""


def page(body: str, side: str = "rtl", columns: str = "40mm 1fr", code: str = "ar") -> PdfReader:
    html = PAGE.format(code=code, side=side, columns=columns, body=body)
    return PdfReader(io.BytesIO(html_to_pdf(html, {})))


def places(reader: PdfReader) -> dict[str, float]:
    """Where words begin, from the left [pt]."""
    found: dict[str, float] = {}

    def visit(text: str, matrix: Any, inner: Any, *_more: Any) -> None:
        if text.strip():
            found[text.strip()] = inner[4] * matrix[0] + matrix[4]

    reader.pages[0].extract_text(visitor_text=visit)
    return found


@pytest.mark.pdf
@pytest.mark.parametrize(("side", "turned"), [("ltr", False), ("rtl", True)])
def test_a_grid_turns_round(side: str, turned: bool) -> None:
    cells = "".join(f"<div>{word}</div>" for word in ("aaa", "bbb", "ccc", "ddd"))
    at = places(page(f'<div class="g">{cells}</div>', side))
    assert (at["aaa"] > at["bbb"]) == turned
    assert (at["ccc"] > at["ddd"]) == turned
    # the narrow column stays the first one
    wide = 200 * 72 / 25.4
    mm = 72 / 25.4
    assert 120 * mm < at["bbb"] < 150 * mm if turned else 49 * mm < at["bbb"] < 60 * mm
    assert all(0 < x < wide for x in at.values())


@pytest.mark.pdf
def test_a_grid_inside_of_a_grid_turns_round_once() -> None:
    inner = '<div class="g"><div>ccc</div><div>ddd</div></div>'
    at = places(page(f'<div class="g"><div>aaa</div>{inner}</div>'))
    assert at["aaa"] > at["ccc"] > at["ddd"]


@pytest.mark.pdf
def test_arabic_comes_out_as_it_was_written() -> None:
    words = "الماء بخير والأسماك بخير"
    said = page(f"<p style=\"font-family:'Noto Sans Arabic'\">{words}</p>").pages[0].extract_text()
    plain = unicodedata.normalize("NFKC", said)
    assert set(words.split()) <= set(plain.split())


def test_values_are_runs_of_their_own_from_right_to_left_only() -> None:
    from django.utils import translation

    with translation.override("ar"):
        assert with_unit("18", "g").startswith(f"{FIRST_STRONG}18")
        assert run("31 Quarry Lane") == f"{FIRST_STRONG}31 Quarry Lane{END}"
        assert run("") == ""
    with translation.override("es"):
        assert run("31 Quarry Lane") == "31 Quarry Lane"


def test_letters_of_drawings_are_joined_and_in_the_order_they_are_seen() -> None:
    # the forms of Unicode's Arabic Presentation Forms-B: hah initial, waw final, dad isolated
    assert for_paper("<text>حوض</text>") == "<text>\ufebd\ufeee\ufea3</text>"
    assert for_paper("<title>حوض</title>") == "<title>حوض</title>"
    assert for_paper("<text>5 mg/L</text>") == "<text>5 mg/L</text>"
    assert for_paper(f"<text>{FIRST_STRONG}5 g{END}</text>") == "<text>5 g</text>"
    assert for_paper("<text>حوض &amp; 2</text>") == "<text>2 &amp; \ufebd\ufeee\ufea3</text>"
    assert for_paper("<p>أولًا حوض</p>") == "<p>أولا حوض</p>"
