"""Planted holes: the matrix has to turn red for each of them."""

from typing import Any

import pytest
from rest_framework.permissions import AllowAny

from apps.core import clock
from apps.core.scoping import ScopedQuerySet
from apps.office.api import photos, reports
from apps.portal import views as portal
from apps.visits.models import Photo, Visit
from apps.visits.services.booking import client_answer
from tests import factories
from tests.trust.test_matrix import Case, run_all
from tests.trust.world import Canaries, build

pytestmark = [pytest.mark.matrix, pytest.mark.long]


@pytest.fixture
def canaries(db: None, monkeypatch: pytest.MonkeyPatch) -> Canaries:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    return build()


def only(*names: str) -> Any:
    """Return a filter for some addresses."""

    def wanted(case: Case) -> bool:
        return case.name in names

    return wanted


def unscoped(model: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let everybody see every row of a model."""
    scoped = ScopedQuerySet.visible_to

    def visible_to(self: Any, actor: Any) -> Any:
        return self if self.model is model else scoped(self, actor)

    monkeypatch.setattr(ScopedQuerySet, "visible_to", visible_to)


def test_unscoped_foreign_row(canaries: Canaries, monkeypatch: pytest.MonkeyPatch) -> None:
    unscoped(Visit, monkeypatch)
    found = run_all(canaries, only("api:visit", "api:transition"))
    assert any("other's row" in fault for fault in found)
    assert any("shows the other household" in fault for fault in found)


def test_list_of_everything(canaries: Canaries, monkeypatch: pytest.MonkeyPatch) -> None:
    unscoped(Visit, monkeypatch)
    assert any("shows the other household" in f for f in run_all(canaries, only("api:visits")))


def test_get_that_acts(canaries: Canaries, monkeypatch: pytest.MonkeyPatch) -> None:
    shown = portal.appointments

    def acting(actor: Any, at: Any) -> Any:
        visits = shown(actor, at)
        for visit in visits:
            client_answer(visit=visit, answer="confirmed", words="", by=actor, at=at)
        return visits

    monkeypatch.setattr(portal, "appointments", acting)
    assert any("changed" in fault for fault in run_all(canaries, only("portal:page")))


def test_public_media(canaries: Canaries, monkeypatch: pytest.MonkeyPatch) -> None:
    unscoped(Photo, monkeypatch)
    monkeypatch.setattr(photos.OnePhoto, "permission_classes", [AllowAny])
    monkeypatch.setattr(
        photos.OnePhoto, "actor", property(lambda self: factories.actor(canaries.office))
    )
    found = run_all(canaries, only("api:photo"))
    assert any("anonymous" in fault for fault in found)


def test_missing_role_check(canaries: Canaries, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reports.ReleaseReport, "office_only", lambda self: self.actor)
    assert run_all(canaries, only("api:release")) != []
