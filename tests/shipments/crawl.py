"""Everything that one person can open, by following links, in one language."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from urllib.parse import urljoin, urlsplit

from django.conf import settings
from django.test import Client

LINK = re.compile(r'(?:href|action|data-url|hx-get)="([^"]*)"')
MOST = 2000


def opened(client: Client, language: str, *more: str) -> Iterator[tuple[str, str, bytes]]:
    """(address, media type, body) of every page, call and download that answers with 200.

    Begins at the desk and at the addresses in `more`; each address is asked for once.
    """
    client.cookies[settings.LANGUAGE_COOKIE_NAME] = language
    waiting, known = ["/", *more], {"/", *more}
    while waiting:
        url = waiting.pop()
        answer = client.get(url)
        if answer.status_code == 302:
            _note(url, [answer["Location"]], waiting, known)
        if answer.status_code != 200:
            continue
        body = b"".join(answer.streaming_content) if answer.streaming else answer.content
        kind = answer.headers.get("Content-Type", "").split(";")[0]
        yield url, kind, body
        if kind == "text/html":
            _note(url, map(html.unescape, LINK.findall(body.decode())), waiting, known)
        assert len(known) < MOST, "pages without end"


def _note(base: str, links: Iterator[str] | list[str], waiting: list[str], known: set[str]) -> None:
    for link in links:
        parts = urlsplit(urljoin(base, link))
        url = parts.path + (f"?{parts.query}" if parts.query else "")
        if parts.netloc or not url.startswith("/") or url.startswith("/static/") or url in known:
            continue
        known.add(url)
        waiting.append(url)
