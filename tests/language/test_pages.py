"""Every page in a language that nobody speaks: what is no data carries its marks."""

import re
from html.parser import HTMLParser
from typing import Any

import pytest
from django.db import transaction
from django.urls import reverse

from apps.calc.calculators import CALCULATORS
from apps.catalogue.choices import EntryKind
from apps.catalogue.models import Entry
from apps.core.money import currencies, currency_name
from tests.calc.calculator_examples import EXAMPLES
from tests.factories import NOW
from tests.language.conftest import plain_on
from tests.language.pseudo import CODE
from tests.reader import Reader as Browser
from tests.trust.policy import POLICIES
from tests.trust.test_matrix import part
from tests.trust.world import Canaries

NOT_PAGES = re.compile(
    r"api:|livez|readyz|calendar$|.*(_csv|_pdf|[:_]photo|:report|portal:proposal|:answer|:worker|:manifest|:module)$"
)
PAGES = sorted(
    name for name, row in POLICIES.items() if "GET" in row.methods and not NOT_PAGES.match(name)
)
FORMS = [name for name in PAGES if "POST" in POLICIES[name].methods and name.startswith("office:")]
# what the reference shows of an entry is data: the firm may edit it, and compares it with a source
FIGURES = {"office:entry", "office:entry_edit", "office:entry_restore"}


def address(name: str, world: Canaries) -> str:
    """The address of a page of the first household; a client's by the link of a letter."""
    kwargs = {key: part(kind, world.first, world) for key, kind in POLICIES[name].objects.items()}
    if name.startswith("portal:"):
        kwargs["secret"] = world.first.link
    return reverse(name, kwargs=kwargs)


def figures(kind: str, code: str) -> list[str]:
    """The texts among an entry's figures, and its code."""
    entry = Entry.objects.get(kind=kind, code=code)
    held: list[str] = [code, entry.source_code]
    for value in entry.figures.values():
        held += [str(v) for v in value] if isinstance(value, list) else [str(value)]
    return [text for text in held if re.search(r"[A-Za-z]", text)]


def data_of(name: str, world: Canaries) -> list[str]:
    """What else is data on a page."""
    if name in FIGURES:
        return figures("species", "nile_tilapia")
    if name == "office:currency":  # as CLDR has them in the page's language
        return [f"{code} · {currency_name(code)}" for code in currencies(NOW.date())]
    if name == "portal:page":  # what its report was frozen with
        return [f"{word} {world.first.canary}" for word in ("address", "tech")]
    return []


def test_pages(households: Canaries, browser: Browser) -> None:
    found = []
    for name in PAGES:
        own = Browser() if name.startswith(("portal:", "accounts:login")) else browser
        answer = own.get(address(name, households), follow=True)
        html = answer.content.decode()
        assert answer.status_code == 200, f"{name}: {html[:500]}"
        assert f'lang="{CODE}" dir="ltr"' in html, name
        if plain := plain_on(html, *data_of(name, households)):
            found.append(f"{name}: {plain}")
    assert not found, "\n".join(found)


class Fields(HTMLParser):
    """The fields of a page's forms."""

    def __init__(self) -> None:
        super().__init__()
        self.names: dict[str, str] = {}

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        held = dict(attrs)
        if tag in ("input", "select", "textarea") and held.get("name"):
            self.names[str(held["name"])] = held.get("value") or ""


def refusals(name: str, typed: str, world: Canaries, browser: Browser) -> str:
    """What a form says in plain letters to the same word in each of its fields; nothing is kept."""
    where = address(name, world)
    page = Fields()
    page.feed(browser.get(where).content.decode())
    kept = {key: page.names[key] for key in ("rev",) if key in page.names}
    with transaction.atomic():
        answer = browser.post(where, dict.fromkeys(page.names, typed) | kept, follow=True)
        transaction.set_rollback(True)
    assert answer.status_code in (200, 409, 422), f"{name}: {answer.content[:500]!r}"
    plain = plain_on(answer.content.decode(), *data_of(name, world))
    return f"{name}: {plain}" if plain else ""


@pytest.mark.parametrize("typed", ["", "?", "-999999"])
def test_forms_refused(typed: str, households: Canaries, browser: Browser) -> None:
    found = [refusals(name, typed, households, browser) for name in FORMS]
    assert not any(found), "\n".join(filter(None, found))


def test_reference(households: Canaries, browser: Browser) -> None:
    found = []
    for kind in EntryKind.values:
        codes = list(Entry.objects.filter(kind=kind).values_list("code", flat=True))
        code = codes[len(codes) // 2]
        page = browser.get(reverse("office:reference_kind", args=[kind])).content.decode()
        entry = browser.get(reverse("office:entry", args=[kind, code])).content.decode()
        found += [plain_on(page, *codes), plain_on(entry, *figures(kind, code))]
    assert not any(found), "\n".join(filter(None, found))


def query_of(values: dict[str, Any]) -> dict[str, str]:
    """A calculator's input as its form sends it."""
    found: dict[str, str] = {}
    for key, value in values.items():
        if isinstance(value, list) and value and isinstance(value[0], dict):
            for index, row in enumerate(value[:4]):
                found |= {f"{key}-{index}-{column}": str(cell) for column, cell in row.items()}
        elif isinstance(value, list):
            found[key] = " ".join(map(str, value))
        else:
            found[key] = str(value)
    return found


def test_calculators_answer(browser: Browser) -> None:
    found = []
    for name, values, _result in EXAMPLES:
        answer = browser.get(reverse("office:calculator", args=[name]), query_of(values))
        found.append(plain_on(answer.content.decode()))
    assert not any(found), "\n".join(filter(None, found))


@pytest.mark.parametrize("typed", ["seven", "-99999", "123456789", "2015-02-30"])
def test_calculators_refuse(typed: str, browser: Browser) -> None:
    found = []
    for name, calculator in CALCULATORS.items():
        keys = [field.name for field in calculator.fields if not field.columns]
        keys += [f"{f.name}-0-{c.name}" for f in calculator.fields for c in f.columns]
        answer = browser.get(reverse("office:calculator", args=[name]), dict.fromkeys(keys, typed))
        assert answer.status_code == 422
        found.append(plain_on(answer.content.decode()))
    assert not any(found), "\n".join(filter(None, found))
