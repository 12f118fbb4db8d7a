"""The worlds whose pages are read in the pseudo language."""

from typing import Any

import pytest
from django.conf import settings as django_settings

from apps.accounts.models import Firm
from apps.clients.models import Contact
from apps.core import clock
from tests import factories
from tests.language import data
from tests.language.pseudo import CODE, Pseudo, install
from tests.language.reading import plain_words, read
from tests.reader import Reader as Browser
from tests.trust.world import Canaries, build


@pytest.fixture
def pseudo(monkeypatch: pytest.MonkeyPatch, settings: Any) -> Pseudo:
    """The pseudo language, from here on."""
    return install(monkeypatch, settings)


@pytest.fixture
def households(db: None, monkeypatch: pytest.MonkeyPatch, pseudo: Pseudo) -> Canaries:
    """Two households with a row of every kind; everybody reads the pseudo language."""
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    made = build()
    everybody_reads()
    return made


@pytest.fixture
def browser(households: Canaries) -> Browser:
    """The office's browser."""
    made = Browser()
    made.cookies[django_settings.SESSION_COOKIE_NAME] = households.sessions["office"]
    return made


def everybody_reads(language: str = CODE) -> None:
    """Set the language of the firm and of all contacts."""
    Contact.objects.update(language=language)
    Firm.objects.update(language=language)


def plain_on(html: str, *more: str) -> str:
    """What stands on a page in plain letters and is no data, a line each; nothing at best."""
    return "\n".join(plain_words(read(html), data.pattern(more)))
