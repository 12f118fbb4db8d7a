"""A browser in which somebody presses the link of a letter."""

from collections.abc import Callable
from typing import Any

from django.test import Client

from apps.accounts.services import link_find
from tests.factories import NOW


class Reader(Client):
    """Follows from the link to the page, whose session it keeps."""

    def get(self, path: str, *args: Any, **kwargs: Any) -> Any:
        """Return the page, or what is said instead of it."""
        return self._through(super().get, path, *args, **kwargs)

    def head(self, path: str, *args: Any, **kwargs: Any) -> Any:
        """Return the head of the page."""
        return self._through(super().head, path, *args, **kwargs)

    @staticmethod
    def _through(method: Callable[..., Any], path: str, *args: Any, **kwargs: Any) -> Any:
        answer = method(path, *args, **kwargs)
        return method(answer["Location"]) if _is_swap(path, answer) else answer


def _is_swap(path: str, answer: Any) -> bool:
    return bool(answer.status_code == 302 and path.startswith("/c/"))


def number_of(secret: str) -> str:
    """Return the number of a link, which stands in its addresses from the second request on."""
    link = link_find(secret, NOW)
    assert link is not None
    return str(link.pk)
