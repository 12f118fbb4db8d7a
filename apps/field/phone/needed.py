"""What of the science a phone needs: the names that its screens ask for, and all that those rest on."""

import ast
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from apps.field.phone.translate import Module
from apps.field.phone.translating.names import UNSAID
from apps.field.phone.translating.trees import callee, defined

# what only says of which type something is
UNREAD = ("annotation", "returns")


@dataclass
class Needed:
    """The statements of each module that are needed, found from the names that are asked for."""

    modules: Mapping[str, Module]
    statements: dict[str, set[ast.stmt]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Take what acts by itself when a module is loaded: a rule that registers."""
        self.statements = {name: set() for name in self.modules}
        self._todo: list[tuple[str, ast.stmt]] = [
            (name, node)
            for name, module in self.modules.items()
            for node in module.statements()
            if _acts(node)
        ]
        self._work()

    def ask(self, module: str, names: Iterable[str]) -> None:
        """Take the definitions of names, and of all that they rest on."""
        for name in names:
            if not self._find(module, name):
                raise LookupError(f"{module} has no {name} that a phone could ask for")
        self._work()

    def _work(self) -> None:
        while self._todo:
            module, node = self._todo.pop()
            if node in self.statements[module]:
                continue
            self.statements[module].add(node)
            for name, inner in _uses(node):
                self._use(module, name, inner)
            for name in defined(node) & set(self.modules[module].given):
                for used in self.modules[module].given[name].rests_on:
                    self._find(module, used)

    def _use(self, module: str, name: str, inner: str) -> None:
        for package, there, own in self.modules[module].imports:
            if own != name:
                continue
            whole = f"{package}.{there}"
            if whole in self.modules and inner:
                self._find(whole, inner)
            elif whole in self.modules:
                # handed on as it is: any of its names may be asked for
                self._todo += [(whole, one) for one in self.modules[whole].statements()]
            elif package in self.modules:
                self._find(package, there)
            return
        self._find(module, name)

    def _find(self, module: str, name: str) -> bool:
        found = [node for node in self.modules[module].statements() if name in defined(node)]
        self._todo += [(module, node) for node in found]
        return bool(found)


def _acts(node: ast.stmt) -> bool:
    """Whether a statement of a module does more than to define."""
    if isinstance(node, ast.FunctionDef):
        return any(callee(decorator) not in UNSAID for decorator in node.decorator_list)
    if isinstance(node, ast.Assign):
        return not all(isinstance(target, ast.Name | ast.Tuple) for target in node.targets)
    if isinstance(node, ast.Expr):
        return not isinstance(node.value, ast.Constant)
    return not isinstance(node, ast.ClassDef | ast.AnnAssign)


def _uses(node: ast.AST) -> Iterator[tuple[str, str]]:
    """Yield the names that are read under a node, each with the attribute that is taken of it."""
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        yield node.value.id, node.attr
        return
    if isinstance(node, ast.Name):
        yield node.id, ""
    for part, value in ast.iter_fields(node):
        if part in UNREAD:
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield from _uses(child)
