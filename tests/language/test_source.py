"""What the pages cannot show: every sentence in the source that a person may read is marked."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from apps.catalogue.management.commands.makemessages import ALIASES

ROOT = Path(__file__).resolve().parent.parent.parent
GETTEXT = {
    "_", *ALIASES, "gettext", "gettext_lazy", "gettext_noop", "ngettext", "ngettext_lazy", "pgettext",
    "pgettext_lazy", "npgettext",
}  # fmt: skip
# what carries words to a reader: errors, a form's answers, messages
TELLING = {
    "DomainError", "Invalid", "Conflict", "StaleVersion", "VersionMissing", "Forbidden", "NotFound",
    "TooMany", "DoubleBooked", "BadAnswer", "_Bad", "_refuse", "refuse", "BadRequest",
    "ValidationError", "ParseError", "AuthenticationFailed", "PermissionDenied", "add_error",
    "problem", "success", "info", "warning", "error",
}  # fmt: skip
KEYWORDS = {"message", "label", "help_text", "violation_error_message", "heading", "lead", "text",
            "button", "empty_label"}  # fmt: skip
# read by an administrator at a terminal, in a log or in the API's document
NOT_READ = ("management", "migrations", "calc", "demo")
SELF_TALK = {
    "apps/core/checks.py", "apps/core/openapi.py", "apps/core/outbox.py", "apps/core/triggers.py",
    "apps/field/phone/translate.py",
}  # fmt: skip


def sources() -> list[Path]:
    """Our Python, without what no reader sees."""
    return [
        path
        for path in sorted((ROOT / "apps").rglob("*.py"))
        if not set(NOT_READ) & set(path.relative_to(ROOT).parts)
        and str(path.relative_to(ROOT)) not in SELF_TALK
    ]


def name_of(call: ast.Call) -> str:
    """The name of what is called."""
    return call.func.id if isinstance(call.func, ast.Name) else getattr(call.func, "attr", "")


def says(node: ast.AST) -> bool:
    """Whether a string holds words: a space with a letter on each side of it."""
    text = ""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        text = node.value
    elif isinstance(node, ast.JoinedStr):
        text = "".join(part.value for part in node.values if isinstance(part, ast.Constant))
    words = [word for word in text.replace("{", " ").split() if any(c.isalpha() for c in word)]
    return len(words) > 1


def bare(node: ast.AST) -> Iterator[ast.AST]:
    """Yield sentences under a node that stand outside any call of gettext."""
    if isinstance(node, ast.Call) and name_of(node) in GETTEXT:
        return
    if says(node):
        yield node
        return
    for child in ast.iter_child_nodes(node):
        yield from bare(child)


def unmarked(tree: ast.AST) -> Iterator[ast.AST]:
    """Yield sentences for readers that no gettext call holds."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            if name_of(node) in TELLING:
                for held in (*node.args, *(kw.value for kw in node.keywords)):
                    yield from bare(held)
            for keyword in node.keywords:
                if keyword.arg in KEYWORDS:
                    yield from bare(keyword.value)
        elif isinstance(node, ast.Dict):
            for key, value in zip(node.keys, node.values, strict=True):
                if isinstance(key, ast.Constant) and key.value in KEYWORDS:
                    yield from bare(value)
        elif isinstance(node, ast.Assign):
            names = {target.id for target in node.targets if isinstance(target, ast.Name)}
            if names & {"message", "text", "sentence"}:
                yield from bare(node.value)


def shown(path: Path, nodes: Iterator[ast.AST]) -> set[str]:
    """Where each stands and what it says."""
    return {
        f"{path.relative_to(ROOT)}:{node.lineno} {ast.unparse(node)[:90]}"  # type: ignore[attr-defined]
        for node in nodes
    }


def test_sentences_for_readers_go_through_gettext() -> None:
    found = set()
    for path in sources():
        found |= shown(path, unmarked(ast.parse(path.read_text(encoding="utf-8"))))
    assert not found, "\n".join(sorted(found))


def moving(tree: ast.AST) -> Iterator[ast.AST]:
    """Yield gettext calls whose text is put together before it is looked up: nobody finds it."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and name_of(node) in GETTEXT:
            for argument in node.args[:2]:
                parts = list(ast.walk(argument))
                joins = any(isinstance(part, ast.JoinedStr) for part in parts)
                adds = isinstance(argument, ast.BinOp) and any(map(says, parts))
                formats = any(isinstance(p, ast.Call) and name_of(p) == "format" for p in parts)
                if joins or adds or formats:
                    yield node


def test_no_text_is_put_together_before_it_is_looked_up() -> None:
    found = set()
    for path in sorted((ROOT / "apps").rglob("*.py")):
        found |= shown(path, moving(ast.parse(path.read_text(encoding="utf-8"))))
    assert not found, "\n".join(sorted(found))


def test_gettext_has_no_name_that_makemessages_does_not_know() -> None:
    found = {
        alias.asname
        for path in sorted((ROOT / "apps").rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom) and node.module == "django.utils.translation"
        for alias in node.names
        if alias.asname
    }
    assert found <= {"_", *ALIASES}


@pytest.mark.parametrize(
    ("source", "count"),
    [
        ('raise Conflict("It has ended already.")', 1),
        ('raise Conflict(f"{name} has ended")', 1),
        ('raise Conflict(_("%(name)s has ended") % {"name": name}, "ended")', 0),
        ('Invalid([{"pointer": "/x", "message": "x: say why not"}])', 1),
        ('Invalid([{"pointer": "/x", "message": f"x: {_(\'say why not\')}"}])', 0),
        ('forms.CharField(label="Name of it")', 1),
    ],
)
def test_the_check_itself(source: str, count: int) -> None:
    assert len({node.lineno for node in unmarked(ast.parse(source))}) == count  # type: ignore[attr-defined]
