"""Thirty visits in one day with no signal at all, and how long things take on such a phone."""

import datetime as dt
import gzip
import sys
import time
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from playwright.sync_api import expect

from apps.core import clock
from apps.visits.models import Operation, Photo, Value, Visit
from apps.visits.services.fields import Answer, fields_set
from tests import factories
from tests.phone.conftest import Phones, World, make_visit
from tests.phone.hand import Hand
from tests.phone.pixels import jpeg

pytestmark = [pytest.mark.browser, pytest.mark.long]
READ = {
    "temp": "27.1", "ph": "6.8", "do": "6.9", "ec": "1.2", "alk": "70", "gh": "150",
    "tan": "0.3", "no2": "0.1", "no3": "40", "fe": "2", "k": "60", "ca": "80",
}  # fmt: skip
# seconds; what is measured is several times quicker
ALL_SENT = 300
PUT_ALL = "async ([visit, sheet, answers]) => (await import('/field/m/store.js')).putAll(visit, sheet, answers)"
ADD_PHOTO = """async ([visit, sheet, bytes]) => {
  const file = new File([new Uint8Array(bytes)], 'a.jpg', { type: 'image/jpeg' });
  return (await (await import('/field/m/store.js')).addPhoto(visit, sheet, file, '')).id;
}"""


def say(words: str) -> None:
    """Tell a figure to whoever looks on with -s."""
    sys.stdout.write(f"\n{words}\n")


def answers_of(visit: Visit) -> dict[str, Any]:
    """Return twelve readings and twenty lines of a sheet, with all that goes with each."""
    sheet = visit.sheets.get()
    loop = str(sheet.system.loops.get().pk)
    now = clock.now().isoformat()
    out: dict[str, Any] = {}
    for code, figure in READ.items():
        row = f"readings/{uuid4()}"
        out |= {
            f"{row}/loop": loop, f"{row}/measurand": code, f"{row}/when": "before",
            f"{row}/value": float(figure), f"{row}/as_typed": figure, f"{row}/taken_at": now,
        }  # fmt: skip
    lines = sheet.lines.order_by("position")
    out |= {f"lines/{row.pk}/outcome": "done" for row in lines.exclude(code="left_running")[:19]}
    return out | {f"lines/{lines.get(code='left_running').pk}/outcome": "done"}


@pytest.fixture
def thirty(world: World) -> list[Visit]:
    """Book thirty visits for Ana."""
    start = factories.NOW - dt.timedelta(hours=1)
    for n in range(29):
        make_visit(f"Client {n:02}", [world.staff["ana"]], start + dt.timedelta(minutes=10 * n))
    return list(Visit.objects.order_by("start", "pk"))


def work(hand: Hand, visit: Visit, answers: dict[str, Any], photo: list[int]) -> None:
    """Do a visit: its answers, three photos, its end."""
    sheet = visit.sheets.get()
    hand.page.evaluate(PUT_ALL, [str(visit.pk), str(sheet.pk), answers])
    for path, value in answers.items():
        if not path.endswith("/taken_at"):
            hand.journal.note(visit.pk, sheet.pk, path, value)
    keys = [hand.page.evaluate(ADD_PHOTO, [str(visit.pk), str(sheet.pk), photo]) for _ in range(3)]
    hand.journal.photos |= set(keys)
    hand.go(f"/field/visits/{visit.pk}/finish/")
    hand.page.get_by_role("button", name="Finish the visit").click()
    expect(hand.page.locator("#says")).to_contain_text("Finished on this phone")


def test_a_day_of_thirty_visits_with_no_signal(
    phones: Phones, world: World, thirty: list[Visit]
) -> None:
    hand = phones(worker=True).open()
    hand.page.wait_for_function("() => navigator.serviceWorker.controller")
    hand.arrived()
    hand.context.set_offline(True)
    photo = list(jpeg(640, 480))
    for visit in thirty:
        work(hand, visit, answers_of(visit), photo)
    # the office answers in two of them meanwhile
    office = factories.actor(world.staff["office"], clock.now())
    for visit in thirty[:2]:
        row = visit.sheets.get().lines.get(code="left_running")
        note = Answer(f"lines/{row.pk}/note", "From the office", uuid4(), row.sheet_id)
        fields_set(visit=visit, answers=[note], device="office", at=clock.now(), by=office)
    hand.reload()
    begun = time.monotonic()
    hand.context.set_offline(False)
    hand.now()
    hand.page.wait_for_selector(
        "body[data-phase=arrived][data-pending='0']", state="attached", timeout=ALL_SENT * 1000
    )
    took = time.monotonic() - begun
    say(f"{Operation.objects.count()} answers, {Photo.objects.count()} photos sent in {took:.0f} s")
    assert hand.journal.missing() == []
    assert set(Visit.objects.values_list("state", flat=True)) == {"written_up"}
    assert Value.objects.filter(value="From the office").count() == 2


def test_how_long_things_take(phones: Phones, world: World, thirty: list[Visit]) -> None:
    browser = Client()
    browser.force_login(world.staff["ana"])
    whole = browser.get("/api/v1/field/day").content
    size = len(gzip.compress(whole, 6))
    hand = phones(worker=True).open()
    hand.page.wait_for_function("() => navigator.serviceWorker.controller")
    hand.arrived()
    hand.context.set_offline(True)
    cold = []
    for _ in range(5):
        begun = time.monotonic()
        hand.page.goto("/field/")
        hand.ready()
        cold.append(time.monotonic() - begun)
    hand.go(hand.place(f"read/{world.built.loop.pk}/ph/before/1"))
    took = hand.page.evaluate("""async () => {
      const box = document.getElementById('value'), out = [];
      for (let n = 0; n < 200; n += 1) {
        box.value = `${(5 + (n % 40) / 10).toFixed(1)}`;
        const at = performance.now();
        box.dispatchEvent(new Event('input', { bubbles: true }));
        while (box.dataset.kept !== 'yes') await new Promise((next) => setTimeout(next));
        out.push(performance.now() - at);
      }
      return out.sort((a, b) => a - b);
    }""")
    say(
        f"day {len(whole) / 1000:.0f} kB, {size / 1000:.0f} kB packed; cold start {min(cold) * 1000:.0f} to"
        f" {max(cold) * 1000:.0f} ms; keystroke to kept p50 {took[100]:.0f} ms, p95 {took[190]:.0f} ms"
    )
    # the figures are read, not judged: the machine may do much else
    assert size < 150_000
