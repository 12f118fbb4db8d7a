"""The clock stands, nobody is woken, and the firm plans."""

import pytest

from apps.core import clock, outbox
from tests import factories
from tests.rounds.world import Town, town


@pytest.fixture
def firm(db: None, monkeypatch: pytest.MonkeyPatch) -> Town:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    return town()
