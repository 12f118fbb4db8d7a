"""The API's words follow the caller's language; its codes and figures do not."""

import re
from typing import Any

import pytest

from tests.api.conftest import World, at_nine, visit, world  # noqa: F401
from tests.language.pseudo import CODE, Pseudo


def messages(body: Any) -> list[str]:
    """All words of a problem, without the field's name before a message."""
    said = [body["title"], body["detail"], *(item["message"] for item in body.get("errors", []))]
    return [re.sub(r"^[a-z_]+: ", "", text) for text in said]


def test_problems_are_marked_and_their_codes_are_not(world: World, pseudo: Pseudo) -> None:  # noqa: F811
    calls = [
        ("GET", "/visits/00000000-0000-4000-8000-000000000001", None),
        ("GET", "/due?on=tomorrow", None),
        ("POST", "/visits", {"place": "x", "systems": [], "technicians": []}),
        ("POST", "/visits", {"colour": "red"}),
        ("POST", "/calculators/ammonia", {"ph": 71, "temp_c": "warm"}),
        ("POST", "/calculators/nothing", {}),
    ]
    for method, path, body in calls:
        answer = world.office(method, path, body)
        found = answer.json()
        assert answer.status_code >= 400, path
        assert found["type"].isascii()
        for text in messages(found):
            assert "⟦" in text, f"{path}: {text}"


def test_accept_language_decides(world: World, monkeypatch: pytest.MonkeyPatch) -> None:  # noqa: F811
    from django.utils.translation import trans_real

    monkeypatch.setitem(trans_real._translations, CODE, Pseudo())
    monkeypatch.setattr(trans_real, "check_for_language", lambda code: code in ("en", CODE))
    trans_real._get_supported_language_variant.cache_clear()
    path = "/visits/00000000-0000-4000-8000-000000000001"
    plain = world.office("GET", path, **{"Accept-Language": "en"}).json()
    marked = world.office("GET", path, **{"Accept-Language": CODE}).json()
    trans_real._get_supported_language_variant.cache_clear()
    assert plain["detail"] == "There is no such thing here."
    assert marked["detail"].startswith("⟦")
    assert plain["type"] == marked["type"]


def test_a_calculation_in_words_and_figures(world: World, pseudo: Pseudo) -> None:  # noqa: F811
    body = {"tan_mg_l": 5.0, "ph": 8.5, "temp_c": 28}
    answer = world.office("POST", "/calculators/ammonia", body).json()
    assert isinstance(answer["result"]["fraction"], float)
    said = [*answer["cautions"], answer["explanation"]["valid_range"]]
    assert said
    assert all("⟦" in text for text in said)
