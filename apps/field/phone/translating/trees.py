"""Questions to a piece of Python's syntax tree: what it stores, calls, is."""

import ast
from collections.abc import Iterable


def callee(node: ast.expr) -> str:
    """Return the plain name of what is called or decorates, else nothing."""
    if isinstance(node, ast.Call):
        node = node.func
    return node.id if isinstance(node, ast.Name) else ""


def is_number(node: ast.expr) -> bool:
    """Whether it is certainly a number."""
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult | ast.Div | ast.Pow):
        return True
    return isinstance(node, ast.Constant) and isinstance(node.value, int | float)


def is_set(node: ast.expr) -> bool:
    """Whether it is certainly a set."""
    if isinstance(node, ast.Call):
        keys = isinstance(node.func, ast.Attribute) and node.func.attr == "keys"
        return keys or callee(node) in {"set", "frozenset"}
    return isinstance(node, ast.Set | ast.SetComp)


def is_type(node: ast.stmt) -> bool:
    """Whether it only names a type: Look = Callable[[Facts], Act | None]."""
    value = node.value if isinstance(node, ast.Assign | ast.AnnAssign) else None
    if isinstance(value, ast.Subscript) and isinstance(value.value, ast.Name):
        return value.value.id in {"Callable", "Mapping", "Sequence", "tuple", "dict", "list"}
    return (
        isinstance(value, ast.BinOp)
        and isinstance(value.op, ast.BitOr)
        and not isinstance(value.left, ast.Dict | ast.Call)
        and isinstance(value.left, ast.Name)
        and value.left.id in {"float", "str", "int"}
    )


def is_protocol(node: ast.stmt) -> bool:
    """Whether it is a class that only says what others look like."""
    return isinstance(node, ast.ClassDef) and any(callee(b) == "Protocol" for b in node.bases)


def stored(nodes: Iterable[ast.AST]) -> set[str]:
    """Return the names that are assigned anywhere under the nodes."""
    return {
        item.id
        for node in nodes
        for item in ast.walk(node)
        if isinstance(item, ast.Name) and isinstance(item.ctx, ast.Store)
    }


def targets(node: ast.Assign | ast.AnnAssign) -> list[str]:
    """Return the names that an assignment gives a value."""
    return sorted(stored(node.targets if isinstance(node, ast.Assign) else [node.target]))


def defined(node: ast.stmt) -> set[str]:
    """Return the names that a statement of a module gives a meaning, imports apart."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        return {node.name}
    if isinstance(node, ast.Assign | ast.AnnAssign):
        return set(targets(node))
    return stored([node])


def locals_of(function: ast.FunctionDef) -> tuple[set[str], set[str]]:
    """Return the names that a function assigns, and those of the functions and classes in it."""
    assigned: set[str] = set()
    inner: set[str] = set()
    todo: list[ast.AST] = list(function.body)
    while todo:
        node = todo.pop()
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            inner.add(node.name)
        elif isinstance(node, ast.ListComp | ast.SetComp | ast.DictComp | ast.GeneratorExp):
            # names of a comprehension are its own; a walrus inside is the function's
            assigned |= {
                item.target.id
                for item in ast.walk(node)
                if isinstance(item, ast.NamedExpr) and isinstance(item.target, ast.Name)
            }
        elif not isinstance(node, ast.Lambda):
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
                assigned.add(node.id)
            todo += list(ast.iter_child_nodes(node))
    return assigned, inner
