"""The science in JavaScript: one module of plain Python, statement by statement.

The science floor is written in a small part of Python (functions, frozen dataclasses,
comprehensions, no clock, no files). This module turns just that part into JavaScript that means
the same; what it does not know it refuses, with the line. `py.js` holds what the two languages
do differently: truth, equality, membership, rounding, dictionaries with tuples as keys.
"""

import ast
import json
from collections.abc import Iterable
from pathlib import Path


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


RESERVED = _words(
    """await case catch const debugger default delete do enum export extends function implements
    instanceof interface let new null package private protected public static super switch this
    throw typeof undefined var void yield arguments eval"""
)
# Python's own names that py.js holds
BUILTINS = _words(
    """abs all any bool dict enumerate float frozenset getattr int isinstance len list max min next
    range reversed round set sorted str sum tuple zip replace date timedelta pairwise combinations
    median fmean stdev MappingProxyType ValueError KeyError TypeError ZeroDivisionError"""
)
MODULES = _words("math datetime dt calendar itertools html")
MATH = {"inf": "Infinity", "pi": "Math.PI", "e": "Math.E", "nan": "NaN"}
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
# methods that JavaScript's own strings, arrays and our dictionaries do not have
METHODS = _words(
    """append join startswith endswith rstrip split index items values keys get add intersection
    strip isoformat toordinal replace lower upper count extend insert pop copy update"""
)
SKIPPED_IMPORTS = _words(
    """collections.abc dataclasses typing __future__ functools itertools statistics math json
    pathlib datetime calendar html types"""
)
# what our own Python takes from Django for text; py.js has the same names
FROM_DJANGO = _words("gettext gettext_lazy SafeString Promise")
# decorators that the translation does without: pure functions need no memory
UNSAID = _words("lru_cache cache")


class NotTranslatable(ValueError):
    """A piece of Python that has no translation here; names the file and the line."""


def name_of(name: str) -> str:
    """Return a name that JavaScript takes."""
    return f"{name}_" if name in RESERVED else name


class Module:
    """One Python module on its way to JavaScript."""

    def __init__(self, path: Path, given: dict[str, str] | None = None) -> None:
        """Read `path`. `given`: names whose values stand in ready JavaScript instead."""
        self.path = path
        self.given = given or {}
        self.imports: list[tuple[str, str, str]] = []
        self.lines: list[str] = []
        self.names: list[str] = []
        self.scopes: list[set[str]] = []
        self.tree = ast.parse(path.read_text(encoding="utf-8"))

    def refuse(self, node: ast.AST, what: str) -> NotTranslatable:
        """Return the refusal of a node."""
        line = getattr(node, "lineno", 0)
        return NotTranslatable(f"{self.path}:{line}: {what} has no translation")

    # --- statements
    def run(self) -> None:
        """Translate the module; `lines`, `names` and `imports` hold the outcome."""
        for node in self.tree.body:
            self._top(node)

    def _top(self, node: ast.stmt) -> None:
        if isinstance(node, ast.Import | ast.ImportFrom):
            self._import(node)
            return
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            self.names.append(name_of(node.name))
            if isinstance(node, ast.ClassDef) and any(_callee(b) == "Protocol" for b in node.bases):
                self.names.pop()
                return
            if node.name in self.given:
                self.lines.append(f"const {name_of(node.name)} = {self.given[node.name]};")
                return
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            if self._is_type(node):
                return
            new = [n for n in _targets(node) if name_of(n) not in self.names]
            self.names += [name_of(n) for n in new]
            if new:
                self.lines.append(f"let {', '.join(name_of(n) for n in new)};")
        elif isinstance(node, ast.For):
            self.lines.append(f"let {', '.join(sorted(_stored([node])))};")
        self.lines += self.statement(node)

    @staticmethod
    def _is_type(node: ast.Assign | ast.AnnAssign) -> bool:
        """Whether it only names a type: Look = Callable[[Facts], Act | None]."""
        value = node.value
        if isinstance(value, ast.Subscript) and isinstance(value.value, ast.Name):
            return value.value.id in {"Callable", "Mapping", "Sequence", "tuple", "dict", "list"}
        return (
            isinstance(value, ast.BinOp)
            and isinstance(value.op, ast.BitOr)
            and not isinstance(value.left, ast.Dict | ast.Call)
            and isinstance(value.left, ast.Name)
            and value.left.id in {"float", "str", "int"}
        )

    def _import(self, node: ast.Import | ast.ImportFrom) -> None:
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("apps."):
            for alias in node.names:
                self.imports.append((node.module or "", alias.name, alias.asname or alias.name))
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("django."):
            for alias in node.names:
                if alias.name not in FROM_DJANGO:
                    raise self.refuse(node, f"import of {alias.name}")
                own = name_of(alias.asname or alias.name)
                self.lines.append(f"const {own} = P.{alias.name};")
        elif isinstance(node, ast.ImportFrom):
            if node.module not in SKIPPED_IMPORTS:
                raise self.refuse(node, f"import of {node.module}")
        else:
            for alias in node.names:
                if alias.name not in SKIPPED_IMPORTS:
                    raise self.refuse(node, f"import of {alias.name}")

    def block(self, nodes: Iterable[ast.stmt]) -> list[str]:
        """Translate statements one after the other."""
        return [line for node in nodes for line in self.statement(node)]

    def statement(self, node: ast.stmt) -> list[str]:
        """Translate one statement into lines."""
        made = getattr(self, f"_s_{type(node).__name__.lower()}", None)
        if made is None:
            raise self.refuse(node, type(node).__name__)
        return list(made(node))

    def _s_expr(self, node: ast.Expr) -> list[str]:
        if isinstance(node.value, ast.Constant):
            return []
        return [f"{self.ex(node.value)};"]

    def _s_pass(self, _node: ast.Pass) -> list[str]:
        return []

    def _s_return(self, node: ast.Return) -> list[str]:
        return [f"return {self.ex(node.value) if node.value else 'null'};"]

    def _s_raise(self, node: ast.Raise) -> list[str]:
        if not isinstance(node.exc, ast.Call):
            raise self.refuse(node, "raise without a call")
        return [f"throw {self.ex(node.exc)};"]

    def _s_if(self, node: ast.If) -> list[str]:
        lines = [f"if ({self.truth(node.test)}) {{", *self.block(node.body), "}"]
        if node.orelse:
            lines[-1] = "} else {"
            lines += [*self.block(node.orelse), "}"]
        return lines

    def _s_while(self, node: ast.While) -> list[str]:
        return [f"while ({self.truth(node.test)}) {{", *self.block(node.body), "}"]

    def _s_for(self, node: ast.For) -> list[str]:
        if node.orelse:
            raise self.refuse(node, "for with else")
        head = f"for ({self.target(node.target)} of P.iter({self.ex(node.iter)})) {{"
        return [head, *self.block(node.body), "}"]

    def _s_break(self, _node: ast.Break) -> list[str]:
        return ["break;"]

    def _s_continue(self, _node: ast.Continue) -> list[str]:
        return ["continue;"]

    def _s_try(self, node: ast.Try) -> list[str]:
        if len(node.handlers) != 1 or node.finalbody or node.orelse:
            raise self.refuse(node, "try with more than one handler")
        handler = node.handlers[0]
        if not isinstance(handler.type, ast.Name) or handler.name:
            raise self.refuse(node, "a handler that is not of one named error")
        return [
            "try {", *self.block(node.body), "} catch (error) {",
            f"if (!(error instanceof {self._name(handler.type.id)})) throw error;",
            *self.block(handler.body), "}",
        ]  # fmt: skip

    def _s_assign(self, node: ast.Assign) -> list[str]:
        value = self.ex(node.value)
        lines = []
        for target in node.targets:
            lines += self._put(target, value)
        return lines

    def _s_annassign(self, node: ast.AnnAssign) -> list[str]:
        return self._put(node.target, self.ex(node.value)) if node.value else []

    def _s_augassign(self, node: ast.AugAssign) -> list[str]:
        target = node.target
        loaded = ast.parse(ast.unparse(target), mode="eval").body
        if isinstance(node.op, ast.Add) and isinstance(target, ast.Name):
            name = self._name(target.id)
            return [f"{name} = P.add({name}, {self.ex(node.value)});"]
        return self._put(target, self._binary(node.op, loaded, node.value, node))

    def _put(self, target: ast.expr, value: str) -> list[str]:
        if isinstance(target, ast.Subscript):
            whole = self.ex(target.value)
            if isinstance(target.slice, ast.Slice):
                low, high = self._bound(target.slice.lower), self._bound(target.slice.upper)
                return [f"P.splice({whole}, {low}, {high}, {value});"]
            return [f"P.put({whole}, {self.ex(target.slice)}, {value});"]
        if isinstance(target, ast.Tuple | ast.List):
            return [f"{self.target(target)} = P.list({value});"]
        return [f"{self.target(target)} = {value};"]

    def target(self, node: ast.expr) -> str:
        """Return what may stand at the left of an assignment."""
        if isinstance(node, ast.Name):
            return self._name(node.id)
        if isinstance(node, ast.Attribute):
            return f"{self.ex(node.value)}.{node.attr}"
        if isinstance(node, ast.Tuple | ast.List):
            return f"[{', '.join(self.target(item) for item in node.elts)}]"
        if isinstance(node, ast.Starred):
            return f"...{self.target(node.value)}"
        raise self.refuse(node, "this target")

    # --- functions and classes
    def _s_functiondef(self, node: ast.FunctionDef) -> list[str]:
        name = name_of(node.name)
        lines = [f"let {name} = {self._function(node)};"]
        for decorator in reversed(node.decorator_list):
            if _callee(decorator) in UNSAID:
                continue
            lines.append(f"{name} = {self.ex(decorator)}({name});")
        return lines

    def _function(self, node: ast.FunctionDef | ast.Lambda, *, skip_self: bool = False) -> str:
        spec = node.args
        if spec.kwarg:
            raise self.refuse(node, "**keywords in a definition")
        every = [*spec.posonlyargs, *spec.args, *spec.kwonlyargs]
        inside = {item.arg for item in every} | ({spec.vararg.arg} if spec.vararg else set())
        if isinstance(node, ast.FunctionDef):
            inside |= _locals(node)
        self.scopes.append(inside)
        try:
            return self._written(node, spec, skip_self=skip_self)
        finally:
            self.scopes.pop()

    def _written(
        self, node: ast.FunctionDef | ast.Lambda, spec: ast.arguments, *, skip_self: bool
    ) -> str:
        positional = [*spec.posonlyargs, *spec.args][1 if skip_self else 0 :]
        defaults = dict(
            zip([a.arg for a in positional][len(positional) - len(spec.defaults):], spec.defaults,
                strict=False)
        )  # fmt: skip
        parts = []
        for item in positional:
            text = name_of(item.arg)
            if item.arg in defaults:
                text += f" = {self.ex(defaults[item.arg])}"
            parts.append(text)
        names = [item.arg for item in positional]
        more: list[str] = []
        for item, default in zip(spec.kwonlyargs, spec.kw_defaults, strict=True):
            own, value = name_of(item.arg), f" = {self.ex(default)}" if default else ""
            if spec.vararg:
                more.append(f"let {{ {json.dumps(item.arg)}: {own}{value} }} = words;")
            else:
                names.append(item.arg)
                parts.append(own + value)
        if spec.vararg:
            parts.append(f"...{name_of(spec.vararg.arg)}")
            if more:
                more.insert(0, f"const words = P.words({name_of(spec.vararg.arg)});")
        if isinstance(node, ast.Lambda):
            return f"({', '.join(parts)}) => {self._returned(node.body)}"
        local = _locals(node) - {a.arg for a in [*positional, *spec.kwonlyargs]}
        local -= {spec.vararg.arg} if spec.vararg else set()
        lines = ["{", *more]
        if local:
            lines.append(f"let {', '.join(sorted(name_of(n) for n in local))};")
        lines += [*self.block(node.body), "return null;", "}"]
        body = "\n".join(lines)
        head = f"({', '.join(parts)})"
        # an arrow keeps the method's own `this` where a function stands inside one
        made = f"function {head} {body}" if skip_self else f"{head} => {body}"
        return f"P.def({json.dumps(names)}, {made})"

    def _returned(self, node: ast.expr) -> str:
        text = self.ex(node)
        return f"({text})" if text.startswith("{") else text

    def _s_classdef(self, node: ast.ClassDef) -> list[str]:
        name = name_of(node.name)
        lines = [f"class {name} extends {self._base(node)} {{"]
        fields: list[tuple[str, ast.expr | None]] = []
        for item in node.body:
            if isinstance(item, ast.AnnAssign) and isinstance(item.target, ast.Name):
                fields.append((item.target.id, item.value))
            elif isinstance(item, ast.FunctionDef):
                lines += self._method(item)
            elif not (isinstance(item, ast.Expr) and isinstance(item.value, ast.Constant)):
                raise self.refuse(item, "this in a class")
        lines.append("}")
        if any(_callee(d) == "dataclass" for d in node.decorator_list):
            rows = [f"[{json.dumps(key)}, {self._default(value)}]" for key, value in fields]
            lines.append(f"P.dataclass({name}, [{', '.join(rows)}]);")
        return lines

    def _base(self, node: ast.ClassDef) -> str:
        return self.ex(node.bases[0]) if node.bases else "P.Thing"

    def _default(self, value: ast.expr | None) -> str:
        if value is None:
            return "null"
        if isinstance(value, ast.Call) and _callee(value) == "field":
            for word in value.keywords:
                if word.arg == "default_factory":
                    return f"() => {self.ex(word.value)}()"
        return f"() => {self.ex(value)}"

    def _method(self, node: ast.FunctionDef) -> list[str]:
        words = {_callee(d) for d in node.decorator_list}
        made = self._function(node, skip_self=True)
        key = json.dumps(node.name)
        if node.name == "__init__":
            return [f"static __init__ = {made};"]
        if "property" in words:
            return [f"static {{ P.getter(this, {key}, {made}, false); }}"]
        if "cached_property" in words:
            return [f"static {{ P.getter(this, {key}, {made}, true); }}"]
        return [f"static {{ this.prototype[{key}] = {made}; }}"]

    # --- expressions
    def ex(self, node: ast.expr) -> str:
        """Translate an expression."""
        made = getattr(self, f"_e_{type(node).__name__.lower()}", None)
        if made is None:
            raise self.refuse(node, type(node).__name__)
        return str(made(node))

    def truth(self, node: ast.expr) -> str:
        """Translate an expression of which only the truth counts."""
        if isinstance(node, ast.BoolOp):
            sign = " && " if isinstance(node.op, ast.And) else " || "
            return "(" + sign.join(self.truth(value) for value in node.values) + ")"
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            return f"!{self.truth(node.operand)}"
        if isinstance(node, ast.Compare) or _callee(node) in {"any", "all", "isinstance"}:
            return f"({self.ex(node)})"
        return f"P.t({self.ex(node)})"

    def _e_constant(self, node: ast.Constant) -> str:
        if node.value is None or isinstance(node.value, bool | str | int | float):
            return json.dumps(node.value, ensure_ascii=False)
        raise self.refuse(node, "this constant")

    def _name(self, name: str) -> str:
        if name == "self":
            return "this"
        local = any(name in scope for scope in self.scopes) or name_of(name) in self.names
        return f"P.{name_of(name)}" if name in BUILTINS and not local else name_of(name)

    def _e_name(self, node: ast.Name) -> str:
        return self._name(node.id)

    def _e_attribute(self, node: ast.Attribute) -> str:
        if isinstance(node.value, ast.Name) and node.value.id == "math":
            return MATH.get(node.attr, f"P.math.{node.attr}")
        if isinstance(node.value, ast.Name) and node.value.id in {"datetime", "dt"}:
            return f"P.{node.attr}"
        if isinstance(node.value, ast.Name) and node.value.id in {"calendar", "itertools", "html"}:
            return f"P.{node.attr}"
        if node.attr in METHODS:
            return f"P.attr({self.ex(node.value)}, {json.dumps(node.attr)})"
        return f"{self.ex(node.value)}.{node.attr}"

    def _e_unaryop(self, node: ast.UnaryOp) -> str:
        if isinstance(node.op, ast.Not):
            return f"!{self.truth(node.operand)}"
        if isinstance(node.op, ast.USub):
            return f"(-{self.ex(node.operand)})"
        raise self.refuse(node, "this sign")

    def _e_binop(self, node: ast.BinOp) -> str:
        return self._binary(node.op, node.left, node.right, node)

    def _binary(self, op: ast.operator, left: ast.expr, right: ast.expr, node: ast.AST) -> str:
        one, other = self.ex(left), self.ex(right)
        if type(op) in BINARY:
            return f"({_guard(one)} {BINARY[type(op)]} {_guard(other)})"
        if isinstance(op, ast.Add | ast.Sub) and (_is_number(left) or _is_number(right)):
            return f"({one} {'+' if isinstance(op, ast.Add) else '-'} {other})"
        if type(op) in DYNAMIC:
            return f"P.{DYNAMIC[type(op)]}({one}, {other})"
        raise self.refuse(node, type(op).__name__)

    def _e_boolop(self, node: ast.BoolOp) -> str:
        maker = "P.and" if isinstance(node.op, ast.And) else "P.or"
        first = self.ex(node.values[0])
        rest = "".join(f", () => {self._returned(value)}" for value in node.values[1:])
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
        if _is_set(left) or _is_set(right):
            if not isinstance(op, ast.LtE):
                raise self.refuse(left, "this comparison of sets")
            return f"P.within({one}, {other})"
        return f"({one} {COMPARE[type(op)]} {other})"

    def _e_ifexp(self, node: ast.IfExp) -> str:
        return f"({self.truth(node.test)} ? {self.ex(node.body)} : {self.ex(node.orelse)})"

    def _e_namedexpr(self, node: ast.NamedExpr) -> str:
        return f"({self.ex(node.target)} = {self.ex(node.value)})"

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

    def _e_lambda(self, node: ast.Lambda) -> str:
        return f"({self._function(node)})"

    def _e_joinedstr(self, node: ast.JoinedStr) -> str:
        parts = []
        for item in node.values:
            if isinstance(item, ast.Constant):
                parts.append(json.dumps(item.value, ensure_ascii=False))
            elif isinstance(item, ast.FormattedValue):
                spec = self.ex(item.format_spec) if item.format_spec else '""'
                parts.append(f"P.format({self.ex(item.value)}, {spec})")
        return f"({' + '.join(parts)})" if parts else '""'

    def _e_subscript(self, node: ast.Subscript) -> str:
        whole = self.ex(node.value)
        if isinstance(node.slice, ast.Slice):
            if node.slice.step:
                raise self.refuse(node, "a slice with a step")
            low, high = self._bound(node.slice.lower), self._bound(node.slice.upper)
            return f"P.slice({whole}, {low}, {high})"
        return f"P.at({whole}, {self.ex(node.slice)})"

    def _bound(self, node: ast.expr | None) -> str:
        return self.ex(node) if node else "null"

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
        self.scopes.append(_stored([first.target]))
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

    # --- calls
    def _e_call(self, node: ast.Call) -> str:
        args = ", ".join(self.ex(arg) for arg in node.args)
        if isinstance(node.func, ast.Attribute):
            return self._method_call(node, node.func, args)
        if _callee(node) == "isinstance":
            return (
                f"P.isinstance({self.ex(node.args[0])}, [{', '.join(self._kinds(node.args[1]))}])"
            )
        function = self.ex(node.func)
        if node.keywords and function.startswith("P."):
            return f"P.kw.{function[2:]}([{args}], {self._keywords(node)})"
        if node.keywords:
            return f"P.call({function}, [{args}], {self._keywords(node)})"
        if isinstance(node.func, ast.Name) and self._makes(node.func.id):
            return f"P.make({function}, [{args}])"
        return f"{function}({args})"

    def _kinds(self, node: ast.expr) -> list[str]:
        if isinstance(node, ast.BinOp):
            return [*self._kinds(node.left), *self._kinds(node.right)]
        if isinstance(node, ast.Tuple):
            return [kind for item in node.elts for kind in self._kinds(item)]
        return [self.ex(node)]

    def _makes(self, name: str) -> bool:
        return name[:1].isupper() or (name[:1] == "_" and name[1:2].isupper())

    def _method_call(self, node: ast.Call, func: ast.Attribute, args: str) -> str:
        if isinstance(func.value, ast.Name) and func.value.id in MODULES:
            return f"{self.ex(func)}({args})"
        owner = self.ex(func.value)
        if func.attr == "fromkeys":
            return f"P.fromkeys({args})"
        if node.keywords:
            return (
                f"P.call_method({owner}, {json.dumps(func.attr)}, [{args}], {self._keywords(node)})"
            )
        if func.attr in METHODS:
            return f"P.m.{func.attr}({owner}{', ' if args else ''}{args})"
        if self._makes(func.attr):
            return f"P.make({owner}.{func.attr}, [{args}])"
        return f"{owner}.{func.attr}({args})"

    def _keywords(self, node: ast.Call) -> str:
        parts = [
            f"...P.plain({self.ex(word.value)})"
            if word.arg is None
            else f"{json.dumps(word.arg)}: {self.ex(word.value)}"
            for word in node.keywords
        ]
        return f"{{{', '.join(parts)}}}"


def _guard(text: str) -> str:
    """JavaScript takes no bare minus at the left of **."""
    return f"({text})" if text.startswith("-") else text


def _callee(node: ast.expr) -> str:
    if isinstance(node, ast.Call):
        node = node.func
    return node.id if isinstance(node, ast.Name) else ""


def _is_number(node: ast.expr) -> bool:
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult | ast.Div | ast.Pow):
        return True
    return isinstance(node, ast.Constant) and isinstance(node.value, int | float)


def _is_set(node: ast.expr) -> bool:
    if isinstance(node, ast.Call):
        keys = isinstance(node.func, ast.Attribute) and node.func.attr == "keys"
        return keys or _callee(node) in {"set", "frozenset"}
    return isinstance(node, ast.Set | ast.SetComp)


def _targets(node: ast.Assign | ast.AnnAssign) -> list[str]:
    return sorted(_stored(node.targets if isinstance(node, ast.Assign) else [node.target]))


def _stored(nodes: Iterable[ast.AST]) -> set[str]:
    return {
        item.id
        for node in nodes
        for item in ast.walk(node)
        if isinstance(item, ast.Name) and isinstance(item.ctx, ast.Store)
    }


def _locals(function: ast.FunctionDef) -> set[str]:
    """Return the names that a function assigns, but for those of its inner functions."""
    found: set[str] = set()
    todo: list[ast.AST] = list(function.body)
    while todo:
        node = todo.pop()
        if isinstance(node, ast.FunctionDef | ast.Lambda | ast.ClassDef):
            continue
        if isinstance(node, ast.ListComp | ast.SetComp | ast.DictComp | ast.GeneratorExp):
            # names of a comprehension are its own; a walrus inside is the function's
            found |= {
                item.target.id
                for item in ast.walk(node)
                if isinstance(item, ast.NamedExpr) and isinstance(item.target, ast.Name)
            }
            continue
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            found.add(node.id)
        todo += list(ast.iter_child_nodes(node))
    return found
