"""Whether what a client gets is HTML as the standard has it: pages, letters, and what PDFs are drawn of.

First the parse errors of the WHATWG's own parsing algorithm (tinyhtml5, the parser that WeasyPrint
reads with), then what a tree must hold: ids once, references that lead somewhere, no block where
only words may stand, nothing to press inside of what is pressed.
"""

from collections import Counter
from functools import lru_cache
from typing import Any

from tinyhtml5.parser import HTMLParser

# HTML Living Standard, content models; read
WORDS_ONLY = {
    "p", "h1", "h2", "h3", "h4", "h5", "h6", "span", "b", "i", "em", "strong", "small", "sub", "sup",
    "label", "button", "bdi", "abbr", "time", "pre",
}  # fmt: skip
WORDS_AND_HEADINGS = {"legend", "summary"}
HEADINGS = {"h1", "h2", "h3", "h4", "h5", "h6"}
BLOCKS = HEADINGS | {
    "div", "p", "ul", "ol", "dl", "table", "form", "fieldset", "section", "article", "aside", "nav",
    "header", "footer", "main", "address", "blockquote", "figure", "hr", "pre", "details", "dialog",
}  # fmt: skip
PRESSED = {"a", "button", "select", "textarea", "input", "details", "label"}
CHILDREN = {
    "ul": {"li"}, "ol": {"li"}, "dl": {"dt", "dd", "div"}, "tr": {"td", "th"},
    "thead": {"tr"}, "tbody": {"tr"}, "select": {"option", "optgroup", "hr"},
    "table": {"caption", "colgroup", "thead", "tbody", "tfoot", "tr"},
}  # fmt: skip
# takes no place in a list of children
ANYWHERE = {"script", "template"}
OBSOLETE = {"center", "font", "big", "tt", "strike", "marquee", "acronym", "frame", "frameset"}
REFERENCES = (
    "for",
    "aria-describedby",
    "aria-labelledby",
    "aria-controls",
    "list",
    "headers",
    "form",
)


@lru_cache(maxsize=512)
def faults(html: str) -> tuple[str, ...]:
    """Return what is wrong with a whole page, each once."""
    parser = HTMLParser(namespace_html_elements=False)
    root = parser.parse(html)
    found = [f"{code} {dict(values)} at {place}" for place, code, values in parser.errors]
    found += _names(root)
    _walk(root, (), found)
    return tuple(dict.fromkeys(found))


def _names(root: Any) -> list[str]:
    every = [item for item in root.iter() if isinstance(item.tag, str)]
    ids = Counter(item.get("id") for item in every if item.get("id") is not None)
    found = [f"id {name!r} stands {count} times" for name, count in ids.items() if count > 1]
    found += [f"id {name!r} is no name" for name in ids if not name or " " in name]
    for item in every:
        for kind in REFERENCES:
            for name in (item.get(kind) or "").split():
                if name not in ids:
                    found.append(f"{kind} of {item.tag} leads to {name!r}, which is nowhere")
    if root.tag != "html" or not root.get("lang"):
        found.append("the page has no language")
    titles = [item for head in root.iter("head") for item in head.iter("title")]
    if len(titles) != 1 or not (titles[0].text or "").strip():
        found.append("the page has no title")
    return found


def _walk(item: Any, above: tuple[str, ...], found: list[str]) -> None:
    tag = item.tag
    if not isinstance(tag, str):
        return
    if tag in OBSOLETE:
        found.append(f"{tag} is obsolete")
    if tag == "img" and item.get("alt") is None:
        found.append(f"img {item.get('src')!r} has no alt")
    inside = set(above)
    if tag in BLOCKS and (
        inside & WORDS_ONLY or (inside & WORDS_AND_HEADINGS and tag not in HEADINGS)
    ):
        found.append(f"{tag} stands in {' > '.join(above)}")
    if tag in PRESSED and inside & {"a", "button"}:
        found.append(f"{tag} is pressed inside of {' > '.join(above)}")
    if (tag == "label" and "label" in inside) or (tag == "form" and "form" in inside):
        found.append(f"{tag} in {tag}")
    allowed = CHILDREN.get(tag)
    for child in item:
        if allowed and isinstance(child.tag, str) and child.tag not in allowed | ANYWHERE:
            found.append(f"{child.tag} is a child of {tag}")
        if tag != "svg":
            _walk(child, (*above, tag), found)
