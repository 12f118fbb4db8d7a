"""The office's week on a demo that is served with its worker, with a picture of each step.

    bin/demo --dir DEMO --on 2026-06-11T09:00 &
    python -m tests.screens.week --dir DEMO --out PICTURES

The telephone rings, times are offered, the days are planned, a stop goes elsewhere, the plan is
accepted, somebody is away, fish gasp, whoever waits for it is told. It ends with an error where a
step does not lead on to the next.
"""

import argparse
import json
import sys
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright

from tests.chromium import ENGINE

WIDTH = 1280
CALLER, IN_NEED, AWAY = "Station Rise", "Back terrace", "Marek Thole"


class Week:
    """The pages of a week, one after the other, each kept as a picture."""

    def __init__(self, page: Page, out: Path) -> None:
        self.page, self.out, self.count = page, out, 0

    def keep(self, name: str) -> None:
        """Keep what is on show as a picture, numbered in the order of the week."""
        self.count += 1
        self.page.screenshot(path=self.out / f"{self.count:02}-{name}.png", full_page=True)

    def press(self, name: str) -> None:
        """Press the button of this name."""
        self.page.get_by_role("button", name=name, exact=True).first.click()

    def see(self, words: str) -> None:
        """Wait until these words stand on the page."""
        expect(self.page.locator("main")).to_contain_text(words, timeout=60_000)

    def the_telephone_rings(self) -> None:
        """Somebody asks when we come: found by name, pencilled in, times offered."""
        page = self.page
        page.goto(f"/search/?q={CALLER.replace(' ', '+')}")
        self.keep("who-calls")
        page.get_by_role("link", name=CALLER).first.click()
        page.get_by_role("link", name="Book a visit").first.click()
        page.uncheck("[name=ask]")
        self.keep("a-time-that-fits")
        self.press("Book it")
        page.get_by_role("link", name="Offer times").first.click()
        self.see("would come")
        self.keep("times-to-offer")
        self.press("Hold them and write to the client")
        self.see("The times are held")

    def the_days_are_planned(self) -> None:
        """Ten days: planned by the worker, one stop put elsewhere, accepted."""
        page = self.page
        page.goto("/rounds/")
        self.keep("rounds-as-they-stand")
        page.fill("main input[name=days]", "10")
        self.press("Plan")
        page.get_by_role("button", name="Accept it").wait_for(timeout=90_000)
        self.keep("the-plan")
        page.locator("a.stop-act").first.click()
        days = page.locator("select[name=day] option").all_inner_texts()
        workdays = [day for day in days if not day.startswith(("Sat", "Sun"))]
        page.select_option("[name=day]", label=workdays[-1])
        self.press("See what it costs")
        self.see("What this change does")
        self.see("more than the plan before")
        self.keep("a-stop-elsewhere")
        self.press("Accept it")
        self.see("Nobody has been asked yet")
        self.keep("accepted")

    def somebody_is_away(self, first: str, last: str) -> None:
        """Who goes instead, and other times for those of whom nobody can go to."""
        page = self.page
        page.goto("/rounds/away/")
        page.select_option("[name=technician]", label=AWAY)
        page.fill("[name=first]", first)
        page.fill("[name=last]", last)
        page.locator("main button[type=submit]").first.click()
        self.see("Who goes instead")
        self.keep("who-goes-instead")
        if page.get_by_role("button", name="Offer all of them other times").count():
            self.press("Offer all of them other times")
            self.see("Times are offered to")
            self.keep("they-choose-another-time")

    def fish_gasp(self) -> None:
        """A call for help: asked, somebody sent, whoever waits is told."""
        page = self.page
        page.goto(f"/call/?q={IN_NEED.replace(' ', '+')}")
        page.get_by_role("link", name=IN_NEED).first.click()
        self.keep("what-it-is-about")
        self.press("Fish gasping")
        self.keep("people-before-fish")
        page.locator(".answers button").last.click()
        self.keep("the-next-question")
        page.get_by_role("button", name="Send ").first.click()
        self.see("Somebody goes")
        self.keep("somebody-goes")
        tell = page.get_by_role("link", name="Tell them")
        if tell.count():
            tell.first.click()
            self.keep("the-letter-to-whoever-waits")


def main() -> int:
    """Walk the week of the demo in a folder."""
    words = argparse.ArgumentParser(prog="python -m tests.screens.week")
    words.add_argument("--dir", type=Path, required=True, help="folder of a demo that is served")
    words.add_argument("--out", type=Path, required=True, help="where the pictures go")
    words.add_argument("--away", nargs=2, default=["2026-06-15", "2026-06-16"], metavar="DAY")
    asked = words.parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    facts = json.loads((asked.dir / "demo.json").read_text())
    user = next(row for row in facts["users"] if row["role"] == "office")
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=str(ENGINE), args=["--no-sandbox", "--disable-gpu"]
        )
        context = browser.new_context(
            base_url=facts["address"], viewport={"width": WIDTH, "height": 900}
        )
        page = context.new_page()
        page.goto("/")
        page.fill("[name=username]", user["username"])
        page.fill("[name=password]", user["password"])
        page.locator("button[type=submit]").click()
        week = Week(page, asked.out)
        week.the_telephone_rings()
        week.the_days_are_planned()
        week.somebody_is_away(*asked.away)
        week.fish_gasp()
        browser.close()
    sys.stdout.write(f"{week.count} pictures in {asked.out}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
