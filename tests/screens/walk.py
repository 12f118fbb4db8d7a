"""bin/screens: walks the table of pages, takes pictures, fails on what a person would trip over.

Serious axe findings, sideways scroll, errors on the console, refusals of the content policy, pages
that answer otherwise than the table says, and refusals whose words do not stand where they belong
are faults.
"""

import argparse
import os
import re
import sys
from dataclasses import dataclass
from itertools import cycle
from pathlib import Path
from typing import Any

from tests.chromium import ENGINE
from tests.screens.sites import Site, demo_site, environment, new_site
from tests.screens.table import Row, missing, rows

WIDTHS = {390: 844, 1280: 900, 320: 640}
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
TAGS = ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]
WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
# fills the form that holds the first field (else the first one) and sends it past the browser's
# own checks and the pages' scripts, as a browser without them would
SEND = """(sent) => {
  const names = Object.keys(sent)
  const posts = [...document.querySelectorAll('main form, .bar form')]
    .filter((f) => f.getAttribute('method') === 'post')
  const form = posts.find((f) => names.some((n) => f.elements[n])) ?? posts[0]
  for (const [name, value] of Object.entries(sent)) {
    const held = [...form.elements].filter((e) => e.name === name && !['submit', 'button'].includes(e.type))
    for (const e of held) {
      if (['checkbox', 'radio'].includes(e.type)) { e.checked = e.value === value; continue }
      if (['date', 'time', 'email', 'number'].includes(e.type)) e.type = 'text'
      if (e.tagName === 'SELECT' && ![...e.options].some((o) => o.value === value)) e.add(new Option('', value))
      e.value = value
    }
    if (!held.length) {
      const e = Object.assign(document.createElement('input'), {type: 'hidden', name, value})
      form.append(e)
    }
  }
  HTMLFormElement.prototype.submit.call(form)
}"""
# whether the words of a refusal stand beside a field, and are its description
BESIDE = """(name) => [...document.querySelectorAll(`main [name="${name}"]`)].some((e) => {
  const ids = [e, e.closest('fieldset')].map((x) => x?.getAttribute('aria-describedby') ?? '').join(' ')
  return ids.split(/\\s+/).filter(Boolean).map((id) => document.getElementById(id))
    .some((x) => x?.matches('.field-error') && x.textContent.trim() && x.getClientRects().length)
})"""


@dataclass(frozen=True)
class Plan:
    """One way to look: a width in pixels, a scheme."""

    width: int
    scheme: str

    def __str__(self) -> str:
        return f"{self.width}-{self.scheme}"


ALL = [Plan(width, scheme) for width in WIDTHS for scheme in ("light", "dark")]
QUICK = [Plan(320, "light"), Plan(1280, "dark"), Plan(320, "dark"), Plan(1280, "light")]


class Walker:
    """Opens pages as each role and notes what is wrong."""

    def __init__(self, sites: dict[str, Site], browser: Any, axe: Any, out: Path) -> None:
        self.sites, self.browser, self.axe, self.out = sites, browser, axe, out
        self.faults: list[str] = []
        self.shots: dict[Plan, list[Path]] = {}

    def walk(self, table: dict[Plan, list[tuple[Row, str]]]) -> None:
        """Open pages in all ways of looking. Each role has one window, which costs more than a page."""
        groups: dict[tuple[str, str], dict[Plan, list[tuple[Row, str]]]] = {}
        for plan, items in table.items():
            for row, path in items:
                groups.setdefault((row.site, row.role), {}).setdefault(plan, []).append((row, path))
        for (site, role), looks in groups.items():
            context = self.browser.new_context(reduced_motion="reduce")
            page = context.new_page()
            self._sign_in(page, self.sites[site], role)
            page.route("**/broken/", _broken)
            seen: list[str] = []
            _listen(page, seen)
            for plan, items in looks.items():
                page.set_viewport_size({"width": plan.width, "height": WIDTHS[plan.width]})
                page.emulate_media(color_scheme=plan.scheme)
                for row, path in items:
                    seen.clear()
                    self._one(page, row, self.sites[site].address + path, plan, seen)
            context.close()

    def _sign_in(self, page: Any, site: Site, role: str) -> None:
        """Sign a role in; a client and a stranger have nothing to sign in with."""
        if role in ("client", "anonymous"):
            return
        user = next(u for u in site.facts["users"] if u["role"] == role)
        page.goto(f"{site.address}/account/login/")
        page.fill("[name=username]", user["username"])
        page.fill("[name=password]", user["password"])
        page.press("[name=password]", "Enter")
        page.wait_for_load_state()

    def _one(self, page: Any, row: Row, url: str, plan: Plan, seen: list[str]) -> None:
        name = f"{row.name.replace(':', '-')}-{row.state}-{plan}"
        try:
            answer = page.goto(url)
            if row.sent is not None:
                answer = _send(page, row, plan, seen)
        except Exception as error:  # noqa: BLE001 - one page must not end the walk
            self.faults.append(f"{name}: {str(error).splitlines()[0]} at {url}")
            return
        # a PNG takes the browser four times as long
        path_out = self.out / f"{name}.jpg"
        page.screenshot(path=str(path_out), full_page=True, type="jpeg", quality=90)
        self.shots.setdefault(plan, []).append(path_out)
        if (
            answer is None
            or answer.status != row.status
            or _by_link(page.url.split("#")[0]) != _by_link(url)
        ):
            word = f"{answer.status} at {page.url}" if answer else "nothing"
            self.faults.append(f"{name}: answered {word}, not {row.status} at {url}")
            return
        self.faults += [f"{name}: {text}" for text in self._wrong(page, row, seen)]

    def _wrong(self, page: Any, row: Row, seen: list[str]) -> list[str]:
        """Return what is wrong with a page that answered as it should."""
        found = []
        wide = page.evaluate(WIDE)
        if wide > 0:
            found.append(f"scrolls sideways by {wide} px")
        told = f"status of {row.status} "
        found += [
            f"console: {text[:200]}" for text in seen if row.status == 200 or told not in text
        ]
        if row.says and not any(x.is_visible() for x in page.query_selector_all(row.says)):
            found.append(f"nothing is said at {row.says}")
        elif row.sent and row.status == 422 and not row.says:
            field = next(iter(row.sent))
            if not page.evaluate(BESIDE, field):
                found.append(f"nothing is said beside {field}")
        return found + [f"axe: {text}" for text in self._axe(page)]

    def _axe(self, page: Any) -> list[str]:
        found = self.axe.run(page, options={"runOnly": TAGS, "resultTypes": ["violations"]})
        return [
            f"{item['id']}: {item['nodes'][0]['html'][:120]}"
            for item in found.response["violations"]
        ]


def _by_link(url: str) -> str:
    """Return an address without what opens it: a link's secret is swapped for its number."""
    return re.sub(r"/c/[^/]+/", "/c/…/", url)


def _send(page: Any, row: Row, plan: Plan, seen: list[str]) -> Any:
    """Fill a page's form, send it, and return the answer. Until it is refused, for the limit."""
    answer = None
    sent = {name: text.format(plan=plan) for name, text in (row.sent or {}).items()}
    for _ in range(12 if row.status == 429 else 1):
        seen.clear()
        with page.expect_navigation() as coming:
            page.evaluate(SEND, sent)
        answer = coming.value
        if answer is None or answer.status == row.status:
            break
    while answer is not None and answer.request.redirected_to:
        answer = answer.request.redirected_to.response()
    return answer


def _broken(route: Any) -> None:
    """Answer as a server does that met a fault of its own."""
    from django.template.loader import render_to_string

    route.fulfill(
        status=500, body=render_to_string("errors/500.html", {"fault": "K7-204"}),
        content_type="text/html; charset=utf-8",
    )  # fmt: skip


def _listen(page: Any, seen: list[str]) -> None:
    """Note what a page complains about."""
    page.on("console", lambda m: seen.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda e: seen.append(str(e)))


def contact_sheet(shots: list[Path], out: Path) -> None:
    """Put pictures on one sheet; where there are none, there is no sheet."""
    from PIL import Image

    if not shots:
        return
    size, columns = (300, 360), 8
    sheet = Image.new("RGB", (columns * size[0], -(-len(shots) // columns) * size[1]), "#888")
    for number, path in enumerate(shots):
        with Image.open(path) as picture:
            shown = picture.convert("RGB").crop((0, 0, picture.width, int(picture.width * 1.2)))
            shown.thumbnail((size[0] - 8, size[1] - 8))
            sheet.paste(shown, (number % columns * size[0] + 4, number // columns * size[1] + 4))
    sheet.save(out, quality=70)


def addresses(facts: dict[str, Any]) -> list[tuple[Row, str]]:
    """Return each row of the table with its address."""
    from django.urls import reverse

    from tests.screens.samples import samples

    things = samples(facts)
    found = []
    for row in rows():
        kwargs = {
            key: things.get(f"{row.of}_{kind}") or things.get(kind, kind)
            for key, kind in row.kwargs.items()
        }
        found.append((row, (row.path or reverse(row.name, kwargs=kwargs)) + row.query))
    return found


def main() -> int:
    """Walk and say what was found."""
    parser = argparse.ArgumentParser(prog="bin/screens", description=__doc__)
    parser.add_argument("--dir", default="var/screens", help="folder of a demo firm")
    parser.add_argument("--out", default="var/pictures")
    parser.add_argument("--port", type=int, default=8377)
    parser.add_argument(
        "--quick", action="store_true", help="each page and state once, widths and schemes in turn"
    )
    parser.add_argument("--only", default="", help="pages whose name or state holds this")
    options = parser.parse_args()
    folder, out = Path(options.dir).resolve(), Path(options.out).resolve()
    out.mkdir(parents=True, exist_ok=True)
    sites = {"demo": demo_site(folder, options.port)}
    try:
        sites["new"] = new_site(folder.parent / f"{folder.name}-new", folder)
        os.environ.update(environment(folder, options.port, sites["demo"].facts["ready_at"]))
        return look(sites, out, quick=options.quick, only=options.only)
    finally:
        for site in sites.values():
            site.stop()


def look(sites: dict[str, Site], out: Path, *, quick: bool, only: str) -> int:
    """Take the pictures and print the faults."""
    import django

    django.setup()
    from axe_playwright_python.sync_playwright import Axe
    from playwright.sync_api import sync_playwright

    table = [
        one for one in addresses(sites["demo"].facts) if only in f"{one[0].name}-{one[0].state}"
    ]
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=ENGINE, args=FLAGS)
        walker = Walker(sites, browser, Axe(), out)
        walker.faults += missing(rows())
        turns = list(zip(table, cycle(QUICK), strict=False))
        walker.walk(
            {plan: [one for one, turn in turns if turn == plan] for plan in QUICK}
            if quick
            else dict.fromkeys(ALL, table)
        )
        for plan, shots in walker.shots.items():
            contact_sheet(shots, out / f"sheet-{plan}.jpg")
        browser.close()
    sys.stdout.write("".join(f"{fault}\n" for fault in walker.faults))
    count = sum(map(len, walker.shots.values()))
    sys.stdout.write(f"{count} pictures, {len(walker.faults)} faults; {out}\n")
    return 1 if walker.faults else 0


if __name__ == "__main__":
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    sys.exit(main())
