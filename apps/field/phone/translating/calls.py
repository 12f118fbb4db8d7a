"""Calls: of functions, classes, methods, with names or without."""

import ast
import json

from apps.field.phone.translating.expressions import Expressions
from apps.field.phone.translating.names import FOREIGN, KEYWORDED, METHODS
from apps.field.phone.translating.trees import callee


def _makes(name: str) -> bool:
    """Whether a name is written as a class is."""
    return name[:1].isupper() or (name[:1] == "_" and name[1:2].isupper())


class Calls(Expressions):
    """What is called; a class is made by py.js, which knows its fields."""

    def _e_call(self, node: ast.Call) -> str:
        args = ", ".join(self.ex(arg) for arg in node.args)
        if isinstance(node.func, ast.Attribute):
            return self._method_call(node, node.func, args)
        if callee(node) == "isinstance":
            kinds = ", ".join(self._kinds(node.args[1]))
            return f"P.isinstance({self.ex(node.args[0])}, [{kinds}])"
        function = self.ex(node.func)
        if node.keywords and function.startswith("P."):
            if function[2:] not in KEYWORDED:
                raise self.unknown(node, f"{callee(node)} with a named argument")
            return f"P.kw.{function[2:]}([{args}], {self._keywords(node)})"
        if node.keywords:
            return f"P.call({function}, [{args}], {self._keywords(node)})"
        if isinstance(node.func, ast.Name) and _makes(node.func.id):
            return f"P.make({function}, [{args}])"
        return f"{function}({args})"

    def _kinds(self, node: ast.expr) -> list[str]:
        if isinstance(node, ast.BinOp):
            return [*self._kinds(node.left), *self._kinds(node.right)]
        if isinstance(node, ast.Tuple):
            return [kind for item in node.elts for kind in self._kinds(item)]
        return [self.ex(node)]

    def _method_call(self, node: ast.Call, func: ast.Attribute, args: str) -> str:
        if self.library_of(func.value):
            return f"{self.ex(func)}({args})"
        if func.attr == "fromkeys" and callee(func.value) == "dict":
            return f"P.fromkeys({args})"
        owner, name = self.ex(func.value), json.dumps(func.attr)
        if owner != "this" and func.attr not in self.methods:
            self._check_method(node, func)
        if node.keywords:
            return f"P.call_method({owner}, {name}, [{args}], {self._keywords(node)})"
        if func.attr in METHODS and owner != "this":
            return f"P.m.{func.attr}({owner}{', ' if args else ''}{args})"
        if _makes(func.attr):
            return f"P.make({owner}.{func.attr}, [{args}])"
        return f"{owner}.{func.attr}({args})"

    def _check_method(self, node: ast.Call, func: ast.Attribute) -> None:
        """Refuse what py.js has no such method for, or would take with an argument too few."""
        if func.attr in FOREIGN:
            raise self.unknown(node, f"the method {func.attr}")
        least, most = METHODS.get(func.attr, (0, 99))
        given = len(node.args) + len(node.keywords)
        starred = any(isinstance(arg, ast.Starred) for arg in node.args)
        if not starred and not least <= given <= most:
            raise self.unknown(node, f"{func.attr} with {given} arguments")

    def _keywords(self, node: ast.Call) -> str:
        parts = [
            f"...P.plain({self.ex(word.value)})"
            if word.arg is None
            else f"{json.dumps(word.arg)}: {self.ex(word.value)}"
            for word in node.keywords
        ]
        return f"{{{', '.join(parts)}}}"
