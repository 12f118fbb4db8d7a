"""Rules of the phone's scripts: small, one way, nothing unused, strangers' files as they came."""

import hashlib
import re
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

from apps.field.phone.bundle import BY_HAND, ENTRIES, TARGET
from apps.field.phone.shell import FOLDER, modules
from apps.field.phone.translating.expressions import DYNAMIC
from apps.field.phone.translating.names import BUILTINS, FROM_DJANGO, LIBRARY, name_of

TESTS = Path(__file__).resolve().parents[1] / "phone"
PINNED = sorted(FOLDER.glob("*.PINNED.txt"))
STRANGERS = {path.name.replace(".PINNED.txt", ".js") for path in PINNED}
OWN = [name for name in modules() if name not in STRANGERS | {TARGET.name}]
TEXT = {name: (FOLDER / name).read_text(encoding="utf-8") for name in OWN}
# what only hands on the parts of a subject
FRONTS = {"py.js", "store.js"}
STATIC = re.compile(r'^(import|export) (.+?) from "\./([\w.]+)";', re.M | re.S)


def imported(text: str) -> list[tuple[str, str]]:
    """Return (module, name) of all that a module takes from others by their address."""
    found = []
    for word, names, module in STATIC.findall(text):
        if names.startswith("* as "):
            # a module may be handed on whole under its name
            every = "\n".join(TEXT.values())
            found += [(module, name) for name in re.findall(rf"\b{names[5:]}\.(\w+)", every)]
        elif names.startswith("{"):
            parts = [part.split(" as ")[0].strip() for part in names.strip("{}\n ").split(",")]
            found += [(module, part) for part in parts if part]
        else:
            assert (word, names) == ("export", "*"), f"{names} of {module}"
    return found


def exported(text: str) -> set[str]:
    """Return the names that a module defines and exports."""
    found = set(re.findall(r"^export (?:const|class) (\w+)", text, re.M))
    for names, at in re.findall(r"^export \{([^}]*)\}(.*)$", text, re.M):
        if "from" not in at:
            found |= {part.split(" as ")[-1].strip() for part in names.split(",") if part.strip()}
    return found


def needs(name: str) -> set[str]:
    """Return the modules that one imports when it is loaded."""
    return {module for _word, _names, module in STATIC.findall(TEXT.get(name, ""))}


@pytest.mark.parametrize("name", OWN)
def test_a_module_is_small(name: str) -> None:
    assert TEXT[name].startswith("//"), "it says first what it is about"
    assert len(TEXT[name].splitlines()) < 300


def test_imports_run_in_one_direction() -> None:
    # raises CycleError, which names the ring
    TopologicalSorter({name: needs(name) for name in OWN}).prepare()


def test_what_is_exported_is_used() -> None:
    used = {pair for text in TEXT.values() for pair in imported(text)}
    # through a front
    used |= {(own, name) for own in OWN for front, name in used if front in FRONTS}
    vocabulary = {name_of(name) for name in BUILTINS | FROM_DJANGO} | set(DYNAMIC.values())
    vocabulary |= {name for names in LIBRARY.values() for name in names}
    science = TARGET.read_text(encoding="utf-8")
    vocabulary |= set(re.findall(r"\bP\.(\w+)", science))
    for python, file in BY_HAND.items():
        taken = re.findall(rf'M\["{re.escape(python)}"\]\.(\w+)', science)
        used |= {(file.removeprefix("./"), name) for name in taken}
    tests = "\n".join(path.read_text(encoding="utf-8") for path in TESTS.glob("*.py"))
    unused = [
        f"{own}: {name}"
        for own in OWN
        for name in exported(TEXT[own])
        if (own, name) not in used
        and name != "screen"
        and not (own.startswith("py") and name in vocabulary)
        and not re.search(rf"\b{name}\b", tests)
    ]
    assert not unused, ", ".join(unused)


def test_the_science_is_asked_for_what_it_brings() -> None:
    asked = {name for text in TEXT.values() for name in re.findall(r'\bM\["([\w.]+)"\]', text)}
    assert asked == set(ENTRIES) - set(BY_HAND)


def test_strangers_files_are_pinned() -> None:
    assert {"idb.js"} == STRANGERS


@pytest.mark.parametrize("pinned", PINNED, ids=lambda path: path.stem)
def test_a_strangers_file_is_as_it_came(pinned: Path) -> None:
    said = dict(line.split(": ", 1) for line in pinned.read_text(encoding="utf-8").splitlines())
    assert set(said) == {"name", "version", "file", "from", "licence", "sha256"}
    file = FOLDER / f"{said['name']}.js"
    assert hashlib.sha256(file.read_bytes()).hexdigest() == said["sha256"]
    assert (FOLDER / f"{said['name']}.LICENSE.txt").read_text(encoding="utf-8").startswith("ISC")
