"""Arabic on paper: drawings with joined letters in the order in which they are seen; text to copy.

WeasyPrint 70 sets the text of a drawing letter by letter from left to right, so that Arabic stands
apart and backwards there. In the text around drawings it does not; but where a vowel sign stands on
a letter, it tells the file the wrong letters for its shapes, and what is copied or read aloud comes
out spoilt. Print does without these signs, as Arabic mostly does.
"""

import html
import re

from arabic_reshaper import reshape
from bidi.algorithm import get_display

_TEXT = re.compile(r"<text\b[^>]*>.*?</text>", re.DOTALL)
# what holds a run together says nothing where letters are set one by one
_RUNS = re.compile("[\u2066-\u2069]")
_ARABIC = re.compile(r">([^<>]*[\u0600-\u06ff][^<>]*)<")
# fathatan to sukun
_VOWELS = re.compile("[\u064b-\u0652]")


def for_paper(page: str) -> str:
    """Return a page of HTML whose Arabic can be drawn and read out; all else as it was.

    >>> for_paper('<svg><text x="1">حوض 20</text></svg><p>أولًا</p>') == (
    ...     '<svg><text x="1">20 \ufebd\ufeee\ufea3</text></svg><p>أولا</p>'
    ... )
    True
    """
    page = _VOWELS.sub("", page)
    return _TEXT.sub(lambda text: _ARABIC.sub(_seen, _RUNS.sub("", text.group())), page)


def _seen(found: re.Match[str]) -> str:
    words = reshape(html.unescape(found.group(1)))
    return f">{html.escape(get_display(words), quote=False)}<"
