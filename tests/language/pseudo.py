"""A language that nobody speaks: every text that went through gettext comes back marked.

Each Latin letter is replaced by a look-alike with a mark ("Due" -> "⟦Ḓŭḗ⟧"), except in placeholders,
tags and entities. What still stands in plain ASCII letters on a page never met gettext.
"""

import gettext
import re
from typing import Any

CODE = "xx"
PLAIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
MARKED = "ȧƀƈḓḗƒɠħīĵķŀḿƞǿƥɋřşŧŭṽẇẋẏẑȦƁƇḒḖƑƓĦĪĴĶĿḾȠǾƤɊŘŞŦŬṼẆẊẎẐ"
_MARKS = str.maketrans(PLAIN, MARKED)
# %(name)s, %%, {name}, <tag>, &entity;
_KEPT = re.compile(r"%\(\w+\)[-+ #0]*\d*(?:\.\d+)?[a-z]|%[sdrfg%]|\{[^{}]*\}|</?\w[^<>]*>|&#?\w+;")
# patterns of dates are for Babel, not for readers
_NOT_WORDS = ("date pattern",)
_CONTEXT = "\x04"


def marked(text: str) -> str:
    """Return a text as its translation into the pseudo language.

    >>> marked("%(count)d days late")
    '⟦%(count)d ḓȧẏş ŀȧŧḗ⟧'
    """
    context, _mark, words = text.rpartition(_CONTEXT)
    if not words or context in _NOT_WORDS:
        return words
    parts, at = [], 0
    for kept in _KEPT.finditer(words):
        parts += [words[at : kept.start()].translate(_MARKS), kept.group()]
        at = kept.end()
    return f"⟦{''.join(parts)}{words[at:].translate(_MARKS)}⟧"


class Pseudo(gettext.NullTranslations):
    """Stands where Django keeps a language's catalogue; `seen` holds what was asked for."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: set[str] = set()

    def language(self) -> str:
        return CODE

    def to_language(self) -> str:
        return CODE

    def gettext(self, message: str) -> str:
        self.seen.add(message)
        return marked(message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        self.seen.add(msgid1)
        return marked(msgid1 if n == 1 else msgid2)


def install(monkeypatch: Any, settings: Any) -> Pseudo:
    """Make the pseudo language that of the whole process, until the test ends."""
    from django.utils import translation
    from django.utils.translation import trans_real

    pseudo = Pseudo()
    monkeypatch.setitem(trans_real._translations, CODE, pseudo)
    monkeypatch.setattr(trans_real, "_default", pseudo)
    settings.LANGUAGE_CODE = CODE
    translation.activate(CODE)
    return pseudo
