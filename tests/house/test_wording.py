"""The pages speak as DEVELOPERS.md says, and each rule finds what is planted against it."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import pytest

from tests.house import wording
from tests.house.source import APPS, ROOT, Source, sources
from tests.house.test_messages import messages as messages


@pytest.fixture(scope="module")
def texts(messages: ModuleType) -> list[str]:
    """Every string that is translated."""
    collected = [form for one in messages.template() if one.id for form in messages.parts(one.id)]
    assert len(collected) > 3000
    return collected


def test_no_text_says_what_nobody_is_to_read(texts: list[str]) -> None:
    assert [fault for text in texts for fault in wording.said(text)] == []


def test_acts_are_named_by_what_they_do() -> None:
    acts = wording.acts()
    assert len(acts) > 80
    named = [str(words) for act in acts for words in (act.title, act.button) if words]
    told = [str(words) for act in acts for words in (act.explain, act.done) if words]
    assert [fault for words in named for fault in wording.title(words)] == []
    assert [fault for words in told for fault in wording.sentence(words)] == []


def test_refusals_are_sentences() -> None:
    found = list(wording.refusals(sources(packages=(*APPS, "jobs"))))
    assert len(found) > 150
    assert [fault for text in found for fault in wording.refusal(text)] == []


def test_days_and_times_of_pages_are_the_houses() -> None:
    templates = sorted((ROOT / "templates").rglob("*.html"))
    assert sum(bool(wording.CLOCK.search(one.read_text())) for one in templates) > 10
    assert [fault for one in templates for fault in wording.dates(one)] == []


def test_good_examples_stand_on_a_page(texts: list[str]) -> None:
    examples = wording.examples((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    assert len(examples) > 12
    assert [one for one in examples if not wording.stands(one, texts)] == []


@pytest.mark.parametrize(
    "text",
    [
        "Sorry, this did not work.",
        "Unable to save.",
        "Successfully saved.",
        "The user is unknown.",
        "Click here.",
        "Please look, then please try again.",
        "Done!",
        "Wait...",
        "Reports, photographs etc.",
        "It doesn't fit.",
        "The color differs.",
        'The lot "A".',
        "On 5 March.",
        "By 05.03.2026.",
        "%(value)snm is too much.",
        "at 10nm",
    ],
)
def test_a_planted_word_is_found(text: str) -> None:
    assert wording.said(text)


def test_what_only_looks_like_such_a_word_passes() -> None:
    text = 'A perfect diffuser; <a href="%(url)s">it</a> is clicked nowhere: 1.2.3, %(value)s nm'
    assert wording.said(text) == []


@pytest.mark.parametrize(
    "text", ["open a lot", "New lot", "Opening a lot", "Submission", "Open a lot.", "Open " * 13]
)
def test_a_planted_title_is_found(text: str) -> None:
    assert wording.title(text)


@pytest.mark.parametrize("text", ["Invalid lot.", "Nothing was done", "Error in line 3."])
def test_a_planted_refusal_is_found(text: str) -> None:
    assert wording.refusal(text)


def test_refusals_are_read_where_they_are_raised(tmp_path: Path) -> None:
    file = tmp_path / "desk" / "moves.py"
    file.parent.mkdir()
    file.write_text(
        'raise Refusal("a", _("One."))\nraise Refusal("b", _("Two %(n)s.") % {"n": 2})\n'
        'raise Refusal("c", said)\n'
    )
    assert list(wording.refusals([Source(tmp_path, file)])) == ["One.", "Two %(n)s."]


@pytest.mark.parametrize(
    "text", ['{{ x|date:"d.m.Y" }} UTC', "{{ x|moment }}", '<p>{{ x|date:"Y-m-d H:i" }}</p>']
)
def test_a_planted_date_is_found(tmp_path: Path, text: str) -> None:
    file = tmp_path / "page.html"
    file.write_text(text)
    assert wording.dates(file)


def test_an_example_that_stands_nowhere_is_found() -> None:
    page = (
        "## House wording\n\n| | so | not so |\n|---|---|---|\n| a | Open a lot | x |\n\n## Next\n"
    )
    assert wording.examples(page) == ["Open a lot"]
    assert wording.stands("due by 2026-03-05", ["%(x)s", "due by %(day)s"])
    assert not wording.stands("Open a lot", ["%(x)s", "Open the lot", "Open a lot now"])
