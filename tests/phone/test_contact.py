"""What a contact tells the office while somebody goes on typing: nothing that was typed is missing."""

from typing import Any

import pytest
from playwright.sync_api import Route

from tests.phone.hand import Hand

pytestmark = pytest.mark.browser
# each time that a contact looks at what waits, one more answer is given right behind it
TYPE_BEHIND = """async ([visit, sheet, path]) => {
  const store = await import('/field/m/store.js');
  const { getAll } = IDBObjectStore.prototype;
  window.typed = 0;
  IDBObjectStore.prototype.getAll = function (...args) {
    if (window.typed < 3 && this.name === 'settle' && new Error().stack.includes('contact')) {
      window.typed += 1;
      void store.put(visit, sheet, path, `Typed behind, ${window.typed}`);
    }
    return getAll.apply(this, args);
  };
}"""


def test_an_answer_typed_during_a_contact_is_no_gap(hand: Hand) -> None:
    sent: set[str] = set()
    gaps: list[int] = []

    def send(route: Route) -> None:
        body: Any = route.request.post_data_json
        sent.update(op["id"] for op in body["ops"])
        route.continue_()

    def tell(route: Route) -> None:
        told: Any = route.request.post_data_json
        gaps.append(told["last_seq"] - told["pending_ops"] - len(sent))
        route.continue_()

    hand.page.route("**/api/v1/field/operations", send)
    hand.page.route("**/api/v1/field/contact", tell)
    path = f"lines/{hand.lines[0]}/note"
    hand.page.evaluate(TYPE_BEHIND, [str(hand.visit.pk), str(hand.sheet.pk), path])
    hand.now()
    hand.page.wait_for_function("() => window.typed === 3")
    hand.journal.note(hand.visit.pk, hand.sheet.pk, path, "Typed behind, 3")
    hand.all_there()
    assert len(gaps) >= 3
    assert max(gaps) <= 0, gaps
