"""Holds every whole page, letter and paper of a client's that any test draws to the standard."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.template.backends.django import Template

from tests.markup import faults

OURS = ("portal/", "letters/", "pdf/", "errors/")


@pytest.fixture(scope="session", autouse=True)
def markup_as_the_standard_has_it() -> Iterator[None]:
    """Raise where a template of clients renders to a page that is none."""
    drawn = Template.render

    def render(self: Any, *args: Any, **kwargs: Any) -> Any:
        text = drawn(self, *args, **kwargs)
        name = str(self.template.name or "")
        if name.startswith(OURS) and name.endswith(".html"):
            found = faults(str(text))
            assert not found, f"{name} is no HTML as the standard has it: " + "; ".join(found)
        return text

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Template, "render", render)
        yield
