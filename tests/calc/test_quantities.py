"""One name for each quantity, one entry for each source, both used."""

import ast
import re
from pathlib import Path

import pytest
import yaml

from apps.calc import quantities
from apps.calc.sources import KINDS, SOURCES, cite
from apps.calc.species import species_table

CALC = Path(quantities.__file__).parent
MODULES = (
    "ammonia",
    "oxygen",
    "carbonate",
    "water",
    "feed",
    "filtration",
    "growth",
    "hydraulics",
    "climate",
    "dosing",
    "aeration",
    "calcite",
    "light",
    "loop_flow",
)
# Concentrations of any solute, under one range.
OF_ANY_SOLUTE = {"now", "target", "source"}


def functions(module):
    tree = ast.parse((CALC / f"{module}.py").read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node


class TestParameters:
    @pytest.mark.parametrize("module", MODULES)
    def test_every_number_that_a_function_takes_is_a_known_quantity(self, module):
        for function in functions(module):
            for argument in (*function.args.args, *function.args.kwonlyargs):
                if argument.annotation and ast.unparse(argument.annotation) == "float":
                    assert argument.arg in quantities.PARAMETERS.keys() | OF_ANY_SOLUTE, (
                        function.name
                    )

    def test_every_quantity_is_used(self):
        text = "".join(path.read_text(encoding="utf-8") for path in CALC.rglob("*.py"))
        for code in quantities.PARAMETERS:
            assert len(re.findall(rf"\b{code}\b", text)) > 1, code

    @pytest.mark.parametrize("table", [quantities.PARAMETERS, quantities.MEASURANDS])
    def test_ranges_stand_in_order(self, table):
        for code, quantity in table.items():
            assert code == quantity.code
            assert quantity.low < quantity.high
            for ask in (quantity.ask_low, quantity.ask_high):
                assert ask is None or quantity.low <= ask <= quantity.high

    def test_a_value_at_its_bound_is_taken(self):
        quantity = quantities.MEASURANDS["ph"]
        assert quantity.holds(3)
        assert quantity.holds(11)
        assert not quantity.holds(float("nan"))
        assert quantity.asks_again(8.7)
        assert not quantity.asks_again(7)

    def test_measurands_are_those_of_the_catalogue(self):
        path = CALC.parent / "catalogue" / "data" / "measurands.yaml"
        rows = {row["code"]: row for row in yaml.safe_load(path.read_text(encoding="utf-8"))}
        for code, quantity in quantities.MEASURANDS.items():
            if code != "tds":
                row = rows.pop(code)
                assert (quantity.low, quantity.high) == (row["hard_low"], row["hard_high"]), code
                assert (quantity.ask_low, quantity.ask_high) == (row["ask_low"], row["ask_high"]), (
                    code
                )
                assert (quantity.decimals, quantity.unit) == (row["decimals"], row["unit"]), code
        assert not rows


class TestSources:
    def test_every_key_named_in_a_docstring_is_known(self):
        for path in CALC.glob("*.py"):
            for found in re.findall(
                r"References: ([a-z][^.\n]*)", path.read_text(encoding="utf-8")
            ):
                for key in re.findall(r"\b[a-z]+[0-9]{2,4}\b", found):
                    assert key in SOURCES, (path.name, key)

    def test_every_source_is_used(self):
        text = "".join(
            path.read_text(encoding="utf-8")
            for path in (*CALC.rglob("*.py"), *CALC.rglob("*.json"))
            if path.name != "sources.py"
        )
        for key in SOURCES:
            assert re.search(rf"\b{key}\b", text), key

    def test_kinds_are_the_four(self):
        assert {source.kind for source in SOURCES.values()} <= set(KINDS)

    def test_species_name_known_sources(self):
        for kind in species_table().values():
            assert cite(*kind.sources)
