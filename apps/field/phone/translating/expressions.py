"""Expressions: operators, comparisons, containers, comprehensions, text."""

import ast
import json

from apps.field.phone.translating.base import Translator
from apps.field.phone.translating.names import METHODS, held
from apps.field.phone.translating.trees import callee, is_number, is_set, stored

BINARY = {ast.Mult: "*", ast.Div: "/", ast.Pow: "**"}
DYNAMIC = {
    ast.Add: "add",
    ast.Sub: "sub",
    ast.BitOr: "or_",
    ast.BitAnd: "and_",
    ast.Mod: "mod",
    ast.FloorDiv: "floordiv",
}
COMPARE = {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">="}


def _guard(text: str) -> str:
    """JavaScript takes no bare minus at the left of **."""
    return f"({text})" if text.startswith("-") else text


class Expressions(Translator):
    """What has a value, calls and lambdas apart."""

    def truth(self, node: ast.expr) -> str:
        """Translate an expression of which only the truth counts."""
        if isinstance(node, ast.BoolOp):
            sign = " && " if isinstance(node.op, ast.And) else " || "
            return "(" + sign.join(self.truth(value) for value in node.values) + ")"
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            return f"!{self.truth(node.operand)}"
        if isinstance(node, ast.Compare) or callee(node) in {"any", "all", "isinstance"}:
            return f"({self.ex(node)})"
        return f"P.t({self.ex(node)})"

    def returned(self, node: ast.expr) -> str:
        """Translate what an arrow gives back: a brace there would open a block."""
        text = self.ex(node)
        return f"({text})" if text.startswith("{") else text

    def target(self, node: ast.expr) -> str:
        """Return what may stand at the left of an assignment."""
        if isinstance(node, ast.Name):
            return self.name(node, node.id)
        if isinstance(node, ast.Attribute):
            return f"{self.ex(node.value)}.{node.attr}"
        if isinstance(node, ast.Tuple | ast.List):
            return f"[{', '.join(self.target(item) for item in node.elts)}]"
        if isinstance(node, ast.Starred):
            return f"...{self.target(node.value)}"
        raise self.unknown(node, "this target")

    # --- names and constants
    def _e_constant(self, node: ast.Constant) -> str:
        if node.value is None or isinstance(node.value, bool | str | int | float):
            return json.dumps(node.value, ensure_ascii=False)
        raise self.unknown(node, "this constant")

    def _e_name(self, node: ast.Name) -> str:
        return self.name(node, node.id)

    def library_of(self, node: ast.expr) -> str | None:
        """Return the module of Python's library that a name stands for, if it does."""
        if not isinstance(node, ast.Name) or self.is_local(node.id):
            return None
        return self.libraries.get(node.id)

    def _e_attribute(self, node: ast.Attribute) -> str:
        library = self.library_of(node.value)
        if library:
            text = held(library, node.attr)
            if text is None:
                raise self.unknown(node, f"the name {library}.{node.attr}")
            return text
        if node.attr in METHODS:
            return f"P.attr({self.ex(node.value)}, {json.dumps(node.attr)})"
        return f"{self.ex(node.value)}.{node.attr}"

    # --- operators
    def _e_unaryop(self, node: ast.UnaryOp) -> str:
        if isinstance(node.op, ast.Not):
            return f"!{self.truth(node.operand)}"
        if isinstance(node.op, ast.USub):
            return f"(-{self.ex(node.operand)})"
        raise self.unknown(node, "this sign")

    def _e_binop(self, node: ast.BinOp) -> str:
        return self.binary(node.op, node.left, node.right, node)

    def binary(self, op: ast.operator, left: ast.expr, right: ast.expr, node: ast.AST) -> str:
        """Translate an operation of two."""
        one, other = self.ex(left), self.ex(right)
        if type(op) in BINARY:
            return f"({_guard(one)} {BINARY[type(op)]} {_guard(other)})"
        if isinstance(op, ast.Add | ast.Sub) and (is_number(left) or is_number(right)):
            return f"({one} {'+' if isinstance(op, ast.Add) else '-'} {other})"
        if type(op) in DYNAMIC:
            return f"P.{DYNAMIC[type(op)]}({one}, {other})"
        raise self.unknown(node, type(op).__name__)

    def _e_boolop(self, node: ast.BoolOp) -> str:
        maker = "P.and" if isinstance(node.op, ast.And) else "P.or"
        first = self.ex(node.values[0])
        rest = "".join(f", () => {self.returned(value)}" for value in node.values[1:])
        return f"{maker}({first}{rest})"

    def _e_compare(self, node: ast.Compare) -> str:
        parts, left = [], node.left
        for op, right in zip(node.ops, node.comparators, strict=True):
            parts.append(self._one_compare(op, left, right))
            left = right
        return parts[0] if len(parts) == 1 else f"({' && '.join(parts)})"

    def _one_compare(self, op: ast.cmpop, left: ast.expr, right: ast.expr) -> str:
        one, other = self.ex(left), self.ex(right)
        if isinstance(op, ast.Is | ast.IsNot):
            return f"({one} {'===' if isinstance(op, ast.Is) else '!=='} {other})"
        if isinstance(op, ast.Eq | ast.NotEq):
            return f"{'' if isinstance(op, ast.Eq) else '!'}P.eq({one}, {other})"
        if isinstance(op, ast.In | ast.NotIn):
            return f"{'' if isinstance(op, ast.In) else '!'}P.has({other}, {one})"
        if is_set(left) or is_set(right):
            if not isinstance(op, ast.LtE):
                raise self.unknown(left, "this comparison of sets")
            return f"P.within({one}, {other})"
        return f"({one} {COMPARE[type(op)]} {other})"

    def _e_ifexp(self, node: ast.IfExp) -> str:
        return f"({self.truth(node.test)} ? {self.ex(node.body)} : {self.ex(node.orelse)})"

    def _e_namedexpr(self, node: ast.NamedExpr) -> str:
        return f"({self.ex(node.target)} = {self.ex(node.value)})"

    # --- containers
    def _e_starred(self, node: ast.Starred) -> str:
        return f"...P.iter({self.ex(node.value)})"

    def _e_tuple(self, node: ast.Tuple | ast.List) -> str:
        return f"[{', '.join(self.ex(item) for item in node.elts)}]"

    _e_list = _e_tuple

    def _e_set(self, node: ast.Set) -> str:
        return f"P.set([{', '.join(self.ex(item) for item in node.elts)}])"

    def _e_dict(self, node: ast.Dict) -> str:
        rows = [
            f"...P.iter({self.ex(value)}.items())"
            if key is None
            else f"[{self.ex(key)}, {self.ex(value)}]"
            for key, value in zip(node.keys, node.values, strict=True)
        ]
        return f"P.dict([{', '.join(rows)}])"

    def _e_subscript(self, node: ast.Subscript) -> str:
        whole = self.ex(node.value)
        if isinstance(node.slice, ast.Slice):
            if node.slice.step:
                raise self.unknown(node, "a slice with a step")
            return (
                f"P.slice({whole}, {self.bound(node.slice.lower)}, {self.bound(node.slice.upper)})"
            )
        return f"P.at({whole}, {self.ex(node.slice)})"

    def bound(self, node: ast.expr | None) -> str:
        """Translate one end of a slice."""
        return self.ex(node) if node else "null"

    def _e_joinedstr(self, node: ast.JoinedStr) -> str:
        parts = []
        for item in node.values:
            if isinstance(item, ast.Constant):
                parts.append(json.dumps(item.value, ensure_ascii=False))
            elif isinstance(item, ast.FormattedValue):
                parts.append(self._formatted(item))
        return f"({' + '.join(parts)})" if parts else '""'

    def _formatted(self, node: ast.FormattedValue) -> str:
        spec, value = self.ex(node.format_spec) if node.format_spec else '""', self.ex(node.value)
        if node.conversion == ord("r"):
            value = f"P.repr({value})"
        elif node.conversion != -1:
            raise self.unknown(node, f"!{chr(node.conversion)} in a text")
        return f"P.format({value}, {spec})"

    # --- comprehensions
    def _e_listcomp(self, node: ast.ListComp | ast.GeneratorExp) -> str:
        return self._comprehension(node.generators, [node.elt])

    _e_generatorexp = _e_listcomp

    def _e_setcomp(self, node: ast.SetComp) -> str:
        return f"P.set({self._comprehension(node.generators, [node.elt])})"

    def _e_dictcomp(self, node: ast.DictComp) -> str:
        return f"P.dict({self._comprehension(node.generators, [node.key, node.value])})"

    def _comprehension(self, generators: list[ast.comprehension], made: list[ast.expr]) -> str:
        """A test and what is made of an item stand in one step: a walrus may join them."""
        first, *rest = generators
        source = f"P.list({self.ex(first.iter)})"
        self.scopes.append(stored([first.target]))
        try:
            parameter = self.target(first.target)
            parts = [self.ex(item) for item in made] if not rest else []
            value = f"[{', '.join(parts)}]" if len(parts) > 1 else "".join(parts)
            inner = self._comprehension(rest, made) if rest else f"[{value}]"
            if first.ifs:
                test = " && ".join(self.truth(item) for item in first.ifs)
                return f"{source}.flatMap(({parameter}) => {test} ? {inner} : [])"
            if rest:
                return f"{source}.flatMap(({parameter}) => {inner})"
            body = f"({value})" if value.startswith("{") else value
            return f"{source}.map(({parameter}) => {body})"
        finally:
            self.scopes.pop()
