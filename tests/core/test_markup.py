"""The check of markup finds what it is there for, and nothing in a sound page."""

import pytest

from tests.markup import faults

PAGE = '<!doctype html><html lang="en"><head><title>A</title></head><body>{}</body></html>'


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("<p>a<div>b</div></p>", "unexpected-end-tag"),
        ("<select><option>NH<sub>4</sub></option></select>", "in-select"),
        ("<table><p>x</p></table>", "table-voodoo"),
        ('<p id="a" id="b">x</p>', "duplicate-attribute"),
        ('<p id="a">x</p><p id="a">y</p>', "stands 2 times"),
        ('<label for="gone">x</label>', "nowhere"),
        ('<p aria-describedby="gone">x</p>', "nowhere"),
        ("<span><ul><li>x</li></ul></span>", "ul stands in"),
        ('<a href="/"><button>x</button></a>', "pressed inside"),
        ("<ul><p>x</p></ul>", "p is a child of ul"),
        ('<img src="x.png">', "no alt"),
        ("<center>x</center>", "obsolete"),
        ("<form><p><b>x</p></b></form>", "adoption"),
    ],
)
def test_faults(body: str, said: str) -> None:
    assert any(said in text for text in faults(PAGE.format(body))), faults(PAGE.format(body))


def test_a_sound_page() -> None:
    body = '<main><h1>A</h1><p>b <b>c</b></p><ul><li><p>d</p></li></ul><label for="e">f</label><input id="e"></main>'
    assert faults(PAGE.format(body)) == ()


def test_a_page_says_its_language_and_title() -> None:
    bare = "<!doctype html><html><head><title> </title></head><body></body></html>"
    assert faults(bare) == ("the page has no language", "the page has no title")
    assert any("doctype" in text for text in faults(bare.removeprefix("<!doctype html>")))
