"""The page that opens with no signal: its files, their common mark, its worker."""

import hashlib
import json
from functools import lru_cache
from pathlib import Path

from django.contrib.staticfiles import finders
from django.templatetags.static import static

# this page's number, raised when what it sends changes; a phone whose page is older than the least
# is told to take the new one, once it has sent all
PAGE_VERSION = 1
MIN_VERSION = 1
FOLDER = Path(__file__).resolve().parents[1] / "static" / "field" / "phone"
STYLES = ("tokens", "base", "layout", "parts", "pages", "phone")
FONTS = ("atkinson-400", "atkinson-500", "atkinson-600", "atkinson-700", "literata-600")
ICONS = ("phone-192.png", "phone-512.png")


def modules() -> list[str]:
    """Return the names of the page's own scripts."""
    return sorted(path.name for path in FOLDER.glob("*.js"))


def _static() -> list[str]:
    names = [f"css/{name}.css" for name in STYLES] + [f"fonts/{name}.woff2" for name in FONTS]
    return [*names, "img/mark.svg", *(f"field/{name}" for name in ICONS)]


def files() -> list[str]:
    """Return the addresses that the worker keeps, the page itself first."""
    own = [f"/field/m/{name}" for name in modules()]
    return ["/field/", *own, *(static(name) for name in _static()), "/field/app.webmanifest"]


@lru_cache(maxsize=1)
def version() -> str:
    """Return the mark of all that the page is made of."""
    whole = hashlib.sha256()
    for name in modules():
        whole.update(name.encode() + (FOLDER / name).read_bytes())
    for name in _static():
        path = finders.find(name)
        whole.update(name.encode() + (Path(path).read_bytes() if path else b""))
    whole.update((Path(__file__).parents[3] / "templates" / "field" / "app.html").read_bytes())
    return whole.hexdigest()[:12]


WORKER = """// Opens the page with no signal. It keeps files, never anybody's data, and touches no call.
const SHELL = %(shell)s;
const FILES = %(files)s;

self.addEventListener("install", (event) => {
  // calls go past the worker where the browser can do that: one that is always asked about calls
  // never rests, and Chromium lets a newer version in only while the older one rests
  event.addRoutes?.(["/api/*", "/field/online/*"].map((path) => ({ condition: { urlPattern: path }, source: "network" }))).catch(() => {});
  event.waitUntil(caches.open(SHELL).then((cache) =>
    cache.addAll(FILES.map((file) => new Request(file, { cache: "reload" })))));
});
self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    // files of a still newer version, which lie beside these already, are not old
    const newer = self.registration.installing || self.registration.waiting;
    for (const name of newer ? [] : await caches.keys()) if (name.startsWith("shell-") && name !== SHELL) await caches.delete(name);
    await self.clients.claim();
  })());
});
self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});
self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith("/api/") || url.pathname.startsWith("/field/online/")) return;
  if (event.request.mode === "navigate" && url.pathname.startsWith("/field/")) {
    event.respondWith(caches.open(SHELL).then((cache) => cache.match("/field/")).then((kept) => kept ?? fetch(event.request)));
  } else if (FILES.includes(url.pathname)) {
    event.respondWith(caches.open(SHELL).then((cache) => cache.match(url.pathname)).then((kept) => kept ?? fetch(event.request)));
  }
});
self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(self.clients.matchAll({ type: "window" }).then(([page]) => (page ? page.focus() : self.clients.openWindow("/field/"))));
});
"""
# what is served in an emergency: it takes itself away, and no phone's data with it
NO_WORKER = """// Takes the worker and its files away; what phones keep stays.
self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith("shell-")) await caches.delete(name);
    await self.registration.unregister();
  })());
});
"""


def worker(*, off: bool = False) -> str:
    """Return the worker's script; `off`: the one that takes itself away."""
    if off:
        return NO_WORKER
    return WORKER % {"shell": json.dumps(f"shell-{version()}"), "files": json.dumps(files())}
