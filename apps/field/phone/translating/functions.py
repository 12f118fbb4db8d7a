"""Functions and classes: parameters with names and defaults, frozen dataclasses, properties."""

import ast
import json

from apps.field.phone.translating.expressions import Expressions
from apps.field.phone.translating.names import UNSAID, name_of
from apps.field.phone.translating.trees import callee, locals_of


class Functions(Expressions):
    """What is defined; py.js keeps the names of parameters, so that a call may name them."""

    def _s_functiondef(self, node: ast.FunctionDef) -> list[str]:
        name = name_of(node.name)
        lines = [f"let {name} = {self._function(node)};"]
        for decorator in reversed(node.decorator_list):
            if callee(decorator) in UNSAID:
                continue
            lines.append(f"{name} = {self.ex(decorator)}({name});")
        return lines

    def _e_lambda(self, node: ast.Lambda) -> str:
        return f"({self._function(node)})"

    def _function(self, node: ast.FunctionDef | ast.Lambda, *, skip_self: bool = False) -> str:
        spec = node.args
        if spec.kwarg:
            raise self.unknown(node, "**keywords in a definition")
        every = [*spec.posonlyargs, *spec.args, *spec.kwonlyargs]
        inside = {item.arg for item in every} | ({spec.vararg.arg} if spec.vararg else set())
        if isinstance(node, ast.FunctionDef):
            inside = inside.union(*locals_of(node))
        self.scopes.append(inside)
        try:
            names, parts, more = self._parameters(spec, skip_self=skip_self)
            if isinstance(node, ast.Lambda):
                return f"({', '.join(parts)}) => {self.returned(node.body)}"
            body = self._body(node, more)
        finally:
            self.scopes.pop()
        head = f"({', '.join(parts)})"
        # an arrow keeps the method's own `this` where a function stands inside one
        made = f"function {head} {body}" if skip_self else f"{head} => {body}"
        return f"P.def({json.dumps(names)}, {made})"

    def _parameters(
        self, spec: ast.arguments, *, skip_self: bool
    ) -> tuple[list[str], list[str], list[str]]:
        """Return the names that a call may use, the parameters, and what fetches named ones."""
        positional = [*spec.posonlyargs, *spec.args][1 if skip_self else 0 :]
        defaults = dict(
            zip([a.arg for a in positional][len(positional) - len(spec.defaults):], spec.defaults,
                strict=False)
        )  # fmt: skip
        names = [item.arg for item in positional]
        parts = [self._parameter(arg, defaults.get(arg)) for arg in names]
        more: list[str] = []
        for item, default in zip(spec.kwonlyargs, spec.kw_defaults, strict=True):
            own = self._parameter(item.arg, default)
            if spec.vararg:
                more.append(f"let {{ {json.dumps(item.arg)}: {own} }} = words;")
            else:
                names.append(item.arg)
                parts.append(own)
        if spec.vararg:
            parts.append(f"...{name_of(spec.vararg.arg)}")
            if more:
                more.insert(0, f"const words = P.words({name_of(spec.vararg.arg)});")
        return names, parts, more

    def _parameter(self, name: str, default: ast.expr | None) -> str:
        return name_of(name) + (f" = {self.ex(default)}" if default else "")

    def _body(self, node: ast.FunctionDef, more: list[str]) -> str:
        spec = node.args
        given = {a.arg for a in [*spec.posonlyargs, *spec.args, *spec.kwonlyargs]}
        given |= {spec.vararg.arg} if spec.vararg else set()
        local = locals_of(node)[0] - given
        lines = ["{", *more]
        if local:
            lines.append(f"let {', '.join(sorted(name_of(n) for n in local))};")
        lines += self.block(node.body)
        if not isinstance(node.body[-1], ast.Return | ast.Raise):
            lines.append("return null;")
        return "\n".join([*lines, "}"])

    # --- classes
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
                raise self.unknown(item, "this in a class")
        lines.append("}")
        if any(callee(d) == "dataclass" for d in node.decorator_list):
            rows = [f"[{json.dumps(key)}, {self._default(value)}]" for key, value in fields]
            lines.append(f"P.dataclass({name}, [{', '.join(rows)}]);")
        return lines

    def _base(self, node: ast.ClassDef) -> str:
        return self.ex(node.bases[0]) if node.bases else "P.Thing"

    def _default(self, value: ast.expr | None) -> str:
        if value is None:
            return "null"
        if isinstance(value, ast.Call) and callee(value) == "field":
            for word in value.keywords:
                if word.arg == "default_factory":
                    return f"() => {self.ex(word.value)}()"
        return f"() => {self.ex(value)}"

    def _method(self, node: ast.FunctionDef) -> list[str]:
        words = {callee(d) for d in node.decorator_list}
        made = self._function(node, skip_self=True)
        key = json.dumps(node.name)
        if node.name == "__init__":
            return [f"static __init__ = {made};"]
        if "property" in words:
            return [f"static {{ P.getter(this, {key}, {made}, false); }}"]
        if "cached_property" in words:
            return [f"static {{ P.getter(this, {key}, {made}, true); }}"]
        return [f"static {{ this.prototype[{key}] = {made}; }}"]
