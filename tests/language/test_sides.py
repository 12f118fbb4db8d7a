"""Pages turn round with the direction of the reader's writing: no physical left or right in CSS."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
SHEETS = sorted((ROOT / "apps").rglob("*.css"))
PHYSICAL = re.compile(
    r"(?:^|[\s;{])("
    r"(?:margin|padding|border|scroll-margin|scroll-padding)-(?:left|right)[\w-]*\s*:"
    r"|border-(?:top|bottom)-(?:left|right)-radius\s*:"
    r"|(?:left|right)\s*:"
    r"|(?:text-align|float|clear|justify-content)\s*:\s*(?:left|right)\b"
    r")"
)
# a shorthand of four lengths names the right and the left one by their places
_LENGTH = r"[\d.][^\s;}]*"
FOUR = re.compile(rf"(?:padding|margin)\s*:\s*{_LENGTH}\s+({_LENGTH})\s+{_LENGTH}\s+({_LENGTH})")
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))


def physical(css: str) -> list[str]:
    """Physical sides in a style sheet."""
    bare = COMMENT.sub("", css)
    return [found.strip() for found in PHYSICAL.findall(bare)] + [
        found.group() for found in FOUR.finditer(bare) if found.group(1) != found.group(2)
    ]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda path: path.name)
def test_style_sheets_name_no_side(sheet: Path) -> None:
    assert physical(sheet.read_text(encoding="utf-8")) == []


def test_templates_name_no_side() -> None:
    assert len(SHEETS) > 5
    found = {}
    for path in TEMPLATES:
        text = path.read_text(encoding="utf-8")
        inline = [
            side for style in re.findall(r'style="([^"]*)"', text) for side in physical(style)
        ]
        aligned = re.findall(r'\salign="(?:left|right)"', text)
        if inline or aligned:
            found[path.name] = [*inline, *aligned]
    assert not found


def test_every_page_says_its_direction() -> None:
    roots = [path for path in TEMPLATES if "<html" in path.read_text(encoding="utf-8")]
    assert len(roots) >= 5
    for path in roots:
        head = re.search(r"<html[^>]*(?:%}[^>]*)*>", path.read_text(encoding="utf-8"))
        assert head, path.name
        assert "lang=" in head.group(), path.name
        assert "dir=" in head.group(), path.name


@pytest.mark.parametrize(
    ("css", "count"),
    [
        ("a { margin-left: 1px }", 1), ("a { text-align: right; }", 1), ("a{left:0}", 1),
        ("a { padding: 0 1px 0 2px }", 1), ("a { padding: 0 1px 3px 1px }", 0),
        ("a { margin-inline-start: 1px; inset-inline-end: 0; text-align: start }", 0),
        ("/* left: 0 */ a { border-right-width: 1px }", 1), ("@bottom-left { color: red }", 0),
    ],
)  # fmt: skip
def test_the_check_itself(css: str, count: int) -> None:
    assert len(physical(css)) == count
