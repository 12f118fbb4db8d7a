"""What is asked for can be translated: makemessages finds it."""

import ast
import shutil
from io import BytesIO
from pathlib import Path

import django
import pytest
import rest_framework
from babel.messages.pofile import read_po
from django.core.management import call_command

from tests.language.pseudo import Pseudo
from tests.language.test_pages import FORMS, PAGES, address, refusals
from tests.reader import Reader as Browser
from tests.trust.world import Canaries

ROOT = Path(__file__).resolve().parent.parent.parent


def msgids(path: Path) -> set[str]:
    """The texts of a file of translators, each with its context before it."""
    # a template of translators does not know its plurals yet
    text = path.read_bytes().replace(
        b"nplurals=INTEGER; plural=EXPRESSION", b"nplurals=2; plural=n!=1"
    )
    held = read_po(BytesIO(text))
    found = set()
    for message in held:
        ids = message.id if isinstance(message.id, tuple) else (message.id,)
        found |= {f"{message.context}\x04{text}" if message.context else text for text in ids}
    return found


@pytest.fixture(scope="module")
def ours(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """All texts that makemessages finds in a copy of the source."""
    if shutil.which("xgettext") is None:
        pytest.fail("xgettext is missing: install gettext (packaging/apt-test.txt)")
    copy = tmp_path_factory.mktemp("source")
    for part in ("apps", "templates", "backyard"):
        shutil.copytree(
            ROOT / part, copy / part,
            ignore=shutil.ignore_patterns("__pycache__", "static", "fonts", "migrations"),
        )  # fmt: skip
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(copy)
        patch.setattr("django.conf.settings.LOCALE_PATHS", [copy / "locale"])
        call_command("makemessages", locale=["xx"], keep_pot=True, verbosity=0)
    return msgids(copy / "locale" / "django.pot")


@pytest.fixture(scope="module")
def theirs() -> set[str]:
    """The texts of Django and of the REST framework, which bring their own translations."""
    roots = [Path(module.__file__ or "").parent for module in (django, rest_framework)]
    return {
        text
        for root in roots
        for path in root.rglob("locale/en/LC_MESSAGES/django.po")
        for text in msgids(path)
    }


def test_finds_templates_code_calculators_and_the_catalogue(ours: set[str]) -> None:
    assert {
        "To the content",  # a template
        "%(count)d day late",  # code, a plural
        "{field} must be a number",  # the science
        "Alkalinity is low ({alk}): raise it in small daily steps, then hold it.",
        "Fish gasp at the surface",  # the catalogue
        "Letters need an e-mail address.", "Not signed in",  # under other names of gettext
        "unit\x04mg/L", "date pattern\x04EEE d MMMM",
    } <= ours  # fmt: skip


def test_all_that_pages_ask_for_is_found(
    ours: set[str],
    theirs: set[str],
    households: Canaries,
    browser: Browser,
    pseudo: Pseudo,
) -> None:
    pseudo.seen.clear()
    for name in PAGES:
        browser.get(address(name, households))
    for name in FORMS:
        refusals(name, "?", households, browser)
    assert len(pseudo.seen) > 500
    typed = (households.first.canary, households.second.canary, "⟦")
    lost = {
        text
        for text in pseudo.seen - ours - theirs
        if text.strip() and not any(word in text for word in typed)
    }
    assert not lost, "\n".join(sorted(lost))


def in_f_strings(path: Path) -> list[str]:
    """Words that stand in a call of gettext inside of an f-string: xgettext does not look there."""
    return [
        f"{path.name}:{call.lineno}: {call.args[0].value}"
        for joined in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(joined, ast.JoinedStr)
        for call in ast.walk(joined)
        if isinstance(call, ast.Call)
        and isinstance(call.func, ast.Name)
        and (call.func.id == "_" or "gettext" in call.func.id)
        and call.args
        and isinstance(call.args[0], ast.Constant)
    ]


def test_no_words_stand_in_f_strings() -> None:
    found = [line for path in (ROOT / "apps").rglob("*.py") for line in in_f_strings(path)]
    assert not found, "\n".join(found)


def test_nothing_is_left_behind(ours: set[str]) -> None:
    assert not (ROOT / "locale" / "words.py").exists()
    assert not list(ROOT.glob("templates/**/*.html.py"))
