"""No page leads anybody where they may not go: every link that a reader is shown opens for them."""

import re
from html import unescape

import pytest

from tests.access.stage import Stage

pytestmark = pytest.mark.django_db

# One for each side and role to whom pages offer something else.
READERS = (
    "customer_lead",
    "customer_colleague",
    "customer_observer",
    "customer_reader",
    "supplier_staff",
    "supplier_admin",
    "auditor",
    "stranger",
)
LINK = re.compile(r'<a\b[^>]*\bhref="([^"#]+)')
ELSEWHERE = ("mailto:", "http:", "https:")
PAGES = 400


def crawl(client) -> dict[str, tuple[int, str]]:
    """Status and linking page of everything that can be reached from the desk by links alone."""
    found: dict[str, tuple[int, str]] = {}
    waiting = [("/", "")]
    while waiting and len(found) < PAGES:
        address, whence = waiting.pop(0)
        if address in found or address.startswith(ELSEWHERE):
            continue
        answer = client.get(address)
        found[address] = answer.status_code, whence
        if answer.status_code == 200 and answer["Content-Type"].startswith("text/html"):
            links = LINK.findall(answer.content.decode())
            waiting += [(unescape(link), address) for link in links if link.startswith("/")]
    return found


def test_every_link_that_somebody_is_shown_opens(stage: Stage):
    faults = []
    for who in READERS:
        found = crawl(stage.client(who))
        assert len(found) > 1
        faults += [
            f"{who}: {whence} leads to {link} ({status})"
            for link, (status, whence) in found.items()
            if status not in (200, 302, 409)  # 409: a refusal in words, with what to do next
        ]
    assert faults == [], "\n".join(faults)
    assert len(found) > 1
    closed = {link: seen for link, seen in found.items() if seen[0] not in (200, 302)}
    assert not closed
