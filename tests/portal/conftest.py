"""What the tests of the client's page share."""

import pytest

from tests.reader import Reader


@pytest.fixture
def client() -> Reader:
    """Return a browser that goes from a letter's link to its page."""
    return Reader()
