"""bin/screens: walks the table of pages, takes pictures, fails on what a person would trip over.

Serious axe findings, sideways scroll, errors on the console, refusals of the content policy, and
pages that do not answer 200 are faults.
"""

import argparse
import json
import os
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent.parent
WIDTHS = {390: 844, 1280: 900, 320: 640}
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


@dataclass
class Site:
    """The served demo firm."""

    address: str
    facts: dict[str, Any]
    server: "subprocess.Popen[bytes]"


def serve(folder: Path, port: int) -> Site:
    """Serve the demo firm of a folder."""
    facts = json.loads((folder / "demo.json").read_text())
    day = facts["today"]
    os.environ.update(
        DJANGO_SETTINGS_MODULE="backyard.settings.dev", BACKYARD_DIR=str(folder),
        BACKYARD_TODAY=day, DATABASE_URL="", REDIS_URL="",
        BACKYARD_BASE_URL=f"http://127.0.0.1:{port}",
    )  # fmt: skip
    gunicorn = Path(sys.executable).parent / "gunicorn"
    server = subprocess.Popen(
        [str(gunicorn), "backyard.wsgi", "--bind", f"127.0.0.1:{port}", "--threads", "4"],
        cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    for _ in range(120):
        try:
            with urllib.request.urlopen(f"{address}/livez", timeout=1):
                return Site(address, facts, server)
        except OSError:
            time.sleep(0.25)
    server.kill()
    raise SystemExit("bin/screens: the server did not come up")


def sample(facts: dict[str, Any]) -> dict[str, str]:
    """Return a row of each kind to look at; the technician's own visit of today where it matters."""
    from apps.advice.models import Advice
    from apps.batches.models import FishBatch, Planting
    from apps.care.models import CareTask
    from apps.clients.models import Contact
    from apps.reports.models import Letter, Report
    from apps.systems.models import Component, Flow
    from apps.visits.models import Reading, Visit

    done = Visit.objects.get(pk=facts["visit_id"])
    system = done.sheets.get().system
    loop = system.loops.first()
    letter = Letter.objects.filter(state="failed").first() or Letter.objects.first()
    coming = Visit.objects.filter(state="booked").order_by("-start").first()
    return {
        "coming": str(coming.pk),
        "place": str(system.place_id), "system": str(system.pk), "loop": str(loop.pk),
        "contact": str(Contact.objects.filter(client=system.place.client).first().pk),
        "component": str(Component.objects.filter(loop=loop, removed_on=None).first().pk),
        "flow": str(Flow.objects.filter(source__loop=loop).first().pk),
        "task": str(CareTask.objects.filter(system=system).first().pk),
        "batch": str((FishBatch.objects.filter(loop__system=system).first() or FishBatch.objects.first()).pk),
        "planting": str(Planting.objects.first().pk), "visit": str(done.pk),
        "reading": str(Reading.objects.filter(sheet__visit=done).first().pk),
        "advice": str(Advice.objects.first().pk), "report": str(Report.objects.filter(visit=done).first().pk),
        "letter": str(letter.pk), "key": "00000000-0000-4000-8000-000000000001",
        "secret": facts["client_link"].rstrip("/").rsplit("/", 1)[1],
    }  # fmt: skip


def phone_sample(facts: dict[str, Any], user_id: str) -> dict[str, str]:
    """Return a visit of today's that the technician may still answer, under way."""
    from apps.core import clock
    from apps.core.scoping import Actor
    from apps.flows import visit_booking
    from apps.visits.models import Visit

    actor = Actor(role="technician", at=clock.now(), user_id=user_id)  # type: ignore[arg-type]
    visit = (
        Visit.objects.visible_to(actor).filter(state__in=["booked", "under_way"])
        .filter(sheets__isnull=False).order_by("start").first()
    )  # fmt: skip
    if visit is None:
        raise SystemExit("bin/screens: the technician has no visit to open")
    if visit.state == "booked":
        visit_booking.step(visit=visit, to="under_way", by=actor, at=clock.now())
    sheet = visit.sheets.first()
    return {
        "visit": str(visit.pk), "sheet": str(sheet.pk), "line": str(sheet.lines.first().pk),
        "loop": str(sheet.system.loops.first().pk),
    }  # fmt: skip


class Walker:
    """Opens pages as each role and notes what is wrong."""

    def __init__(self, site: Site, browser: Any, axe: Any, out: Path) -> None:
        self.site, self.browser, self.axe, self.out = site, browser, axe, out
        self.faults: list[str] = []
        self.shots: list[Path] = []
        self.states: dict[str, Any] = {}

    def state_of(self, role: str) -> Any:
        """Return the cookies of a signed-in role."""
        if role in ("client", "anonymous"):
            return None
        if role not in self.states:
            user = next(u for u in self.site.facts["users"] if u["role"] == role)
            context = self.browser.new_context()
            page = context.new_page()
            page.goto(f"{self.site.address}/account/login/")
            page.fill("[name=username]", user["username"])
            page.fill("[name=password]", user["password"])
            page.press("[name=password]", "Enter")
            page.wait_for_load_state()
            self.states[role] = context.storage_state()
            context.close()
        return self.states[role]

    def walk(self, rows: list[tuple[Any, str]], width: int, scheme: str, check: bool) -> None:
        """Open every page at one width and scheme."""
        by_role: dict[str, list[tuple[Any, str]]] = {}
        for row, path in rows:
            by_role.setdefault(row.role, []).append((row, path))
        for role, items in by_role.items():
            context = self.browser.new_context(
                viewport={"width": width, "height": WIDTHS[width]}, color_scheme=scheme,
                storage_state=self.state_of(role), reduced_motion="reduce",
            )  # fmt: skip
            page = context.new_page()
            seen: list[str] = []
            _listen(page, seen)
            for row, path in items:
                seen.clear()
                self._one(page, row, path, width, scheme, check, seen)
            context.close()

    def _one(
        self, page: Any, row: Any, path: str, width: int, scheme: str, check: bool, seen: list[str]
    ) -> None:
        name = f"{row.name.replace(':', '-')}-{row.state}-{width}-{scheme}"
        answer = page.goto(self.site.address + path)
        if answer is None or answer.status != 200:
            self.faults.append(
                f"{name}: answered {answer.status if answer else 'nothing'} at {path}"
            )
            return
        wide = page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        if wide > 0:
            self.faults.append(f"{name}: scrolls sideways by {wide} px")
        self.faults += [f"{name}: console: {text[:200]}" for text in seen]
        if check:
            self.faults += [f"{name}: axe: {text}" for text in self._axe(page)]
        path_out = self.out / f"{name}.png"
        page.screenshot(path=str(path_out), full_page=True)
        self.shots.append(path_out)

    def _axe(self, page: Any) -> list[str]:
        found = self.axe.run(
            page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]}
        )
        return [
            f"{item['id']}: {item['nodes'][0]['html'][:120]}"
            for item in found.response["violations"]
        ]


def _listen(page: Any, seen: list[str]) -> None:
    """Note what a page complains about."""
    page.on("console", lambda m: seen.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda e: seen.append(str(e)))


def contact_sheet(shots: list[Path], out: Path) -> None:
    """Put the pictures on one sheet."""
    from PIL import Image

    size, columns = (300, 360), 8
    sheet = Image.new("RGB", (columns * size[0], -(-len(shots) // columns) * size[1]), "#888")
    for number, path in enumerate(shots):
        with Image.open(path) as picture:
            shown = picture.convert("RGB").crop((0, 0, picture.width, int(picture.width * 1.2)))
            shown.thumbnail((size[0] - 8, size[1] - 8))
            sheet.paste(shown, (number % columns * size[0] + 4, number // columns * size[1] + 4))
    sheet.save(out, quality=70)


def paths(facts: dict[str, Any]) -> list[tuple[Any, str]]:
    """Return each row of the table with its address."""
    from django.urls import reverse

    from tests.screens.table import rows

    things = sample(facts)
    technician = next(u["id"] for u in facts["users"] if u["role"] == "technician")
    phone = phone_sample(facts, technician)
    found = []
    for row in rows():
        mine = {**things, **(phone if row.role == "technician" else {})}
        if row.name in ("office:visit_step", "office:visit_move", "office:visit_answer"):
            mine["visit"] = things["coming"]
        kwargs = {key: mine.get(kind, kind) for key, kind in row.kwargs.items()}
        if row.name == "field:result":
            kwargs = {"pk": phone["visit"]}
        found.append((row, reverse(row.name, kwargs=kwargs) + row.query))
    return found


def main() -> int:
    """Walk and say what was found."""
    parser = argparse.ArgumentParser(prog="bin/screens", description=__doc__)
    parser.add_argument("--dir", default="var/screens", help="folder of a demo firm")
    parser.add_argument("--out", default="var/pictures")
    parser.add_argument("--port", type=int, default=8377)
    parser.add_argument("--quick", action="store_true", help="two widths, light, axe at one")
    options = parser.parse_args()
    folder, out = Path(options.dir).resolve(), Path(options.out).resolve()
    out.mkdir(parents=True, exist_ok=True)
    if not (folder / "demo.json").exists():
        subprocess.run(
            [sys.executable, "-m", "demo.run", "--once", "--dir", str(folder), "--port", str(options.port),
             "--on", "2026-06-11"], cwd=ROOT, check=True,
        )  # fmt: skip
    site = serve(folder, options.port)
    try:
        return look(site, out, quick=options.quick)
    finally:
        site.server.terminate()
        site.server.wait()


def look(site: Site, out: Path, *, quick: bool) -> int:
    """Take the pictures and print the faults."""
    import django

    django.setup()
    table = paths(site.facts)
    from axe_playwright_python.sync_playwright import Axe
    from playwright.sync_api import sync_playwright

    plans = [(320, "light", False), (1280, "light", True)]
    if not quick:
        plans = [(w, s, w != 320) for w in WIDTHS for s in ("light", "dark")]
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        walker = Walker(site, browser, Axe(), out)
        for width, scheme, check in plans:
            walker.walk(table, width, scheme, check)
        browser.close()
    contact_sheet(walker.shots, out / "sheet.jpg")
    sys.stdout.write("\n".join(walker.faults) + ("\n" if walker.faults else ""))
    sys.stdout.write(
        f"{len(walker.shots)} pictures, {len(walker.faults)} faults; {out}/sheet.jpg\n"
    )
    return 1 if walker.faults else 0


if __name__ == "__main__":
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    sys.exit(main())
