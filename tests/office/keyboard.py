"""A person at the office's keyboard: where the focus is, that it can be seen, and nothing else."""

import re
from typing import Any

from playwright.sync_api import Page

# what has the focus: its name as a screen reader says it, whether its ring shows, and whether it
# lies on the screen
FOCUS = """() => {
  const e = document.activeElement
  if (!e || e === document.body) return null
  const style = getComputedStyle(e), box = e.getBoundingClientRect()
  const own = e.labels?.length ? e.labels[0].textContent : e.textContent
  return {
    name: (e.getAttribute('aria-label') || own || '').replace(/\\s+/g, ' ').trim(),
    tag: e.tagName.toLowerCase(),
    ring: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2,
    shown: box.width > 1 && box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
    where: [...document.querySelectorAll('*')].indexOf(e),
  }
}"""
MOST = 160


class Keys:
    """Presses keys and looks after each where the focus went."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def focus(self) -> dict[str, Any]:
        """Return what has the focus. Fails where nothing has it or it cannot be seen."""
        found: dict[str, Any] | None = self.page.evaluate(FOCUS)
        assert found is not None, "nothing has the focus"
        assert found["ring"], f"no ring around {found['tag']} {found['name']!r}"
        assert found["shown"], f"{found['tag']} {found['name']!r} is not on the screen"
        return found

    def press(self, key: str, name: str) -> None:
        """Press a key; the focus must then be on what is called so (a pattern)."""
        self.page.keyboard.press(key)
        found = self.focus()
        assert re.search(name, found["name"]), f"{key} went to {found['name']!r}, not {name!r}"

    def to(self, name: str, key: str = "Tab") -> None:
        """Press Tab until the focus is on what is called so; every stop on the way must show."""
        passed = []
        for _ in range(MOST):
            self.page.keyboard.press(key)
            found = self.focus()
            if re.search(name, found["name"]):
                return
            assert not passed or found["where"] >= passed[-1][0] or key != "Tab", (
                f"from {passed[-1][1]!r} back up to {found['name']!r}: {name!r} is not on the way"
            )
            passed.append((found["where"], found["name"]))
        raise AssertionError(f"{name!r} cannot be reached; passed {[text for _at, text in passed]}")

    def go(self, key: str = "Enter") -> None:
        """Press a key that leads to another page, and wait for it."""
        self.focus()
        with self.page.expect_navigation():
            self.page.keyboard.press(key)

    def write(self, text: str) -> None:
        """Type where the focus is."""
        self.focus()
        self.page.keyboard.type(text)

    def heading(self) -> str:
        """Return the page's title."""
        return self.page.locator("h1").inner_text()
