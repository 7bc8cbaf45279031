"""Every page as Chromium meets it: what the first view costs, what moves, what axe finds.

One visit a page. First view: an empty cache, requests and bytes as they go over the wire, shifts of
the layout as the browser itself counts them (Layout Instability). Then axe, with all its rules once
and, at the other widths and in the other theme, with those that hang on either.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import Any

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Browser, BrowserContext, CDPSession, Page, Response

WIDTHS = (360, 820, 1440)
THEMES = ("light", "dark")
HEIGHT = 900
# Beside what axe runs by itself: text at 7:1 (WCAG 2.2, 1.4.6).
ENHANCED = {"color-contrast-enhanced": {"enabled": True}, "target-size": {"enabled": True}}
# What can differ with width and theme alone.
ON_LOOKS = [
    "color-contrast",
    "color-contrast-enhanced",
    "link-in-text-block",
    "scrollable-region-focusable",
    "target-size",
]
SHIFTS = """
new Promise((done) => {
  let sum = 0;
  const watch = new PerformanceObserver((list) => {
    for (const one of list.getEntries()) if (!one.hadRecentInput) sum += one.value;
  });
  watch.observe({ type: "layout-shift", buffered: true });
  requestAnimationFrame(() => requestAnimationFrame(() => done(sum)));
})
"""


@dataclass
class Look:
    """What one page was like. `wire`: bytes over the wire; `seconds`: until the first byte."""

    name: str
    status: int = 0
    requests: int = 0
    wire: int = 0
    shift: float = 0.0
    seconds: float = 0.0
    wide: list[int] = field(default_factory=list)  # widths at which the page scrolls sideways
    violations: list[str] = field(default_factory=list)


class Watch:
    """Counts what a tab fetches."""

    def __init__(self, context: BrowserContext, tab: Page):
        self.tools: CDPSession = context.new_cdp_session(tab)
        self.tools.send("Network.enable")
        self.tools.send("Network.setCacheDisabled", {"cacheDisabled": True})
        self.requests, self.wire = 0, 0
        self.tools.on("Network.loadingFinished", self._finished)

    def _finished(self, event: dict[str, Any]) -> None:
        self.requests += 1
        self.wire += int(event["encodedDataLength"])

    def begin(self) -> None:
        """Forget what came before."""
        self.requests, self.wire = 0, 0


def tabs(browser: Browser, url: str, session: str | None) -> tuple[Page, Watch]:
    """A tab of somebody signed in, or of a visitor. Scripts of the check may run in it; that pages
    keep to their Content-Security-Policy is watched by `visitor`."""
    context = browser.new_context(
        viewport={"width": WIDTHS[-1], "height": HEIGHT}, bypass_csp=True, color_scheme=THEMES[0]
    )
    if session:
        context.add_cookies([{"name": "sessionid", "value": session, "url": url}])
    tab = context.new_page()
    return tab, Watch(context, tab)


def look(
    tab: Page, watch: Watch, name: str, address: str, sent: Mapping[str, str] | None = None
) -> Look:
    """Open a page, or send the form of a page with nothing but `sent` in it, and look at the answer
    in every width and theme."""
    tab.emulate_media(color_scheme=THEMES[0])
    tab.set_viewport_size({"width": WIDTHS[-1], "height": HEIGHT})
    watch.begin()
    answer = tab.goto(address, wait_until="load")
    if sent is not None:
        answer = _send(tab, watch, sent)
    tab.evaluate("document.fonts.ready.then(() => null)")
    found = Look(name, answer.status if answer else 0)
    found.requests, found.wire = watch.requests, watch.wire
    found.seconds = tab.evaluate("performance.getEntriesByType('navigation')[0].responseStart")
    found.seconds /= 1000
    found.shift = tab.evaluate(SHIFTS)
    found.violations += axe(tab)
    found.wide = sideways(tab)
    return found


def _send(tab: Page, watch: Watch, sent: Mapping[str, str]) -> Response:
    """Send the form as a browser would that checks nothing itself."""
    form = tab.locator("#content form").last
    for name, text in sent.items():
        form.locator(f'[name="{name}"]').fill(text)
    form.evaluate("one => { one.noValidate = true }")
    watch.begin()
    with tab.expect_navigation(wait_until="load") as waiting:
        form.locator("button").last.click()
    return waiting.value


def axe(tab: Page) -> list[str]:
    """What axe finds on the page that the tab shows, at every width and in both themes."""
    tab.evaluate(AXE_SCRIPT)
    found = list(_violations(tab, {"rules": ENHANCED}, ""))
    for width, theme in product(WIDTHS, THEMES):
        if (width, theme) == (WIDTHS[-1], THEMES[0]):
            continue
        tab.emulate_media(color_scheme=theme)
        tab.set_viewport_size({"width": width, "height": HEIGHT})
        only = {"runOnly": {"type": "rule", "values": ON_LOOKS}}
        found += _violations(tab, only, f" at {width} px, {theme}")
    return found


def sideways(tab: Page) -> list[int]:
    """The widths at which the page as a whole scrolls sideways (WCAG 2.2, 1.4.10)."""
    found = []
    for width in WIDTHS:
        tab.set_viewport_size({"width": width, "height": HEIGHT})
        if tab.evaluate("document.documentElement.scrollWidth > window.innerWidth"):
            found.append(width)
    return found


def _violations(tab: Page, options: dict[str, Any], where: str) -> Iterator[str]:
    said = tab.evaluate(
        "(options) => axe.run(document, options)", {"resultTypes": ["violations"], **options}
    )
    for one in said["violations"]:
        for node in one["nodes"][:3]:
            yield f"{one['id']}{where}: {one['help']}: {node['html'][:160]}"
