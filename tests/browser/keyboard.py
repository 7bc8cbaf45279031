"""Somebody who has a keyboard and nothing else: Tab, Shift, Enter, Space, arrows, typing.

Wherever they stop, an outline (in a figure, a frame) has to show where they are (WCAG 2.2, 2.4.7),
in view (2.4.11).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from playwright.sync_api import Locator, Page

from tests.browser.visitor import QUICK, Visitor

MOST_STOPS = 250  # of the Tab key on one page
# What stands where the keys go, seen from the element that is looked for.
STOP = """
(one) => {
  const at = document.activeElement, style = getComputedStyle(at), box = at.getBoundingClientRect();
  const ring = at.querySelector(":scope.datum > rect"), drawn = ring && getComputedStyle(ring);
  const radio = one.type === "radio" && at.type === "radio" && at.name === one.name;
  return {
    here: at === one || (radio && at.form === one.form),
    nowhere: at === document.body || at.id === "content",
    skip: at.className === "skip",
    before: Boolean(at.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_PRECEDING),
    outlined: drawn
      ? drawn.stroke !== "none" && parseFloat(drawn.strokeWidth) >= 2
      : style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    shown: box.bottom > 0 && box.right > 0 && box.top < innerHeight && box.left < innerWidth,
    what: at.outerHTML.slice(0, 160),
  };
}
"""


class Typist(Visitor):
    """A visitor without a pointer. `stops` counts where the keys went, `skips` how often the first
    of them led past the head of the page."""

    stops = skips = 0

    def __init__(self, *arguments: Any, **options: Any):
        super().__init__(*arguments, **options)
        # It takes the browser a while to learn that windows for files are waited for.
        self.page.on("filechooser", lambda window: None)

    def reach(self, one: Locator) -> None:
        """Go there with Tab, past the head of the page by its link."""
        target = one.element_handle(timeout=QUICK)
        content = target.evaluate("one => Boolean(one.closest('#content'))")
        stop = target.evaluate(STOP)
        for _ in range(MOST_STOPS):
            if stop["here"]:
                return
            if stop["skip"] and content:
                self.page.keyboard.press("Enter")
                assert target.evaluate("() => document.activeElement.id") == "content"
                self.skips += 1
                content = False
            back = stop["before"] and not stop["nowhere"]
            self.page.keyboard.press("Shift+Tab" if back else "Tab")
            stop = target.evaluate(STOP)
            self._see(stop)
        raise AssertionError(f"{self.page.url}: the keys do not lead to {one}")

    def _see(self, stop: dict[str, Any]) -> None:
        self.stops += 1
        if stop["nowhere"]:
            return
        if not stop["outlined"] or not stop["shown"]:
            self.troubles.append(f"focus not to be seen on {self.page.url}: {stop['what']}")

    def use(self, link: Locator) -> None:
        """Enter, on what is reached."""
        self.reach(link)
        with self.page.expect_navigation(wait_until="load"):
            self.page.keyboard.press("Enter")

    def use_here(self, link: Locator) -> None:
        """Enter, and the page stays."""
        self.reach(link)
        self.page.keyboard.press("Enter")

    def write(self, field: Locator, text: str) -> None:
        """Over whatever stood there; a day as its field asks for it."""
        self.reach(field)
        if field.evaluate("one => one.type") == "date":
            year, month, day = text.split("-")
            self.page.keyboard.type(month + day + year)
        else:
            self.page.keyboard.press("Control+A")
            self.page.keyboard.type(text)
        assert field.input_value().splitlines() == text.splitlines()

    def pick(self, field: Locator, value: str) -> None:
        """By the words of the choice, or with the arrows where others begin alike."""
        self.reach(field)
        words, away = field.evaluate(
            "(one, value) => { const all = [...one.options], to = all.find(o => o.value === value);"
            " return [to.label.trim(), to.index - one.selectedIndex]; }",
            value,
        )
        if abs(away) > 12:
            self.page.keyboard.type(words)
        else:
            _press(self.page, "ArrowDown" if away > 0 else "ArrowUp", abs(away))
        assert field.input_value() == value, f"{field}: {words}"

    def tick(self, box: Locator) -> None:
        """Space for a tick; arrows among choices, of which one is on."""
        self.reach(box)
        for _ in range(MOST_STOPS):
            if box.evaluate("one => document.activeElement === one"):
                break
            self.page.keyboard.press("ArrowDown")
        if not box.is_checked():
            self.page.keyboard.press("Space")
        assert box.is_checked()

    def give(self, field: Locator, file: Path) -> None:
        """The window for files is the system's own."""
        self.reach(field)
        with self.page.expect_file_chooser() as window:
            self.page.keyboard.press("Space")
        window.value.set_files(str(file))


def _press(page: Page, key: str, times: int) -> None:
    for _ in range(times):
        page.keyboard.press(key)
