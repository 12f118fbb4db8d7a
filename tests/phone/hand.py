"""A person's hand on a phone: what is tapped and typed, each step until the page says it is done."""

from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import BrowserContext, Page, Route, expect

from apps.visits.models import Sheet, Visit
from tests.phone.journal import Journal

# a machine that does much else at once is slow, not wrong
PATIENCE_MS = 60_000
FLAGS = [
    "--no-sandbox",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--no-first-run",
]
SIZE: Any = {
    "viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True,
    "reduced_motion": "reduce",
}  # fmt: skip
NET = (
    "Failed to load resource",
    "net::",
    "not kept",
    "no worker",
    "An unknown error occurred when fetching",
)


@dataclass
class Hand:
    """One page of a phone, and the journal of what was typed there."""

    page: Page
    visit: Visit
    sheet: Sheet
    lines: list[str]
    journal: Journal
    faults: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        watch(self.page, self.faults)

    @property
    def context(self) -> BrowserContext:
        """Return the phone that the page is on."""
        return self.page.context

    def open(self, path: str = "/field/") -> "Hand":
        """Load a page and wait until it is drawn."""
        self.page.goto(path)
        self.ready()
        return self

    def ready(self) -> None:
        """Wait until the page is drawn."""
        self.page.wait_for_selector("body[data-ready=yes]", state="attached")

    def reload(self) -> None:
        """Load the page again."""
        self.page.reload()
        self.ready()

    def line_path(self, n: int = 0, sheet: Any = None) -> str:
        """Return the address of a line's page."""
        return f"/field/visits/{self.visit.pk}/{self.sheet.pk}/line/{self.lines[n]}/"

    def place(self, name: str) -> str:
        """Return the address of another page of the sheet."""
        return f"/field/visits/{self.visit.pk}/{self.sheet.pk}/{name}/"

    def line(self, n: int = 0) -> "Hand":
        """Open a line without loading the page anew."""
        return self.go(self.line_path(n))

    def go(self, path: str) -> "Hand":
        """Follow a way inside the page."""
        self.page.evaluate("async (to) => (await import('/field/m/main.js')).go(to)", path)
        return self

    def write(self, text: str, n: int = 0) -> None:
        """Write a note on the line that is open; wait until it is kept."""
        self.page.locator("#note").fill(text)
        self.kept("#note")
        self.journal.note(self.visit.pk, self.sheet.pk, f"lines/{self.lines[n]}/note", text)

    def kept(self, where: str) -> None:
        """Wait until the phone says that it has it."""
        self.page.wait_for_selector(f"{where}[data-kept=yes]")

    def phase(self, name: str, why: str | None = None) -> None:
        """Wait until the page is in a state."""
        more = "" if why is None else f"[data-why={why}]"
        self.page.wait_for_selector(
            f"body[data-phase={name}]{more}", state="attached", timeout=PATIENCE_MS
        )

    def pending(self, count: int) -> None:
        """Wait until so many things are left to send."""
        self.page.wait_for_selector(
            f"body[data-pending='{count}']", state="attached", timeout=PATIENCE_MS
        )

    def says(self, words: str) -> None:
        """Wait until the line at the top says this."""
        expect(self.page.locator("#sync")).to_contain_text(words)

    def arrived(self) -> None:
        """Wait until all has arrived."""
        self.page.wait_for_selector(
            "body[data-phase=arrived][data-pending='0']", state="attached", timeout=PATIENCE_MS
        )

    def all_there(self) -> None:
        """Wait until all has arrived, and look for it on the server."""
        self.arrived()
        missing = self.journal.missing()
        assert not missing, "; ".join(missing)

    def now(self) -> None:
        """Ask the page to send."""
        self.page.evaluate("async () => (await import('/field/m/sync.js')).tryNow()")

    def ops(self) -> list[dict[str, Any]]:
        """Return what lies in the phone's box of answers."""
        return list(
            self.page.evaluate(
                "async () => (await import('/field/m/db.js')).withDB((db) => db.getAll('ops'))"
            )
        )

    def photo(self, data: bytes, name: str = "photo.jpg", *, kept: bool = True) -> str:
        """Take a photo on the page of what was seen; return its key once it is kept."""
        count = self.page.locator("figcaption[data-photo]").count()
        kind = "image/jpeg" if name.endswith("jpg") else "application/octet-stream"
        self.page.locator("input[type=file]").set_input_files(
            {"name": name, "mimeType": kind, "buffer": data}
        )
        if not kept:
            return ""
        expect(self.page.locator("figcaption[data-photo]")).to_have_count(
            count + 1, timeout=PATIENCE_MS
        )
        keys = self.page.evaluate(
            "async () => (await import('/field/m/store.js')).allPhotos().then((all) => all.map((p) => p.id))"
        )
        new = set(keys) - self.journal.photos
        assert len(new) == 1
        self.journal.photos |= new
        return str(new.pop())

    def sign_in(self, name: str) -> None:
        """Sign in on the phone's own page."""
        self.page.get_by_label("Name", exact=True).fill(name)
        self.page.get_by_label("Password").fill(f"{name}-password-1")
        self.page.get_by_role("button", name="Sign in").click()


def watch(page: Page, faults: list[str]) -> None:
    """Note each error of a script and of the policy."""
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on(
        "console",
        lambda said: (
            faults.append(said.text)
            if said.type == "error" and not any(part in said.text for part in NET)
            else None
        ),
    )


def hold(page: Page, url: str) -> list[Route]:
    """Let no such request through; return them as they come."""
    held: list[Route] = []

    def keep(route: Route) -> None:
        held.append(route)

    page.route(url, keep)
    return held


def wait_for(page: Page, held: list[Any], count: int = 1) -> None:
    """Wait until so many requests are held."""
    for _ in range(PATIENCE_MS // 10):
        if len(held) >= count:
            return
        page.wait_for_timeout(10)
    raise AssertionError("no request came")
