"""What was used, swapped and signed in the report; snapshots of before still draw."""

import io
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pikepdf
import pytest
from pypdf import PdfReader

from apps.flows import visit_closing
from apps.reports.rendering.document import html_of
from apps.reports.rendering.pdf import render
from apps.reports.services.reports import version_prepare
from apps.visits.models import Operation, Value
from benchmarks.world import World
from tests import factories

pytestmark = pytest.mark.django_db
STROKES = [[[0.1, 0.2], [0.5, 0.9]], [[0.7, 0.7]]]


@pytest.fixture(autouse=True)
def now_again() -> Iterator[None]:
    """The world of the benchmarks lives now; put the tests' day back."""
    day = factories.NOW
    yield
    factories.NOW = day


def snapshot(**more: Any) -> dict[str, Any]:
    """Return the snapshot of a visit on which a pump was swapped, something used, and signed."""
    world = World()
    visit = world.visit()
    sheet, pump = visit.sheets.get(), world.built.loop.components.get(name="Pump")
    pump.serial = "OLD-1"
    pump.save()
    key = uuid4()
    said = {
        f"supplies/{key}/item": "Chelated iron", f"supplies/{key}/amount": 20.5,
        f"supplies/{key}/unit": "g", f"swaps/{key}/component": str(pump.pk),
        f"swaps/{key}/serial": "RW-77", f"swaps/{key}/make": "Reedworks",
        f"swaps/{key}/reason": "hums", f"signature/{key}/name": "Robin Kingsley",
        f"signature/{key}/strokes": STROKES, f"signature/{key}/at": factories.NOW.isoformat(),
    }  # fmt: skip
    Value.objects.bulk_create(
        Value(visit=visit, sheet=sheet, path=path, value=value, op_id=uuid4())
        for path, value in (said | more).items()
    )
    assert not Operation.objects.exists()
    visit_closing.submit(
        visit=visit, body=world.body(visit), key=str(uuid4()), by=world.actor, at=factories.NOW
    )
    visit.refresh_from_db()
    sheet = visit.sheets.select_related("system__place__client").get()
    sheet.visit = visit
    return dict(version_prepare(sheet, reason="", at=factories.NOW)[1])


def test_the_snapshot_keeps_them_as_data() -> None:
    found = snapshot()
    assert found["supplies"] == [{"item": "Chelated iron", "amount": 20.5, "unit": "g"}]
    assert found["swaps"] == [
        {"name": "Pump", "off": "OLD-1", "make": "Reedworks", "on": "RW-77", "reason": "hums"}
    ]
    assert found["signature"]["name"] == "Robin Kingsley"
    assert found["signature"]["strokes"] == STROKES


def test_the_report_says_and_draws_them() -> None:
    html = html_of(snapshot())
    for words in ("Chelated iron, 20.5", "Swapped: Pump", "off: OLD-1 · on: Reedworks RW-77 · hums",
                  "Signed by Robin Kingsley on"):  # fmt: skip
        assert words in html, words
    assert "<title>Signature of Robin Kingsley</title>" in html
    assert 'd="M24 16.5L120 74.2M168 57.7h1"' in html


def test_a_snapshot_of_before_draws_as_it_did() -> None:
    old = snapshot()
    for name in ("supplies", "swaps", "signature"):
        del old[name]
    html = html_of(old)
    for words in ("Used here", "Swapped", "Signature"):
        assert words not in html, words


def test_a_name_without_lines_still_stands() -> None:
    found = snapshot()
    found["signature"] = {"name": "Robin <b>", "at": None, "strokes": []}
    html = html_of(found)
    assert "Signed by Robin &lt;b&gt;." in html
    assert 'class="signature"' not in html


@pytest.mark.pdf
def test_the_signature_is_a_tagged_figure_with_words() -> None:
    data = render(snapshot(), {})
    with pikepdf.open(io.BytesIO(data)) as pdf:
        alts = [
            str(item.Alt)
            for item in pdf.objects
            if isinstance(item, pikepdf.Dictionary)
            and item.get("/S") == pikepdf.Name.Figure and "/Alt" in item
        ]  # fmt: skip
    assert "Signature of Robin Kingsley" in alts
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
    assert "Used here" in text
