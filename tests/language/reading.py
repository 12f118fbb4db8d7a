"""What a person reads on a page, or hears: its texts and the attributes that are words."""

import re
from collections.abc import Iterable, Iterator
from html.parser import HTMLParser

WORDS = ("title", "aria-label", "aria-description", "aria-roledescription", "aria-valuetext",
         "alt", "placeholder", "label", "summary")  # fmt: skip
# texts that a script shows
SHOWN_LATER = re.compile(r"data-(?:.*-)?(?:word|done|failed|ready|sending|said)$")
SILENT = ("script", "style")
# what stands in these is a machine's name or what somebody typed
TYPED = ("code", "textarea", "kbd")
BUTTONS = ("submit", "button", "reset")


class Page(HTMLParser):
    """Gathers (where, text) of an HTML page or an SVG."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.said: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        held = {name: value or "" for name, value in attrs}
        self.said += [
            (f"{tag}[{name}]", text)
            for name, text in held.items()
            if name in WORDS or SHOWN_LATER.fullmatch(name)
        ]
        if tag == "button" or (tag == "input" and held.get("type") in BUTTONS):
            self.said += [(f"{tag}[value]", held["value"])] if tag == "input" else []
        if tag not in ("meta", "link", "img", "br", "hr", "input", "wbr", "col"):
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        depth = len(self.open)
        self.handle_starttag(tag, attrs)
        del self.open[depth:]

    def handle_endtag(self, tag: str) -> None:
        if tag in self.open:
            while self.open.pop() != tag:
                pass

    def handle_data(self, data: str) -> None:
        if data.strip() and not {*SILENT, *TYPED} & set(self.open):
            self.said.append((self.open[-1] if self.open else "", " ".join(data.split())))


def read(html: str) -> list[tuple[str, str]]:
    """Return (where, text) for all that a page says."""
    page = Page()
    page.feed(html)
    page.close()
    return page.said


def plain_words(texts: Iterable[tuple[str, str]], data: re.Pattern[str]) -> Iterator[str]:
    """Yield what stands in plain letters once the data is taken out, with where it stands."""
    for where, text in texts:
        left = data.sub(" ", text)
        if re.search(r"[A-Za-z]", left):
            yield f"{where}: {text}"
