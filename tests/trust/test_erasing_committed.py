"""Erasing for good, on a server: what comes in meanwhile stops all of it."""

from typing import Any

import pytest

from apps.clients.models import Client, PastClients
from apps.core import clock
from apps.core.exceptions import Conflict
from apps.core.models import Erasing, Job
from apps.flows import erasing
from tests import factories
from tests.trust.test_erasing import erase, over, without_photos
from tests.trust.world import build


def test_what_comes_in_meanwhile_stops_it_whole(
    committed_db: None, monkeypatch: pytest.MonkeyPatch, settings: Any, tmp_path: Any
) -> None:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    settings.BACKYARD_DIR = tmp_path
    world = build()
    over(world.first)
    with monkeypatch.context() as patched:
        without_photos(patched)
        with pytest.raises(Conflict, match="came in just now"):
            erase(world)
    assert Client.objects.filter(pk=world.first.client.pk).exists()
    assert not PastClients.objects.exists()
    assert not Job.objects.filter(kind="erasing.finish").exists()
    assert not Erasing.objects.exists()
    assert erasing.client_erase(
        client=world.first.client, name="kingfisher", by=factories.actor(world.office),
        at=factories.NOW,
    )  # fmt: skip
    assert not Client.objects.filter(pk=world.first.client.pk).exists()
