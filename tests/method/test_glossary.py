"""Every word has its source, every source is of a known sort, and fields name words that exist."""

from __future__ import annotations

import re
from dataclasses import astuple
from types import ModuleType

import pytest

from method.glossary import ENTRIES, agreeing, measuring, seeing
from method.glossary.entry import FROM_MEMORY, OWN, PRACTICE, Entry
from method.terms.describe import CLAUSE_TYPES, fields_of
from method.terms.models import Terms
from tests.house.source import ROOT, sources
from tests.house.test_messages import messages as messages

# A standard by its number, or authors, journal, volume and year; several are parted by semicolons.
STANDARD = r"(?:ISO|ISO/CIE|CIE|ASTM|JCGM|ILAC|RFC|MIL-STD)[ -][A-Z0-9]+[A-Z0-9:./-]*"
STANDARD += r"(?: \(\d{4}\))?(?:, [\d.]+|, table [A-Z]+)?"
PAPER = r"[A-Z][\w-]+(?:(?:, | & )[A-Z][\w-]+)*, [A-Z][\w. ]+ \d+ \((?:19|20)\d\d\)"
CITED = re.compile(rf"(?:{STANDARD}|{PAPER})(?:; (?:{STANDARD}|{PAPER}))*")
NUMBERED = re.compile(r"(?:ISO/CIE|ISO|CIE|ASTM|JCGM|ILAC|RFC|MIL-STD)[ -][A-Z]?\d+[\w-]*(?:\.\d)?")

VOCABULARY = {"ISO 9000"}  # defines a word; nothing is computed by it


def words_of_fields() -> set[str]:
    """All entries that fields of the terms point to."""
    kinds = [Terms, *CLAUSE_TYPES.values()]
    fields = [field for kind in kinds for field in fields_of(kind)]
    fields += [field for one in fields if one.item for field in fields_of(one.item)]
    return {id for field in fields for id in field.about.glossary}


def test_ids_are_unique_and_fit_an_address() -> None:
    everything = [entry for part in (seeing, measuring, agreeing) for entry in part.ENTRIES]
    assert len(everything) == len(ENTRIES) > 40
    assert all(re.fullmatch(r"[a-z]+[0-9]*(-[a-z]+)*", id) for id in ENTRIES)
    assert len({entry.term for entry in everything}) == len(everything)


@pytest.mark.parametrize("entry", ENTRIES.values(), ids=ENTRIES)
def test_an_entry_is_short_and_ends_as_sentences_do(entry: Entry) -> None:
    assert entry.says[0].isupper() and entry.says.endswith(".")
    assert len(entry.says) <= 220, "one or two plain sentences"
    assert entry.term == entry.term.strip(".") and "%" not in entry.says


@pytest.mark.parametrize("entry", ENTRIES.values(), ids=ENTRIES)
def test_a_source_is_a_citation_or_says_that_it_is_none(entry: Entry) -> None:
    if entry.source in {PRACTICE, OWN}:
        return
    if entry.source.startswith(FROM_MEMORY):
        assert len(entry.source) > len(FROM_MEMORY)
        return
    assert CITED.fullmatch(entry.source), entry.source


@pytest.mark.parametrize(
    ("source", "holds"),
    [
        ("ISO 3668:2017, 5.2", True),
        ("MIL-STD-105E (1989), table X", True),
        ("ISO/CIE 11664-6; Sharma, Wu & Dalal, Color Res. Appl. 30 (2005)", True),
        ("a well-known standard", False),
        ("Sharma", False),
        ("ISO", False),
        ("ISO 3668 (from memory)", False),
        ("", False),
    ],
)
def test_what_counts_as_a_citation(source: str, holds: bool) -> None:
    assert bool(CITED.fullmatch(source)) is holds


def test_fields_and_pages_name_words_that_exist() -> None:
    named = words_of_fields()
    assert len(named) > 20
    pages = (ROOT / "templates").rglob("*.html")
    named |= {id for page in pages for id in re.findall(r'{% what_is "([^"]*)"', page.read_text())}
    assert named <= set(ENTRIES), named - set(ENTRIES)


def test_every_word_is_collected_for_translation(messages: ModuleType) -> None:
    """That all collected strings are translated is asked in tests/locale."""
    collected = {message.id for message in messages.template()}
    said = {text for entry in ENTRIES.values() for text in astuple(entry)[1:]}
    assert said <= collected, said - collected


def test_a_standard_is_cited_where_it_is_used_too() -> None:
    """A number that stands nowhere else in the code is one by which nothing here was checked."""
    code = sources(packages=("colorimetry", "method", "ledger", "jobs", "parties"))
    elsewhere = " ".join(one.text for one in code if not one.name.startswith("method/glossary/"))
    cited = {
        number
        for entry in ENTRIES.values()
        if not entry.source.startswith(FROM_MEMORY)
        for number in NUMBERED.findall(entry.source)
    }
    assert len(cited) > 10
    assert {number for number in cited if number not in elsewhere} == VOCABULARY
