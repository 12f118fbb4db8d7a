"""The catalogues of the languages that clients read: whole, sure, and with the same values in them."""

import re
import shutil
from collections.abc import Iterator
from gettext import c2py  # type: ignore[attr-defined]
from pathlib import Path
from typing import Any

import pytest
from babel.core import Locale
from babel.messages.catalog import Message
from django.conf import settings
from django.core.management import call_command

from apps.core.languages import catalogue, compile_catalogue, isolated
from apps.core.numbers import END, FIRST_STRONG

ROOT = Path(__file__).resolve().parent.parent.parent
PLACE = re.compile(r"%\(\w+\)[-+ #0]*\d*(?:\.\d+)?[a-z]|\{[\w.]*(?::[^{}]*)?\}|%%")
# a percent sign of its own is no value: "50 % of the water"
TAG = re.compile(r"</?[a-z]+\b[^>]*>")
# "one day" and "two days" may leave their number to the word
FORMS_WITHOUT_NUMBER = {"es": 1, "ar": 3}
NUMBERS = {f"%({name})" for name in ("count", "days", "limit", "minutes", "rate", "scoops")}
DATE_PATTERN = re.compile(r"^(?:[GyMLEdhHmsaQw\s.,/\u060c-]|'[^']*')+$")


def path_of(code: str) -> Path:
    return ROOT / "locale" / code / "LC_MESSAGES" / "django.po"


def messages(code: str) -> Iterator[Message]:
    return (message for message in catalogue(path_of(code)) if message.id)


def texts(part: str | tuple[str, ...] | list[str]) -> tuple[str, ...]:
    return (part,) if isinstance(part, str) else tuple(part)


LANGUAGES = pytest.mark.parametrize("code", settings.CLIENT_LANGUAGES)


@LANGUAGES
def test_it_is_whole_and_sure(code: str) -> None:
    found = list(messages(code))
    assert len(found) > 2000
    assert not [str(row.id) for row in found if row.fuzzy]
    assert not [str(row.id) for row in found if not all(texts(row.string))]


@LANGUAGES
def test_it_holds_what_clients_read_today(
    code: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for part in ("apps", "templates", "backyard"):
        shutil.copytree(
            ROOT / part, tmp_path / part,
            ignore=shutil.ignore_patterns("__pycache__", "static", "fonts", "migrations"),
        )  # fmt: skip
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("django.conf.settings.LOCALE_PATHS", [tmp_path / "locale"])
    (tmp_path / "locale" / code / "LC_MESSAGES").mkdir(parents=True)
    call_command("makemessages", locale=[code], verbosity=0)
    made = catalogue(tmp_path / "locale" / code / "LC_MESSAGES" / "django.po")
    held = catalogue(path_of(code))

    def keys(of: object) -> set[tuple[str, str]]:
        return {(row.context or "", texts(row.id)[0]) for row in of if row.id}  # type: ignore[attr-defined]

    assert not keys(made) - keys(held), "run manage.py makemessages -l es -l ar and translate"
    assert not keys(held) - keys(made), (
        "run manage.py makemessages -l es -l ar: some are not asked for"
    )


@LANGUAGES
def test_the_same_values_stand_in_it(code: str) -> None:
    odd = []
    for row in messages(code):
        ids, strings = texts(row.id), texts(row.string)
        wanted = sorted(set(PLACE.findall(ids[-1])))
        for number, string in enumerate(strings):
            given = sorted(set(PLACE.findall(string)))
            lone = row.pluralizable and number < FORMS_WITHOUT_NUMBER[code]
            missing = {name for name in wanted if name not in given}
            if lone:
                missing -= {name for name in wanted if name[:-1] in NUMBERS}
                missing &= set(PLACE.findall(ids[0]))
            if missing or set(given) - set(wanted):
                odd.append(f"{ids[0]!r}: {string!r}")
    assert not odd, "\n".join(odd)


@LANGUAGES
def test_the_same_tags_stand_in_it(code: str) -> None:
    odd = [
        f"{row.id!r}: {string!r}"
        for row in messages(code)
        for string in texts(row.string)
        if sorted(TAG.findall(texts(row.id)[-1])) != sorted(TAG.findall(string))
    ]
    assert not odd, "\n".join(odd)


# the names of CLDR in the order of each catalogue's forms
CATEGORIES = {"es": ("one", "other"), "ar": ("zero", "one", "two", "few", "many", "other")}


@LANGUAGES
@pytest.mark.outside(
    source="Unicode CLDR plural rules, as Babel 2.18 has them", kind="computed", tolerance=0
)
def test_its_plurals_are_those_of_its_language(code: str, outside: Any) -> None:
    read = catalogue(path_of(code))
    names, form, rule = CATEGORIES[code], c2py(read.plural_expr), Locale(code).plural_form
    assert all(len(row.string) == len(names) for row in read if row.id and row.pluralizable)
    for count in range(250):
        # Spanish has a form for whole millions, which no count of ours reaches
        outside(form(count), names.index(rule(count) if rule(count) in names else "other"))


@LANGUAGES
def test_its_date_patterns_are_patterns(code: str) -> None:
    found = [row for row in messages(code) if row.context == "date pattern"]
    assert found
    assert not [row.string for row in found if not DATE_PATTERN.match(str(row.string))]


@LANGUAGES
def test_signs_of_units_stay(code: str) -> None:
    held = {row.id: row.string for row in messages(code) if row.context == "unit"}
    same = ("mg/L", "mS/cm", "°C", "g", "kg", "W") if code == "es" else ("mg/L", "mS/cm", "°C")
    assert {name: held[name] for name in same} == {name: name for name in same}


@pytest.mark.parametrize(
    ("text", "runs"),
    [
        ("كان %(figure)s", ["%(figure)s"]), ("{alk} هنا", ["{alk}"]),
        ('<a href="%(there)s">%(name)s</a>', ["%(name)s"]), ("%(link)s", []),
        ("حتى %(limit)s °C صيفًا", ["%(limit)s °C"]), ("هذا %(percent)s %% مما", ["%(percent)s %%"]),
        ("حتى 15 MB لكل", ["15 MB"]), ("الطين 8–16 mm هنا", ["8–16 mm"]), ("من 6 إلى 8", []),
        ("قلوية 60 mg/L CaCO3 أو أكثر", ["60 mg/L CaCO3"]), ("نسبة 32 %", ["32 %"]), ("أكثر من 0.2.", ["0.2"]),
    ],
)  # fmt: skip
def test_what_is_compiled_isolates_values_from_right_to_left(text: str, runs: list[str]) -> None:
    made = isolated(text)
    assert re.findall(f"{FIRST_STRONG}(.*?){END}", made) == runs
    assert made.replace(FIRST_STRONG, "").replace(END, "") == text


@LANGUAGES
def test_a_catalogue_compiles(code: str, tmp_path: Path) -> None:
    (tmp_path / code / "LC_MESSAGES").mkdir(parents=True)
    copy = tmp_path / code / "LC_MESSAGES" / "django.po"
    copy.write_bytes(path_of(code).read_bytes())
    made = compile_catalogue(copy).read_bytes()
    assert made[:4] == b"\xde\x12\x04\x95"
    assert (FIRST_STRONG.encode() in made) == (code == "ar")
