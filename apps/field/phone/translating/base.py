"""What all parts of the translation share: the way from a node to its text, and names in scope."""

import ast
from collections.abc import Iterable
from pathlib import Path

from apps.field.phone.translating.names import BUILTINS, NotTranslatable, held, name_of


class Translator:
    """Finds the method that a kind of node has; knows which names mean something where."""

    def __init__(self, path: Path) -> None:
        """Read the module at `path`."""
        self.path = path
        self.tree = ast.parse(path.read_text(encoding="utf-8"))
        # what the module itself defines or imports from our own code
        self.known: set[str] = set()
        # {own name: (module of Python's library, name there)}, and {own name: such a module}
        self.taken: dict[str, tuple[str, str]] = {}
        self.libraries: dict[str, str] = {}
        # methods of its own classes: py.js looks at whose they are
        self.methods = {
            item.name
            for node in self.tree.body
            if isinstance(node, ast.ClassDef)
            for item in node.body
            if isinstance(item, ast.FunctionDef)
        }
        self.scopes: list[set[str]] = []
        # of the known ones those that were met
        self.used: set[str] = set()

    def unknown(self, node: ast.AST, what: str) -> NotTranslatable:
        """Return the refusal of a node."""
        line = getattr(node, "lineno", 0)
        return NotTranslatable(f"{self.path}:{line}: {what} has no translation")

    def statement(self, node: ast.stmt) -> list[str]:
        """Translate one statement into lines."""
        made = getattr(self, f"_s_{type(node).__name__.lower()}", None)
        if made is None:
            raise self.unknown(node, type(node).__name__)
        return list(made(node))

    def block(self, nodes: Iterable[ast.stmt]) -> list[str]:
        """Translate statements one after the other."""
        return [line for node in nodes for line in self.statement(node)]

    def ex(self, node: ast.expr) -> str:
        """Translate an expression."""
        made = getattr(self, f"_e_{type(node).__name__.lower()}", None)
        if made is None:
            raise self.unknown(node, type(node).__name__)
        return str(made(node))

    def is_local(self, name: str) -> bool:
        """Whether a function around, or a comprehension, gives the name its meaning."""
        return any(name in scope for scope in self.scopes)

    def name(self, node: ast.AST, name: str) -> str:
        """Return a name as JavaScript has it; one that means nothing there is refused."""
        if name == "self":
            return "this"
        if self.is_local(name):
            return name_of(name)
        if name in self.known:
            self.used.add(name)
            return name_of(name)
        if name in self.taken:
            text = held(*self.taken[name])
        else:
            text = f"P.{name_of(name)}" if name in BUILTINS else None
        if text is None:
            raise self.unknown(node, f"the name {name}")
        return text
