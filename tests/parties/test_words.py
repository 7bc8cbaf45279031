"""The list of words, and the help that opens beside a field or below a heading."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from django.template import Context, Template
from django.urls import reverse
from django.utils import translation

from method.glossary import ENTRIES
from parties import glossary

pytestmark = pytest.mark.django_db


class Anchors(HTMLParser):
    """The ids of a page, and the languages in which words stand."""

    def __init__(self) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.languages: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        self.ids += [values["id"]] if values.get("id") else []
        if values.get("class") == "other":
            self.languages.append(values.get("lang") or "")


def page(client, language: str) -> str:
    client.cookies["django_language"] = language
    answer = client.get(reverse("parties:words"))
    assert answer.status_code == 200
    return str(answer.content.decode())


@pytest.mark.parametrize(("language", "other"), [("en", "zh-hans"), ("zh-hans", "en")])
def test_every_word_has_its_anchor_and_its_term_in_the_other_language(client, language, other):
    read = Anchors()
    read.feed(page(client, language))
    assert len(set(read.ids)) == len(read.ids)
    assert {id for id in read.ids if id.startswith("word-")} == {f"word-{id}" for id in ENTRIES}
    assert read.languages == [other] * len(ENTRIES)


def test_words_stand_in_the_order_of_the_readers_language(client):
    anchor = re.compile(r'id="word-([a-z0-9-]+)"')
    english = anchor.findall(page(client, "en"))
    terms = [ENTRIES[id].term.lower() for id in english]
    assert terms == sorted(terms)
    assert anchor.findall(page(client, "zh-hans")) != english


def test_chinese_words_stand_by_their_sound():
    """By pinyin: biao, ce, fang, pi, se, zhao (from any dictionary)."""
    words = ["照明体", "色差", "批次", "放行", "测量", "标样"]
    assert sorted(words, key=glossary.order) == words[::-1]


@pytest.mark.parametrize("language", ["en", "zh-hans"])
def test_help_opens_on_the_page_and_leads_to_the_list(language):
    with translation.override(language):
        shown = Template('{% what_is "illuminant" %}').render(Context())
        assert glossary.entry("illuminant").term in shown
        assert glossary.entry("illuminant").source in shown
    assert "<details" in shown and "<summary>" in shown and "<script" not in shown
    assert f'href="{reverse("parties:words")}#word-illuminant"' in shown


def test_a_word_that_is_not_there_is_an_error():
    with pytest.raises(KeyError):
        Template('{% what_is "no-such-word" %}').render(Context())
