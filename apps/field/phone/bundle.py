"""The science as one JavaScript file: the modules that the telephone needs, in order of need."""

import dataclasses
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from apps.calc.species import species_table
from apps.field.phone.translate import Module, name_of

ROOT = Path(__file__).resolve().parents[3]
TARGET = ROOT / "apps" / "field" / "static" / "field" / "phone" / "science.js"
# what the screens call; all else comes along because these ask for it
ENTRIES = (
    "apps.calc.reading",
    "apps.calc.advice.assess",
    "apps.calc.advice.today",
    "apps.calc.advice.sentences",
    "apps.core.drawing.waterline",
    "apps.core.drawing.words",
)
# written by hand for the telephone: there they rest on the browser's own number formats
BY_HAND = {"apps.core.numbers": "./numbers.js"}
HEAD = """// Made from apps/calc by `manage.py phone_science`; do not edit. Change the Python and make it again.
import * as P from "./py.js";
"""


def literal(value: Any, made: str = "") -> str:
    """Return a plain value, or one of frozen dataclasses, as JavaScript."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        parts = [literal(getattr(value, f.name), made) for f in dataclasses.fields(value)]
        return f"P.make({type(value).__name__}, [{', '.join(parts)}])"
    if isinstance(value, dict):
        rows = [f"[{literal(k, made)}, {literal(v, made)}]" for k, v in value.items()]
        return f"P.dict([{', '.join(rows)}])"
    if isinstance(value, list | tuple):
        return f"[{', '.join(literal(item, made) for item in value)}]"
    return json.dumps(value, ensure_ascii=False)


def given() -> dict[str, dict[str, str]]:
    """Return what is read from a file on the server and stands in the bundle ready made."""
    return {
        "apps.calc.species": {
            "species_table": f"(() => {{ const table = {literal(species_table())}; "
            "return () => table; })()"
        }
    }


def path_of(module: str) -> Path:
    """Return the file of a module."""
    return ROOT / f"{module.replace('.', '/')}.py"


def _needs(module: Module) -> Iterable[str]:
    for package, name, _as in module.imports:
        inner = f"{package}.{name}"
        yield inner if path_of(inner).exists() else package


def collect(entries: Iterable[str] = ENTRIES) -> dict[str, Module]:
    """Return the modules that the entries need, each after those that it imports itself."""
    ready: dict[str, Module] = {}
    ready_made = given()

    def visit(name: str) -> None:
        if name in ready or name in BY_HAND:
            return
        module = Module(path_of(name), ready_made.get(name))
        module.run()
        for need in _needs(module):
            visit(need)
        ready[name] = module

    for entry in entries:
        visit(entry)
    return ready


def _imports(module: Module) -> Iterable[str]:
    for package, name, own in module.imports:
        inner = f"{package}.{name}"
        if path_of(inner).exists():
            yield f"const {name_of(own)} = M[{json.dumps(inner)}];"
        else:
            yield f"const {name_of(own)} = M[{json.dumps(package)}].{name_of(name)};"


def written() -> str:
    """Return the whole file."""
    parts = [HEAD]
    for place, file in enumerate(BY_HAND.values()):
        parts.append(f"import * as hand_{place} from {json.dumps(file)};")
    rows = ", ".join(f"{json.dumps(name)}: hand_{place}" for place, name in enumerate(BY_HAND))
    parts.append(f"\nexport const M = {{ {rows} }};")
    for name, module in collect().items():
        lines = [f"\nM[{json.dumps(name)}] = (() => {{", *_imports(module), *module.lines]
        lines.append(f"return {{ {', '.join(dict.fromkeys(module.names))} }};")
        lines.append("})();")
        parts.append("\n".join(lines))
    return "\n".join(parts) + "\n"
