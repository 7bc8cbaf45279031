"""Every page of the resolver opens for those it is for (the played world is sound)."""

from __future__ import annotations

from django.test import Client

from tests.browser.pages import pages


def test_every_page_of_the_table_opens(cast, played, sign_in):
    """The table names every page of the resolver; each answers 200 with one heading."""
    for page in pages(played):
        client = sign_in(cast.people[page.who]) if page.who else Client()
        answer = client.get(page.path, follow=True)
        assert answer.status_code == 200, page
        assert answer.content.decode().count("<h1") == 1, page
