"""Somebody at a browser of their own: follows links, fills in forms, presses buttons.

Watches what a page must never do: errors on the console, refused content, requests elsewhere.
`keyboard` does the same by keys alone.
"""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

from playwright.sync_api import (
    Browser,
    ConsoleMessage,
    Locator,
    Page,
    Request,
    Response,
    TimeoutError,
)

from tests.cast import PASSWORD

SECONDS = 30_000  # for what a worker does
QUICK = 15_000  # for what a page has


class Visitor:
    """One person, signed in or not; `troubles` fills with what went wrong unseen. Without `script`
    their browser runs none."""

    def __init__(self, browser: Browser, home: str, email: str, *, script: bool = True):
        self.home, self.email, self.script = home, email, script
        self.troubles: list[str] = []
        self.context = browser.new_context(accept_downloads=True, java_script_enabled=script)
        self.page: Page = self.context.new_page()
        self.page.set_default_timeout(SECONDS)
        self.page.on("console", self._console)
        self.page.on("pageerror", lambda error: self.troubles.append(f"page error: {error}"))
        self.page.on("request", self._request)
        self.page.on("response", self._response)

    def _console(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.troubles.append(f"console: {message.text}")

    def _request(self, request: Request) -> None:
        if not request.url.startswith((self.home + "/", "data:", "blob:")):
            self.troubles.append(f"left the origin: {request.url}")

    def _response(self, response: Response) -> None:
        if response.status >= 400:
            self.troubles.append(f"{response.status} from {response.url}")

    # What a hand does; `keyboard.Typist` does it with keys.

    def use(self, link: Locator) -> None:
        """Follow a link or press a button: the next page has come when this returns."""
        link.click(timeout=QUICK)
        self.page.wait_for_load_state()

    def use_here(self, link: Locator) -> None:
        """Follow a link that leads to a file."""
        link.click(timeout=QUICK)

    def write(self, field: Locator, text: str) -> None:
        """Put a text where another one may have stood."""
        field.fill(text)

    def pick(self, field: Locator, value: str) -> None:
        """One of a list, by its value."""
        field.select_option(value)

    def tick(self, box: Locator) -> None:
        """A tick, or one of several choices."""
        box.check()

    def give(self, field: Locator, file: Path) -> None:
        """A file."""
        field.set_input_files(str(file))

    # What a person does.

    def sign_in(self) -> Visitor:
        """Through the page."""
        self.page.goto(f"{self.home}/login/")
        self.fill(username=self.email, password=PASSWORD)
        self.press("Sign in")
        return self

    def desk(self) -> Visitor:
        """My own desk."""
        self.page.goto(f"{self.home}/")
        return self

    def dossier(self, title: str) -> Visitor:
        """The overview of a dossier, from the desk's list."""
        self.use(self.desk().page.locator("table").get_by_role("link", name=title))
        return self

    def link(self, text: str) -> Locator:
        """A link by the beginning of its text; fails where there is none."""
        found = self.page.locator("#content, header, .where").get_by_role("link")
        one = found.filter(has_text=text).first
        try:
            one.wait_for(timeout=QUICK)
        except TimeoutError as error:
            shown = self.page.locator("#content").inner_text()
            raise AssertionError(f"{self.page.url} has no link {text!r}:\n{shown}") from error
        return one

    def follow(self, *texts: str) -> Visitor:
        """One link after the other, by the beginning of its text."""
        for text in texts:
            self.use(self.link(text))
        return self

    def fill(self, **values: Any) -> Visitor:
        """Fields by name: text, a choice by its value, ticks as a list, a file as a path."""
        for name, value in values.items():
            fields = self.page.locator(f'form:not(.language) [name="{name}"]')
            first = fields.first
            tag = first.evaluate("one => one.tagName + ':' + (one.type || '')")
            if isinstance(value, Path):
                self.give(first, value)
            elif tag.startswith("SELECT"):
                self.pick(first, str(value))
            elif tag.endswith((":radio", ":checkbox")):
                for one in value if isinstance(value, list) else [value]:
                    box = self.page.locator(f'[value="{one}"]')
                    self.tick((fields if value is True else fields.and_(box)).first)
            else:
                self.write(first, str(value))
        return self

    def choose(self, name: str, text: str) -> Visitor:
        """A choice by part of its words."""
        found = self.page.locator(f'select[name="{name}"] option').filter(has_text=text)
        value = found.last.get_attribute("value")
        self.pick(self.page.locator(f'select[name="{name}"]'), value or "")
        return self

    def press(self, text: str) -> Visitor:
        """A button; the next page has come when this returns, and says no error."""
        self.use(self.page.locator("#content").get_by_role("button", name=text, exact=True))
        errors = self.page.locator(".errors, .wrongs").all_inner_texts()
        assert not errors, f"{self.page.url}: {errors}"
        return self

    def wait_for(self, text: str) -> Visitor:
        """Until the page says this: by itself, or without script when one looks again."""
        found = self.page.locator("#content").get_by_text(text).first
        end = time.monotonic() + SECONDS / 1000
        while not self.script and not found.is_visible() and time.monotonic() < end:
            self.page.wait_for_timeout(300)
            self.follow("Look again")
        found.wait_for()
        return self

    def says(self, *texts: str) -> Visitor:
        """The page says all of this now."""
        shown = self.page.locator("#content").inner_text()
        for text in texts:
            assert text in shown, f"{self.page.url} does not say {text!r}:\n{shown}"
        return self

    def offers(self) -> list[str]:
        """What the page says one can do here."""
        return self.page.locator(".acts a").all_inner_texts()

    def download(self, text: str, folder: Path) -> Path:
        """What a link gives, saved."""
        link = self.link(text)
        with self.page.expect_download() as waiting:
            self.use_here(link)
        target = folder / waiting.value.suggested_filename
        waiting.value.save_as(target)
        return target
