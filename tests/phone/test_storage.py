"""The phone's own store fails, fills up or is taken away under the open page."""

import random
from typing import Any

import pytest
from playwright.sync_api import expect

from apps.visits.models import Operation, Value
from tests.phone.conftest import Phones
from tests.phone.hand import Hand
from tests.phone.pixels import jpeg

pytestmark = pytest.mark.browser
DYING = """(times) => {
  const real = IDBDatabase.prototype.transaction;
  let left = times;
  IDBDatabase.prototype.transaction = function (...words) {
    if (left > 0) {
      left -= 1;
      this.close();
      throw new DOMException('Connection to the database was lost', 'InvalidStateError');
    }
    return real.apply(this, words);
  };
  globalThis.mend = () => (IDBDatabase.prototype.transaction = real);
}"""


def test_two_tabs_count_as_one_phone(hand: Hand) -> None:
    posts: list[Any] = []
    going: list[int] = [0, 0]

    def started(request: Any) -> None:
        if request.url.endswith("/operations"):
            posts.append(request.post_data_json)
            going[0] += 1
            going[1] = max(going)

    def ended(request: Any) -> None:
        if request.url.endswith("/operations"):
            going[0] -= 1

    hand.context.on("request", started)
    hand.context.on("requestfinished", ended)
    other = Hand(
        hand.context.new_page(), hand.visit, hand.sheet, hand.lines, hand.journal, hand.faults
    )
    other.open()
    for n in range(10):
        hand.line(n % 4).write(f"One {n}", n % 4)
        other.line(4 + n % 4).write(f"Two {n}", 4 + n % 4)
    hand.arrived()
    other.arrived()
    assert hand.journal.missing() == []
    seqs = list(Operation.objects.values_list("seq", flat=True))
    assert len(seqs) == len(set(seqs))
    assert going[1] == 1


def test_a_connection_that_died_is_opened_again(hand: Hand) -> None:
    hand.line()
    hand.page.evaluate(DYING, 2)
    hand.write("Through a dead connection")
    hand.all_there()


def test_a_store_that_stays_dead_leaves_words_in_the_small_list(hand: Hand) -> None:
    hand.line()
    hand.page.evaluate(DYING, 10**9)
    hand.write("In the small list")
    hand.says("kept in a small list")
    assert hand.page.locator("#sync").get_attribute("data-state") == "not-saved"
    hand.page.reload()
    hand.ready()
    hand.all_there()


# what the page asks of itself while it starts finds no answer, as often as it tries again
STARTING = """() => {
  const real = IDBObjectStore.prototype.get, left = { all_arrived: 4, install_seen: 4 };
  IDBObjectStore.prototype.get = function (key) {
    if (left[key]-- > 0)
      throw new DOMException('Connection to the database was lost', 'InvalidStateError');
    return real.call(this, key);
  };
}"""


def test_a_store_that_dies_while_the_page_starts_keeps_nothing_from_being_sent(hand: Hand) -> None:
    hand.page.add_init_script(f"({STARTING})()")
    hand.reload()
    hand.line().write("Sent all the same")
    hand.all_there()


# another page's transaction that goes on and on
BARRED = """async () => {
  const db = await new Promise((done) => {
    const asked = indexedDB.open('backyard');
    asked.onsuccess = () => done(asked.result);
  });
  const tx = db.transaction(['ops', 'meta'], 'readwrite');
  globalThis.free = () => tx.abort();
  const on = () => { tx.objectStore('ops').get(0).onsuccess = on; };
  on();
}"""


def test_a_store_that_never_answers_leaves_words_in_the_small_list(hand: Hand) -> None:
    hand.line()
    hand.page.evaluate(BARRED)
    hand.write("While the store is barred")
    hand.says("kept in a small list")
    hand.page.evaluate("() => free()")
    hand.now()
    hand.all_there()


def test_a_small_list_that_comes_back_after_it_was_taken_in(hand: Hand) -> None:
    hand.line()
    hand.page.evaluate(BARRED)
    hand.write("The older words")
    listed = hand.page.evaluate("() => localStorage.getItem('backyard-journal')")
    hand.page.evaluate("() => free()")
    hand.now()
    hand.all_there()
    hand.write("The newer words")
    hand.all_there()
    # a browser that was killed had not yet told its disk that the list was empty
    hand.page.evaluate("(list) => localStorage.setItem('backyard-journal', list)", listed)
    hand.reload()
    expect(hand.page.locator("#note")).to_have_value("The newer words")
    hand.all_there()


def test_what_was_typed_as_the_page_is_left_is_there_again(hand: Hand) -> None:
    hand.line()
    hand.page.evaluate(BARRED)
    hand.page.locator("#note").fill("Typed on the way out")
    # on its way to the store when the page goes
    hand.reload()
    expect(hand.page.locator("#note")).to_have_value("Typed on the way out")
    hand.arrived()
    assert Value.objects.get(path__endswith="/note").value == "Typed on the way out"


def test_nowhere_to_keep_says_so_and_keeps_trying(hand: Hand) -> None:
    hand.line()
    hand.page.evaluate(DYING, 10**9)
    hand.page.evaluate("""() => { const real = Storage.prototype.setItem;
      Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); };
      globalThis.room = () => (Storage.prototype.setItem = real); }""")
    hand.page.locator("#note").fill("Kept nowhere yet")
    hand.page.wait_for_selector("#note[data-kept=failed]")
    hand.says("NOT kept. Leave this page open.")
    hand.phase("unkept")
    expect(hand.page.locator("#note")).to_have_value("Kept nowhere yet")
    # nothing else that is drawn takes the words away, and room brings them in
    hand.page.evaluate("() => { mend(); room(); }")
    hand.kept("#note")
    hand.journal.note(
        hand.visit.pk, hand.sheet.pk, f"lines/{hand.lines[0]}/note", "Kept nowhere yet"
    )
    hand.all_there()
    # a round that met the dead store tells the console what this test let it throw
    lost = "InvalidStateError: Connection to the database was lost"
    hand.faults[:] = [fault for fault in hand.faults if fault != lost]


def test_a_full_phone_refuses_photos_and_keeps_words(hand: Hand) -> None:
    hand.page.route("**/api/**", lambda route: route.abort())
    hand.go(hand.place("seen"))
    budget = hand.page.evaluate("async () => (await import('/field/m/store.js')).PHOTO_BUDGET")
    # one photo that takes all but a little of what photos may take
    hand.page.evaluate(
        """async (size) => (await import('/field/m/db.js')).strictly(['photos'], (tx) => tx.objectStore('photos').put(
          {id: 'filler', visit: 'x', sheet: 'y', state: 'new', size, user: null}))""",
        budget - 1000,
    )
    hand.photo(jpeg(400, 300), kept=False)
    expect(hand.page.get_by_role("alert")).to_contain_text(
        "No room for more photos until some are sent"
    )
    hand.line().write("Words go on")
    hand.page.evaluate("async () => (await import('/field/m/store.js')).photoGone('filler')")
    hand.page.unroute("**/api/**")
    hand.all_there()


def test_a_full_disk_keeps_words_in_the_small_list_and_empties_itself(
    phones: Phones, address: str
) -> None:
    hand = phones()
    cdp = hand.context.new_cdp_session(hand.page)
    # told before the store is opened: it is felt late by one that is open
    cdp.send("Storage.overrideQuotaForOrigin", {"origin": address, "quotaSize": 2_000_000})
    hand.open().arrived()
    hand.page.route("**/api/**", lambda route: route.abort())
    hand.line(1).write("Kept while there was room", 1)
    hand.go(hand.place("seen"))
    for n in range(12):
        data = jpeg(700, 500, seed=n, noise=True)
        hand.page.locator("input[type=file]").set_input_files(
            {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": data}
        )
        told = hand.page.locator(f"figure:nth-of-type(1) >> nth={n}").or_(
            hand.page.get_by_role("alert").filter(visible=True)
        )
        expect(told.first).to_be_visible()
        if hand.page.get_by_role("alert").filter(visible=True).count():
            break
    expect(hand.page.get_by_role("alert")).to_contain_text("This photo could not be kept")
    keys = hand.page.evaluate(
        "async () => (await import('/field/m/store.js')).allPhotos().then((all) => all.map((p) => p.id))"
    )
    assert len(keys) >= 2
    hand.journal.photos |= set(keys)
    hand.line()
    hand.page.evaluate(
        """async () => {
          const { strictly } = await import('/field/m/db.js');
          for (const size of [60_000, 8_000, 1_000])
            for (let n = 0; n < 100; n += 1)
              try {
                await strictly(['bytes'], (tx) => tx.objectStore('bytes').put({ id: `${size} ${n}`, buffer: crypto.getRandomValues(new Uint8Array(size)) }));
              } catch { break; }
        }"""
    )
    hand.write("Words without room " + random.Random(1).randbytes(1900).hex())
    hand.says("This phone is nearly full")
    hand.go("/field/").line()
    expect(hand.page.locator("#note")).to_have_value(hand.journal.typed[-1][1])
    hand.page.unroute("**/api/**")
    hand.now()
    hand.all_there()
    hand.faults[:] = [fault for fault in hand.faults if "Quota" not in fault]


def test_a_store_taken_away_under_the_page_loses_nothing_typed_after(hand: Hand) -> None:
    hand.line()
    cdp = hand.context.new_cdp_session(hand.page)
    origin = hand.page.evaluate("() => location.origin")
    # in the midst of reading, which is tried again
    hand.page.evaluate(
        """async () => {
          const [{ pending }, { values }] = await Promise.all(
            [import('/field/m/waiting.js'), import('/field/m/answers.js')]);
          globalThis.reads = Array.from({ length: 200 }, () => [pending(), values('x', null)]).flat();
        }"""
    )
    cdp.send("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "indexeddb"})
    hand.page.evaluate("() => Promise.all(globalThis.reads).then(() => true)")
    hand.write("After it was taken away")
    hand.all_there()
    # the day is fetched anew, though the server's answer for it has not changed
    hand.go("/field/")
    expect(hand.page.locator(".stops .name").first).to_have_text("Okafor, garden")


NEXT_LAYOUT = ("const VERSION = 1;", "const VERSION = 2;")


def test_a_newer_layout_of_the_store_beside_an_old_page(hand: Hand) -> None:
    hand.page.route("**/operations", lambda route: route.abort())
    hand.line().write("By the old page")
    newer = Hand(
        hand.context.new_page(), hand.visit, hand.sheet, hand.lines, hand.journal, hand.faults
    )

    def next_db(route: Any) -> None:
        text = route.fetch().text()
        assert NEXT_LAYOUT[0] in text
        text = text.replace(*NEXT_LAYOUT).replace(
            "if (from < 1) {",
            "if (from < 2) db.createObjectStore('more', { keyPath: 'id' });\n  if (from < 1) {",
        )
        route.fulfill(body=text, content_type="text/javascript")

    newer.page.route("**/m/db.js", next_db)
    newer.open(newer.line_path(1)).write("By the new page", 1)
    hand.write("By the old page, after")
    hand.page.unroute("**/operations")
    hand.now()
    hand.all_there()
    newer.arrived()
    assert hand.page.evaluate("async () => (await import('/field/m/store.js')).narrowly()") == 0


@pytest.mark.parametrize(
    "broken",
    [
        "Object.defineProperty(globalThis, 'indexedDB', {value: {open: () => { throw new DOMException('no', 'SecurityError'); }}});",
        "IDBFactory.prototype.open = () => { throw new DOMException('switched off', 'InvalidAccessError'); };",
    ],
)
def test_a_browser_that_keeps_nothing_starts_no_visit(phones: Phones, broken: str) -> None:
    hand = phones()
    hand.page.add_init_script(broken)
    hand.page.goto("/field/")
    hand.phase("unusable")
    expect(hand.page.get_by_role("heading", level=1)).to_have_text("This browser keeps nothing")
    expect(hand.page.get_by_role("link", name="Online checklist")).to_be_visible()
    expect(hand.page.locator(".stops")).to_have_count(0)


def test_what_was_half_written_comes_back(hand: Hand) -> None:
    hand.go(f"/field/visits/{hand.visit.pk}/finish/")
    hand.page.locator("#signed-name").fill("Robin Okafor")
    hand.kept("#signed-name")
    hand.page.locator("canvas").scroll_into_view_if_needed()
    box = hand.page.locator("canvas").bounding_box()
    assert box is not None
    hand.page.mouse.move(box["x"] + 20, box["y"] + 20)
    hand.page.mouse.down()
    hand.page.mouse.move(box["x"] + 90, box["y"] + 60, steps=4)
    hand.page.mouse.up()
    hand.kept("canvas")
    hand.reload()
    expect(hand.page.locator("#signed-name")).to_have_value("Robin Okafor")
    drawn = hand.page.evaluate(
        "() => { const c = document.querySelector('canvas'); return c.getContext('2d').getImageData(0, 0, c.width, c.height).data.some(Boolean); }"
    )
    assert drawn
