"""Every page opens in each language, says so, and says nothing in English that has a translation.

The marked English of the pseudo-locale finds words that are not marked; this finds words that
are marked, but were put into English too early (at import, or before the reader was known).
"""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from babel.messages.pofile import read_po
from django.conf import settings
from django.test import Client
from django.utils.translation import to_locale

from parties.models import Person
from tests import needs
from tests.browser.pages import pages
from tests.house.source import ROOT
from tests.locale.typed import typed

LANGUAGES = [code for code, _name in settings.LANGUAGES if code != settings.LANGUAGE_CODE]


class Words(HTMLParser):
    """The texts between tags, but not those of scripts, styles, what users typed, and words that
    are shown in their own language and say so."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.inside = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.inside = "lang" if tag != "html" and dict(attrs).get("lang") else tag

    def handle_endtag(self, tag: str) -> None:
        self.inside = ""

    def handle_data(self, data: str) -> None:
        # What stands in <code> is a code of the record: nobody's language.
        if data.strip() and self.inside not in {"script", "style", "textarea", "code", "lang"}:
            self.texts.append(" ".join(data.split()))


def texts(html: str) -> list[str]:
    """All texts of a page, blanks joined."""
    reader = Words()
    reader.feed(html)
    return reader.texts


def translations(language: str) -> dict[str, str]:
    """English → words, where they differ; needs the compiled catalogue that pages use."""
    folder = ROOT / "locale" / to_locale(language) / "LC_MESSAGES"
    if not (folder / "django.mo").is_file():
        needs.missing("the catalogues are not compiled: run make setup-dev")
    with (folder / "django.po").open("rb") as stream:
        catalog = read_po(stream, locale=to_locale(language), charset="utf-8")
    return {
        message.id: message.string
        for message in catalog
        if message.id and isinstance(message.id, str) and message.id != message.string
    }


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_page_opens_in_the_language(language, cast, played, sign_in):
    known = translations(language)
    own = set(typed())
    Person.objects.update(language=language)
    wrong = []
    for page in pages(played):
        person = cast.people.get(page.who)
        client = sign_in(Person.objects.get(pk=person.pk)) if person else Client()
        answer = client.get(page.path, follow=True, headers={"accept-language": language})
        assert answer.status_code == 200, page.name
        html = answer.content.decode()
        if not re.search(rf'<html[^>]*\blang="{language}"', html, re.IGNORECASE):
            wrong.append(f"{page.name}: another language is stated")
        wrong += [
            f"{page.name}: {text}"
            for text in texts(html)
            if text in known and text not in own and text != "English"
        ]
    assert not wrong, "\n".join(sorted(set(wrong)))


def test_planted_english_is_found():
    """The reader of texts itself."""
    html = "<p>Lot\n of <b>parts</b></p><script>Lot</script><textarea>Lot</textarea>"
    html += '<p><span lang="en">Master</span></p>'
    assert texts(html) == ["Lot of", "parts"]
