"""The science as one JavaScript file: what the telephone needs of it, in order of need."""

import dataclasses
import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from apps.calc.species import species_table
from apps.field.phone.needed import Needed
from apps.field.phone.translate import Given, Module, name_of

ROOT = Path(__file__).resolve().parents[3]
TARGET = ROOT / "apps" / "field" / "static" / "field" / "phone" / "science.js"
# what the screens call; all else comes along because these ask for it, and nothing more does
ENTRIES: Mapping[str, tuple[str, ...]] = {
    "apps.calc.quantities": ("MEASURANDS", "Quantity"),
    "apps.calc.judgement": ("Band", "LoopContext"),
    "apps.calc.reading": ("Ground", "Typed", "look", "unit_name"),
    "apps.calc.advice.situation": (
        "Crop", "Event", "Fish", "Germination", "Hold", "Loop", "Media", "Past", "Reading",
        "Situation", "Source",
    ),
    "apps.calc.advice.facts": ("Facts",),
    "apps.calc.advice.assess": ("assess",),
    "apps.calc.advice.today": ("Taken", "with_readings"),
    "apps.calc.advice.sentences": (
        "CAUSE_WORDS", "FORMATS", "readable_hours", "sentences",
    ),
    "apps.calc.advice.cautions": ("CAUTIONS",),
    "apps.calc.advice.substances": ("SUBSTANCE_WORDS",),
    "apps.core.drawing.scale": ("Band",),
    "apps.core.drawing.waterline": ("water_line",),
    "apps.core.drawing.words": ("band_text",),
}  # fmt: skip
# written by hand for the telephone: there they rest on the browser's own number formats
BY_HAND = {"apps.core.numbers": "./numbers.js"}
HEAD = """// Made from apps/calc by `manage.py phone_science`; do not edit. Change the Python and make it again.
import * as P from "./py.js";
"""


def literal(value: Any) -> str:
    """Return a plain value, or one of frozen dataclasses, as JavaScript."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        parts = [literal(getattr(value, f.name)) for f in dataclasses.fields(value)]
        return f"P.make({type(value).__name__}, [{', '.join(parts)}])"
    if isinstance(value, dict):
        rows = [f"[{literal(k)}, {literal(v)}]" for k, v in value.items()]
        return f"P.dict([{', '.join(rows)}])"
    if isinstance(value, list | tuple):
        return f"[{', '.join(literal(item) for item in value)}]"
    return json.dumps(value, ensure_ascii=False)


def given() -> dict[str, dict[str, Given]]:
    """Return what is read from a file on the server and stands in the bundle ready made."""
    table = literal(species_table())
    script = f"(() => {{ const table = {table}; return () => table; }})()"
    made = frozenset(re.findall(r"P\.make\((\w+),", table))
    return {"apps.calc.species": {"species_table": Given(script, made)}}


def path_of(module: str) -> Path:
    """Return the file of a module or package."""
    place = ROOT / module.replace(".", "/")
    return place / "__init__.py" if place.is_dir() else place.with_suffix(".py")


def _needs(module: Module) -> Iterator[str]:
    for package, name, _as in module.imports:
        inner = f"{package}.{name}"
        yield inner if path_of(inner).exists() else package


def _at_home(module: Module, ready: Mapping[str, Module]) -> Iterator[tuple[str, str, str]]:
    """Yield the imports of a module, each from where it is defined: packages hand names on."""
    for package, name, own in module.imports:
        while package in ready and not path_of(f"{package}.{name}").exists():
            handed = [row for row in ready[package].imports if row[2] == name]
            if not handed:
                break
            package, name, _own = handed[0]
        yield package, name, own


def collect(entries: Mapping[str, tuple[str, ...]] = ENTRIES) -> dict[str, Module]:
    """Return the modules that the entries need, translated, each after those that it imports.

    Raises NotTranslatable where something that is needed has no translation, LookupError for an
    entry that is not there.
    """
    ready: dict[str, Module] = {}
    ready_made = given()

    def visit(name: str) -> None:
        if name in ready or name in BY_HAND:
            return
        module = Module(path_of(name), ready_made.get(name))
        for need in _needs(module):
            visit(need)
        module.imports = list(_at_home(module, ready))
        ready[name] = module

    for entry in entries:
        visit(entry)
    needed = Needed(ready)
    for entry, names in entries.items():
        needed.ask(entry, names)
    for name, module in ready.items():
        module.run(needed.statements[name])
    return {name: module for name, module in ready.items() if module.names}


def _imports(module: Module) -> Iterator[str]:
    for package, name, own in module.imports:
        if own not in module.used:
            continue
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
