"""The science in JavaScript: one module of plain Python, statement by statement.

The science floor is written in a small part of Python (functions, frozen dataclasses,
comprehensions, no clock, no files). This module turns just that part into JavaScript that means
the same; what it does not know it refuses, with the line: a statement, a method, a name that
means nothing there. `py.js` holds what the two languages do differently: truth, equality,
membership, rounding, dictionaries with tuples as keys. `translating/` holds the parts.
"""

import ast
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from apps.field.phone.translating.calls import Calls
from apps.field.phone.translating.functions import Functions
from apps.field.phone.translating.names import FROM_DJANGO, LIBRARY, name_of
from apps.field.phone.translating.statements import Statements
from apps.field.phone.translating.trees import defined, is_protocol, is_type


@dataclass(frozen=True)
class Given:
    """A definition that stands ready made in JavaScript, and the names of the module in it."""

    text: str
    rests_on: frozenset[str]


class Module(Statements, Functions, Calls):
    """One Python module on its way to JavaScript."""

    def __init__(self, path: Path, given: Mapping[str, Given] | None = None) -> None:
        """Read `path`. `given`: names whose values stand in ready JavaScript instead."""
        super().__init__(path)
        self.given = given or {}
        self.imports: list[tuple[str, str, str]] = []
        self.lines: list[str] = []
        self.names: list[str] = []
        for node in self.tree.body:
            if isinstance(node, ast.Import | ast.ImportFrom):
                self._import(node)
            else:
                self.known |= defined(node)

    def _import(self, node: ast.Import | ast.ImportFrom) -> None:
        for alias, own, package in _imported(node):
            if package.startswith("apps."):
                self.imports.append((package, alias.name, own))
                self.known.add(own)
            elif package.startswith("django.") and alias.name in FROM_DJANGO:
                self.known.add(own)
            elif package in LIBRARY:
                self.taken[own] = (package, alias.name)
            elif not package and alias.name in LIBRARY:
                self.libraries[own] = alias.name
            # any other name may say a type; where it is used it is refused

    def statements(self) -> Iterator[ast.stmt]:
        """Yield what means something at run time: no import, no type."""
        for node in self.tree.body:
            said = isinstance(node, ast.Import | ast.ImportFrom) or is_type(node)
            if not said and not is_protocol(node):
                yield node

    def run(self, wanted: Collection[ast.stmt] | None = None) -> None:
        """Translate the module, or the `wanted` of its statements; `lines` and `names` hold it."""
        for node in self.statements():
            if wanted is None or node in wanted:
                self._top(node)
        self.lines[:0] = self._from_django()

    def _from_django(self) -> Iterator[str]:
        for node in self.tree.body:
            for alias, own, package in _imported(node):
                if package.startswith("django.") and own in self.used:
                    yield f"const {name_of(own)} = P.{alias.name};"

    def _top(self, node: ast.stmt) -> None:
        new = sorted(name_of(n) for n in defined(node) if name_of(n) not in self.names)
        self.names += new
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            if node.name in self.given:
                self.lines.append(f"const {name_of(node.name)} = {self.given[node.name].text};")
                return
            self.lines += self.statement(node)
            return
        lines = self.statement(node)
        if len(new) == 1 and lines and lines[0].startswith(f"{new[0]} = "):
            lines[0] = f"let {lines[0]}"
        elif new:
            lines.insert(0, f"let {', '.join(new)};")
        self.lines += lines


def _imported(node: ast.stmt) -> Iterator[tuple[ast.alias, str, str]]:
    """Yield what an import brings: as it is written, its name here, the package ("" for none)."""
    if isinstance(node, ast.Import | ast.ImportFrom):
        package = (node.module or "") if isinstance(node, ast.ImportFrom) else ""
        for alias in node.names:
            yield alias, alias.asname or alias.name, package
