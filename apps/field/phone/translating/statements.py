"""Statements: assignments, branches, loops, errors."""

import ast

from apps.field.phone.translating.expressions import Expressions


class Statements(Expressions):
    """What is done, definitions apart."""

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
            raise self.unknown(node, "raise without a call")
        return [f"throw {self.ex(node.exc)};"]

    def _s_if(self, node: ast.If) -> list[str]:
        lines = [f"if ({self.truth(node.test)}) {{", *self.block(node.body), "}"]
        if node.orelse:
            lines[-1] = "} else {"
            lines += [*self.block(node.orelse), "}"]
        return lines

    def _s_while(self, node: ast.While) -> list[str]:
        if node.orelse:
            raise self.unknown(node, "while with else")
        return [f"while ({self.truth(node.test)}) {{", *self.block(node.body), "}"]

    def _s_for(self, node: ast.For) -> list[str]:
        if node.orelse:
            raise self.unknown(node, "for with else")
        head = f"for ({self.target(node.target)} of P.iter({self.ex(node.iter)})) {{"
        return [head, *self.block(node.body), "}"]

    def _s_break(self, _node: ast.Break) -> list[str]:
        return ["break;"]

    def _s_continue(self, _node: ast.Continue) -> list[str]:
        return ["continue;"]

    def _s_try(self, node: ast.Try) -> list[str]:
        if len(node.handlers) != 1 or node.finalbody or node.orelse:
            raise self.unknown(node, "try with more than one handler")
        handler = node.handlers[0]
        if not isinstance(handler.type, ast.Name) or handler.name:
            raise self.unknown(node, "a handler that is not of one named error")
        return [
            "try {", *self.block(node.body), "} catch (error) {",
            f"if (!(error instanceof {self.name(handler.type, handler.type.id)})) throw error;",
            *self.block(handler.body), "}",
        ]  # fmt: skip

    # --- assignments
    def _s_assign(self, node: ast.Assign) -> list[str]:
        if len(node.targets) > 1:
            raise self.unknown(node, "one value for several targets")
        return self._put(node.targets[0], self.ex(node.value))

    def _s_annassign(self, node: ast.AnnAssign) -> list[str]:
        return self._put(node.target, self.ex(node.value)) if node.value else []

    def _s_augassign(self, node: ast.AugAssign) -> list[str]:
        target = node.target
        loaded = ast.parse(ast.unparse(target), mode="eval").body
        if isinstance(node.op, ast.Add) and isinstance(target, ast.Name):
            name = self.name(target, target.id)
            return [f"{name} = P.add({name}, {self.ex(node.value)});"]
        return self._put(target, self.binary(node.op, loaded, node.value, node))

    def _put(self, target: ast.expr, value: str) -> list[str]:
        if isinstance(target, ast.Subscript):
            whole = self.ex(target.value)
            if isinstance(target.slice, ast.Slice):
                low, high = self.bound(target.slice.lower), self.bound(target.slice.upper)
                return [f"P.splice({whole}, {low}, {high}, {value});"]
            return [f"P.put({whole}, {self.ex(target.slice)}, {value});"]
        if isinstance(target, ast.Tuple | ast.List):
            return [f"{self.target(target)} = P.list({value});"]
        return [f"{self.target(target)} = {value};"]
