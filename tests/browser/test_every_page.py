"""Every page that the resolver knows, in Chromium: accessible at three widths in both themes, light
on the wire, still while it loads.

Rules: axe-core (Web Content Accessibility Guidelines 2.2, levels A and AA, best practices, and text
at 7:1, success criterion 1.4.6). Bounds of the first view: the project's own.
"""

from __future__ import annotations

import json
from urllib.parse import urljoin

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests import needs
from tests.browser import house
from tests.browser.looking import Look, look, tabs

pytestmark = [pytest.mark.browser, pytest.mark.slow]
MOST_BYTES, MOST_REQUESTS = 100_000, 10
# Seconds until the first byte, of the first view beside other tests: what hangs is found.
MOST_SECONDS = 5.0
# Answers that no page of the table gives: who asks, below which page of theirs, how it is called.
OTHERS = {
    "supplier_staff": (("parties:booths", "../personal/", "403"), ("", "/nothing-here/", "404")),
    "supplier_lead": (("", "/gallery/", "gallery"),),
}
# Forms that are sent with nothing in them but this, and what is answered.
SENT: dict[str, tuple[tuple[str, dict[str, str]], ...]] = {
    "": (("login", {"username": "nobody@example.org", "password": "wrong"}),),
    "supplier_lead": (("parties:enter-observer", {}),),
    "supplier_staff": (("parties:enter-booth", {}), ("evidence:files-confirm", {})),
    "customer_lead": (
        ("agreements:revision-sign", {}),
        ("agreements:revision-remark", {}),
        ("disputes:lots-reject", {}),
    ),
}
NOT_TAKEN = {
    f"{name}, sent": 429 if name == "login" else 422 for of in SENT.values() for name, _sent in of
}


@pytest.fixture
def looks(tmp_path_factory) -> list[Look]:
    """A played world, served as an installation serves it, and a look at each of its pages."""
    chromium = needs.chromium()
    var = tmp_path_factory.mktemp("every-page")
    with house.House(var) as served:
        story = json.loads(served.run("tests.browser.play"))
        served.environment |= {"COUNTERSHADE_GALLERY": "1", "COUNTERSHADE_LOGIN_FAILURES": "1"}
        served.start(worker=False)
        with sync_playwright() as play:
            browser = play.chromium.launch(executable_path=chromium, args=house.ARGUMENTS)
            found = [one for who in story["pages"] for one in of(browser, served.url, story, who)]
            found.append(without_database(browser, served, story))
            browser.close()
    assert {one.name for one in found} >= set(story["names"])
    return found


def of(browser: Browser, url: str, story: dict, who: str) -> list[Look]:
    """All pages of one person, and what they are answered elsewhere."""
    tab, watch = tabs(browser, url, story["sessions"].get(who))
    paths = dict(story["pages"][who])
    paths |= {name: urljoin(paths.get(at, "/"), path) for at, path, name in OTHERS.get(who, ())}
    found = [look(tab, watch, name, url + path) for name, path in paths.items()]
    for name, sent in SENT.get(who, ()):
        found.append(look(tab, watch, f"{name}, sent", url + paths[name], sent))
    tab.context.close()
    return found


def without_database(browser: Browser, served: house.House, story: dict) -> Look:
    """A page where the server meets an error: its tables are gone."""
    for file in served.var.glob("*.sqlite3*"):
        file.rename(file.with_name(f"gone-{file.name}"))
    tab, watch = tabs(browser, served.url, story["sessions"]["supplier_lead"])
    return look(tab, watch, "500", served.url + dict(story["pages"]["supplier_lead"])["desk:home"])


def test_every_page_is_accessible_light_and_still(looks, subtests):
    """One test, so that one worker opens the pages once."""
    for check in (answers, accessible, in_width, light, still, soon):
        with subtests.test(check.__name__):
            check(looks)


def answers(looks: list[Look]) -> None:
    """As it should: pages, refusals, forms that were not taken, an error of the server."""
    other = {one.name: one.status for one in looks if one.status != 200}
    assert other == {"403": 403, "404": 404, "500": 500, **NOT_TAKEN}


def accessible(looks: list[Look]) -> None:
    """Axe finds no violation at any width in either theme."""
    found = [f"{one.name}: {violation}" for one in looks for violation in one.violations]
    # The gallery alone shows a component, and so the landmark that it is, in several states.
    found = [one for one in found if not one.startswith("gallery: landmark-unique")]
    assert not found, "\n".join(found)


def in_width(looks: list[Look]) -> None:
    """No page scrolls sideways."""
    wide = {one.name: one.wide for one in looks if one.wide}
    assert not wide


def light(looks: list[Look]) -> None:
    """Bytes over the wire and requests of the first view, with an empty cache."""
    heavy = {one.name: (one.wire, one.requests) for one in looks if one.wire > MOST_BYTES}
    many = {one.name: one.requests for one in looks if one.requests > MOST_REQUESTS}
    assert not heavy and not many
    # A page that came from a cache, or that was not watched, would weigh nothing.
    whole = [one for one in looks if one.status == 200]
    assert all(one.wire > 20_000 and one.requests >= 4 for one in whole)


def still(looks: list[Look]) -> None:
    """Nothing moves while a page loads."""
    moving = {one.name: one.shift for one in looks if one.shift}
    assert not moving


def soon(looks: list[Look]) -> None:
    """No page hangs."""
    slow = {one.name: round(one.seconds, 3) for one in looks if one.seconds > MOST_SECONDS}
    assert not slow
