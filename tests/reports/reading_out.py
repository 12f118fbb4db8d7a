"""What a report says, as sentences: taken from the page that is drawn, tag by tag."""

import re
from html.parser import HTMLParser

BLOCKS = {
    "p", "li", "h1", "h2", "h3", "th", "td", "div", "section", "figcaption", "figure", "tr", "ul",
    "ol", "table", "thead", "tbody", "title", "head", "body",
}  # fmt: skip
# cautions say the same each time, and must; the head and foot of a page are no sentences
CAUTIONS = {"cautions", "night", "stop"}
APART = {"foot", "page-word", "head", "when"}
END = re.compile(r"(?<=[.?!])\s+")


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[tuple[str, str]] = []
        self.parts: list[tuple[str, str]] = []
        self.text: list[str] = []

    def _flush(self) -> None:
        text = " ".join("".join(self.text).replace("\xa0", " ").split())
        if text:
            kinds = {kind for _tag, kind in self.open if kind}
            kind = "apart" if "apart" in kinds else "caution" if "caution" in kinds else ""
            self.parts.append((kind, text))
        self.text = []

    def _breaks(self, tag: str) -> bool:
        return tag in BLOCKS or (tag == "span" and not any(t == "p" for t, _k in self.open))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in {"meta", "link", "br", "img"}:
            return
        if self._breaks(tag):
            self._flush()
        classes = set((dict(attrs).get("class") or "").split())
        drawn = tag in {"svg", "title", "style"}
        kind = "apart" if drawn or classes & APART else "caution" if classes & CAUTIONS else ""
        self.open.append((tag, kind))

    def handle_endtag(self, tag: str) -> None:
        if tag in {"meta", "link", "br", "img"}:
            return
        if self._breaks(tag) or tag == "svg":
            self._flush()
        while self.open and self.open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def sentences(html: str) -> tuple[list[str], list[str]]:
    """Return (what the report says, its cautions): sentence by sentence, labels among the first."""
    reader = _Reader()
    reader.feed(html)
    said: dict[str, list[str]] = {"": [], "caution": []}
    for kind, text in reader.parts:
        if kind in said:
            said[kind] += [part for part in END.split(text) if part]
    return said[""], said["caution"]


def words_in(sentence: str) -> int:
    """Return how many words a sentence has; a figure is one."""
    return sum(any(char.isalnum() for char in word) for word in sentence.split())
