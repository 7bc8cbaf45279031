"""Somebody at a browser of their own: follows links, fills in forms, presses buttons.

Watches what a page must never do: errors on the console, refused content, requests elsewhere.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from playwright.sync_api import (
    Browser,
    ConsoleMessage,
    Page,
    Request,
    Response,
    TimeoutError,
)

from tests.cast import PASSWORD

SECONDS = 30_000  # for what a worker does
QUICK = 15_000  # for what a page has


class Visitor:
    """One person, signed in or not; `troubles` fills with what went wrong unseen."""

    def __init__(self, browser: Browser, home: str, email: str):
        self.home, self.email = home, email
        self.troubles: list[str] = []
        self.context = browser.new_context(accept_downloads=True)
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
        self.desk().page.locator("table").get_by_role("link", name=title).click()
        return self

    def follow(self, *texts: str) -> Visitor:
        """One link after the other, by the beginning of its text."""
        for text in texts:
            found = self.page.locator("#content, header, .where").get_by_role("link")
            try:
                found.filter(has_text=text).first.click(timeout=QUICK)
            except TimeoutError as error:
                shown = self.page.locator("#content").inner_text()
                raise AssertionError(f"{self.page.url} has no link {text!r}:\n{shown}") from error
        return self

    def fill(self, **values: Any) -> Visitor:
        """Fields by name: text, a choice by its value, ticks as a list, a file as a path."""
        for name, value in values.items():
            fields = self.page.locator(f'form:not(.language) [name="{name}"]')
            first = fields.first
            tag = first.evaluate("one => one.tagName + ':' + (one.type || '')")
            if isinstance(value, Path):
                first.set_input_files(str(value))
            elif tag.startswith("SELECT"):
                first.select_option(str(value))
            elif tag.endswith((":radio", ":checkbox")):
                for one in value if isinstance(value, list) else [value]:
                    one_field = (
                        fields
                        if value is True
                        else fields.and_(self.page.locator(f'[value="{one}"]'))
                    )
                    one_field.first.check()
            else:
                first.fill(str(value))
        return self

    def choose(self, name: str, text: str) -> Visitor:
        """A choice by part of its words."""
        found = self.page.locator(f'select[name="{name}"] option').filter(has_text=text)
        value = found.last.get_attribute("value")
        self.page.locator(f'select[name="{name}"]').select_option(value)
        return self

    def press(self, text: str) -> Visitor:
        """A button; the next page has come when this returns, and says no error."""
        self.page.locator("#content").get_by_role("button", name=text, exact=True).click()
        self.page.wait_for_load_state()
        errors = self.page.locator(".errors, .wrongs").all_inner_texts()
        assert not errors, f"{self.page.url}: {errors}"
        return self

    def wait_for(self, text: str) -> Visitor:
        """Until the page (which reloads itself when a job is done) says this."""
        self.page.locator("#content").get_by_text(text).first.wait_for()
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
        with self.page.expect_download() as waiting:
            self.follow(text)
        target = folder / waiting.value.suggested_filename
        waiting.value.save_as(target)
        return target
