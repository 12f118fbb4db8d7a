"""The table of pictures knows every page in every state that it can be in."""

from dataclasses import replace

import pytest

from tests.screens.table import Row, missing, rows


def test_no_page_and_no_state_is_missing() -> None:
    assert missing(rows()) == []


@pytest.mark.parametrize(
    ("name", "state"),
    [("office:due", "full"), ("office:due", "empty"), ("office:book", "error")],
)
def test_a_state_without_a_picture_shows(name: str, state: str) -> None:
    fewer = [row for row in rows() if (row.name, row.state) != (name, state)]
    assert [text.split(": ")[0] for text in missing(fewer)] == [name]


def test_a_picture_without_a_page_shows() -> None:
    more: list[Row] = [*rows(), replace(rows()[0], name="office:gone")]
    assert missing(more) == ["office:gone: no such page"]
