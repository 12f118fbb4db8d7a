"""Every screen of the phone's page in every state that a person can meet, for reach and pictures."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import expect

from tests.phone.conftest import World
from tests.phone.hand import Hand
from tests.phone.pixels import jpeg


@dataclass
class Tour:
    """A phone on its way through the states."""

    hand: Hand
    world: World

    def read(self, measurand: str, text: str, when: str = "before") -> None:
        """Type a reading."""
        page = self.hand.page
        self.hand.go(self.hand.place(f"read/{self.world.built.loop.pk}/{measurand}/{when}/1"))
        page.locator("#value").fill(text)
        self.hand.kept("#value")
        page.locator("#value").blur()
        page.wait_for_timeout(50)

    def put(self, sheet: bool, path: str, value: Any) -> None:
        """Keep an answer as a screen would."""
        self.hand.page.evaluate(
            "async (a) => (await import('/field/m/store.js')).put(...a)",
            [str(self.hand.visit.pk), str(self.hand.sheet.pk) if sheet else None, path, value],
        )

    def visit(self, more: str = "") -> str:
        """Return the address of the visit."""
        return f"/field/visits/{self.hand.visit.pk}/{more}"


def dress(world: World) -> None:
    """Give the visit what a visit may have."""
    place = world.visit.place
    place.access_notes = "Side gate on the left, then down the steps behind the shed"
    place.gate_code, place.dog = "4711#", True
    place.latitude, place.longitude = 51.5, -0.1
    place.save()
    world.visit.reason = "Yellow leaves at the outflow"
    world.visit.save()


def _said(tour: Tour) -> None:
    page = tour.hand.page
    page.route("**/operations", lambda route: route.abort())
    page.get_by_label("Minutes of driving").fill("soon")
    page.get_by_role("button", name="On my way").click()
    page.get_by_label("Minutes later").fill("90")
    page.get_by_role("button", name="Running late").click()
    expect(page.locator("[data-said=running_late]")).to_contain_text("Kept, not told yet")
    page.get_by_role("button", name="On my way").click()
    expect(page.locator("#on_my_way-fault")).to_be_visible()


def _told(tour: Tour) -> None:
    page = tour.hand.page
    page.get_by_label("Minutes of driving").fill("25")
    page.get_by_role("button", name="On my way").click()
    expect(page.locator("[data-said=on_my_way]")).to_contain_text("Kept, not told yet")
    page.unroute("**/operations")
    tour.hand.now()
    expect(page.locator("[data-said=on_my_way]")).to_contain_text("Told")


def _line(tour: Tour) -> None:
    tour.hand.line(0)


def _line_not_done(tour: Tour) -> None:
    tour.hand.line(1).page.get_by_role("link", name="Not done").click()


def _card(tour: Tour) -> None:
    tour.hand.go(tour.hand.place("card"))


def _findings(tour: Tour) -> None:
    hand = tour.hand
    key = "0d9f6a34-9a3c-4c7e-8a51-6a3f6d1c2b10"
    tour.put(True, f"findings/{key}/text", "Roots brown at the tips in the second row")
    hand.go(hand.place("seen"))
    hand.photo(jpeg(640, 480))


def _finding(tour: Tour) -> None:
    tour.hand.page.get_by_role("link", name="Change, or add photos").click()
    expect(tour.hand.page.locator("#sign")).to_be_visible()


def _advice(tour: Tour) -> None:
    tour.hand.go(tour.hand.place("advice"))


def _advice_edit(tour: Tour) -> None:
    tour.hand.page.locator(".advice-list summary").first.click()


def _supplies(tour: Tour) -> None:
    hand = tour.hand
    hand.go(hand.place("supplies"))
    hand.page.get_by_role("button", name="Add a thing").click()
    hand.page.get_by_label("What", exact=True).fill("Sea salt")


def _swap(tour: Tour) -> None:
    hand = tour.hand
    hand.go(hand.place("swap"))
    hand.page.get_by_role("button", name="Note a swap").click()
    expect(hand.page.get_by_label("Serial of the new one")).to_be_visible()


def _timer(tour: Tour) -> None:
    hand = tour.hand
    hand.go(hand.place(f"read/{tour.world.built.loop.pk}/no3/before/1"))
    hand.page.evaluate(
        "async () => (await import('/field/m/store.js')).timers.start('Nitrate, second bottle', 600, location.pathname)"
    )
    expect(hand.page.locator(".timers li")).to_contain_text("Nitrate")


def _timer_up(tour: Tour) -> None:
    hand = tour.hand
    hand.page.evaluate("""async () => { const s = await import('/field/m/store.js');
      const rows = await s.timers.all(); await s.meta('timers', rows.map((row) => ({ ...row, until: Date.now() - 1000 }))); }""")
    expect(hand.page.locator(".timers li")).to_contain_text("read now")


def _settle(tour: Tour) -> None:
    hand, page = tour.hand, tour.hand.page
    page.evaluate(
        "async () => { const s = await import('/field/m/store.js'); await s.meta('timers', []); }"
    )
    line = hand.lines[2]
    page.evaluate(
        """async ([visit, sheet, line, loop]) => {
          const { strictly } = await import('/field/m/db.js');
          const row = (path, mine, theirs) => ({ place: `${visit}|${sheet}|${path}`, visit, sheet, path, mine, theirs, by: 'Marek', rev: 3 });
          const key = crypto.randomUUID(), photo = crypto.randomUUID();
          await strictly(['settle', 'ops', 'known', 'photos'], async (tx) => {
            await tx.objectStore('known').put({ place: `${visit}|${sheet}|readings/${key}/measurand`, visit, sheet, path: `readings/${key}/measurand`, v: 'ph', r: 1 });
            await tx.objectStore('settle').put(row(`readings/${key}/value`, 6.9, 6.5));
            await tx.objectStore('settle').put(row(`readings/${key}/as_typed`, '6.9', '6.5'));
            await tx.objectStore('settle').put(row(`lines/${line}/note`, 'The seal under the pump drips, about a cup a day', 'Pump seal new, dry'));
            await tx.objectStore('ops').put({ seq: 9001, id: crypto.randomUUID(), visit, sheet, path: `lines/${line}/outcome`, place: `${visit}|${sheet}|lines/${line}/outcome`,
              value: 'done', base_rev: 1, at: new Date().toISOString(), user: null, state: 'rejected', why: [{ code: 'visit', message: 'This visit is not one of yours; the office has what you wrote.' }] });
            await tx.objectStore('photos').put({ id: photo, visit, sheet, caption: '', size: 10, state: 'refused', why: 'photo: not a whole JPEG, PNG or WebP picture; take it again' });
          });
        }""",
        [str(hand.visit.pk), str(hand.sheet.pk), line, str(tour.world.built.loop.pk)],
    )
    hand.go("/field/settle/")
    hand.now()
    hand.phase("needs", "settle")


def _settled(tour: Tour) -> None:
    tour.hand.page.evaluate("""async () => (await import('/field/m/db.js')).strictly(['settle', 'ops', 'photos'], async (tx) => {
      await tx.objectStore('settle').clear(); await tx.objectStore('ops').delete(9001);
      for (const p of await tx.objectStore('photos').getAll()) if (p.state === 'refused') await tx.objectStore('photos').delete(p.id); })""")
    tour.hand.now()
    tour.hand.go("/field/settle/")
    tour.hand.arrived()


def _running(tour: Tour) -> None:
    tour.hand.go(tour.hand.place("running"))


def _running_missing(tour: Tour) -> None:
    tour.hand.page.locator(".ticks input").first.check()
    tour.hand.page.get_by_role("button", name="All of it runs").click()


def _finish(tour: Tour) -> None:
    tour.hand.go(tour.visit("finish/"))


def _finished(tour: Tour) -> None:
    tour.hand.page.route("**/operations", lambda route: route.abort())
    hand = tour.hand
    hand.go(hand.place("running"))
    for box in hand.page.locator(".ticks input").all():
        box.check()
    hand.page.locator("#note").fill("No photo: the lens is wet")
    hand.kept("#note")
    hand.page.get_by_role("button", name="All of it runs").click()
    expect(hand.page.get_by_role("heading", level=1)).to_have_text("Finish the visit")
    # a figure that cannot be is taken back first
    tour.read("ec", "0.71")
    hand.go(tour.visit("finish/"))
    hand.page.get_by_role("button", name="Finish the visit").click()
    expect(hand.page.locator("#says")).to_contain_text("Finished on this phone")


def _update(tour: Tour) -> None:
    tour.hand.page.evaluate("""() => {
      const b = document.createElement('button'); b.className = 'button'; b.type = 'button';
      b.textContent = 'A new version is here: tap to use it'; document.getElementById('update').replaceChildren(b); }""")


def _out(tour: Tour) -> None:
    tour.hand.page.evaluate("() => document.getElementById('update').replaceChildren()")
    tour.hand.context.clear_cookies()
    tour.hand.go("/field/phone/")
    tour.hand.now()
    tour.hand.phase("needs", "sign_in")
    tour.hand.go("/field/phone/")


def _wrong(tour: Tour) -> None:
    page = tour.hand.page
    page.get_by_label("Name", exact=True).fill("ana")
    page.get_by_label("Password").fill("not this one")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("alert")).to_be_visible()


def _full(tour: Tour) -> None:
    tour.hand.page.evaluate(
        "async () => { localStorage.setItem('backyard-journal', JSON.stringify([{visit: 'x', sheet: null, path: 'started_at', value: null, at: ''}])); (await import('/field/m/frame.js')).count(); }"
    )
    tour.hand.go("/field/")
    tour.hand.says("nearly full")


def _unkept(tour: Tour) -> None:
    tour.hand.page.evaluate(
        "async () => { localStorage.removeItem('backyard-journal'); (await import('/field/m/frame.js')).unkept(true); }"
    )
    tour.hand.line(3)


def _gone(tour: Tour) -> None:
    tour.hand.page.evaluate("async () => (await import('/field/m/frame.js')).unkept(false)")
    tour.hand.go("/field/visits/0d9f6a34-9a3c-4c7e-8a51-6a3f6d1c2b10/")


def _begun(tour: Tour) -> None:
    tour.put(False, "started_at", dt.datetime.now(dt.UTC).isoformat())
    tour.hand.go(tour.visit())
    tour.hand.page.get_by_role("button", name="60 min").click()
    expect(tour.hand.page.get_by_text("Say fine by")).to_be_visible()


STATES: dict[str, Callable[[Tour], object]] = {
    "round": lambda tour: tour.hand.go("/field/"),
    "visit": lambda tour: tour.hand.go(tour.visit()),
    "visit-said": _said,
    "visit-told": _told,
    "visit-begun": _begun,
    "sheet": lambda tour: tour.hand.go(tour.visit(f"{tour.hand.sheet.pk}/")),
    "line": _line,
    "line-not-done": _line_not_done,
    "reading-empty": lambda tour: tour.hand.go(tour.hand.place(f"read/{tour.world.built.loop.pk}/tan/before/1")),
    "reading-calm": lambda tour: tour.read("temp", "27.5"),
    "reading-low": lambda tour: tour.read("ph", "6,01"),
    "reading-harmful": lambda tour: tour.read("no2", "3.1"),
    "reading-doubtful": lambda tour: tour.read("do", "18"),
    "reading-refused": lambda tour: tour.read("ec", "71"),
    "reading-no-number": lambda tour: tour.read("no3", "4o"),
    "sheet-answered": lambda tour: tour.hand.go(tour.visit(f"{tour.hand.sheet.pk}/")),
    "findings": _findings,
    "finding": _finding,
    "advice": _advice,
    "advice-edit": _advice_edit,
    "more": lambda tour: tour.hand.go(tour.hand.place("more")),
    "card": _card,
    "supplies": _supplies,
    "swap": _swap,
    "timer": _timer,
    "timer-up": _timer_up,
    "settle": _settle,
    "settle-nothing": _settled,
    "running": _running,
    "running-missing": _running_missing,
    "finish": _finish,
    "finish-done": _finished,
    "phone": lambda tour: tour.hand.go("/field/phone/"),
    "update": _update,
    "phone-signed-out": _out,
    "phone-wrong-password": _wrong,
    "nearly-full": _full,
    "not-kept": _unkept,
    "not-here": _gone,
}  # fmt: skip
