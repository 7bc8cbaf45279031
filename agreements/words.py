"""The terms in the reader's language: titles, sentences, items, findings and problems."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext

from method.terms.describe import CLAUSE_TYPES, FieldInfo, field_of, fields_of
from method.terms.draft import Finding, draft_check
from method.terms.errors import Problem
from method.terms.models import CLAUSES, Part, Terms
from method.terms.resolve import resolve
from method.terms.sentences import (
    NO,
    NOT_SAID,
    YES,
    Sentence,
    item_sentence,
    render,
    sentences,
)
from method.terms.words import FINDINGS, PROBLEMS
from method.words import gettext_noop

SEPARATOR = gettext_noop(", ")
SEVERITIES = {
    "blocker": gettext_noop("blocker"),
    "warning": gettext_noop("warning"),
    "advice": gettext_noop("advice"),
}
SHORT = 120  # characters of an item's sentence in a list of choices


@dataclass(frozen=True)
class Said:
    """One sentence on a page; `said` is False where a field is left open."""

    clause: str
    list: str
    item: str
    field: str
    words: str
    said: bool
    part: str = ""
    without: bool = False  # a shared item that does not bind this part

    @property
    def place(self) -> str:
        """Clause and list, as the item form takes it."""
        return f"{self.clause}.{self.list}"


@dataclass(frozen=True)
class Section:
    """A clause or a part with its sentences."""

    id: str
    title: str
    said: list[Said] = field(default_factory=list)
    number: int = 0
    lists: list[tuple[str, str]] = field(default_factory=list)


@dataclass(frozen=True)
class FindingSaid:
    """A finding of the draft check in words."""

    id: str
    severity: str
    clause: str
    title: str
    text: str
    mend: str
    source: str
    severity_words: str = ""
    part: str = ""


def word(text: str) -> str:
    """A template's translation; nothing stays nothing (gettext of "" is the catalogue's head)."""
    return gettext(text) if text else ""


def clause_title(clause: str) -> str:
    """The clause's number and title."""
    return f"{CLAUSES.index(clause) + 1}. {word(CLAUSE_TYPES[clause].TITLE)}"  # type: ignore[arg-type]


def clause_titles() -> list[tuple[str, str]]:
    """All clauses in order."""
    return [(clause, clause_title(clause)) for clause in CLAUSES]


def list_titles() -> list[tuple[str, str]]:
    """All lists of items: key "clause.list" and words."""
    return [
        (f"{clause}.{info.name}", f"{clause_title(clause)}: {word(info.label)}")
        for clause in CLAUSES
        for info in fields_of(clause)
        if info.kind == "items"
    ]


def item_name(clause: str, of_list: str) -> str:
    """What one entry of a list is called."""
    info = field_of(clause, of_list)
    return word(info.item.NAME) if info and info.item else ""


def part_title(part: Part) -> str:
    """A part by number, name and colour; by its id while nothing is filled in."""
    return " · ".join(text for text in (part.number, part.name, part.colour) if text) or part.id


def items_of(terms: Terms, part: str = "") -> Iterator[tuple[str, str, str, str]]:
    """Every item that binds a part (or the shared ones): clause, list, id, shortened words."""
    bound = resolve(terms, part)
    for clause in CLAUSES:
        for info in fields_of(clause):
            if info.item is None:
                continue
            for row in getattr(getattr(bound, clause), info.name):
                place = f"{clause}.{info.name}"
                said = item_sentence(place, info.item, row.model_dump(mode="json"))
                yield clause, info.name, row.id, _short(render(said, gettext))


def sections(terms: Terms) -> list[Section]:
    """The ten shared clauses, sentence by sentence."""
    made = []
    for number, (clause, found) in enumerate(sentences(terms)[: len(CLAUSES)], 1):
        lists = [
            (f"{clause}.{info.name}", word(info.item.NAME))
            for info in fields_of(clause, terms.schema_version)
            if info.item is not None
        ]
        title = word(CLAUSE_TYPES[clause].TITLE)
        made.append(Section(clause, title, [_said(one) for one in found], number, lists))
    return made


def part_sections(terms: Terms) -> list[Section]:
    """Each part with where it departs from the shared clauses."""
    by_part: dict[str, list[Said]] = {part.id: [] for part in terms.parts}
    for _name, found in sentences(terms)[len(CLAUSES) :]:
        for sentence in found:
            if sentence.id != f"parts.{sentence.part}":  # the heading is the title here
                by_part[sentence.part].append(_said(sentence))
    return [Section(part.id, part_title(part), by_part[part.id]) for part in terms.parts]


def findings(terms: Terms) -> list[FindingSaid]:
    """The draft check's findings in words, in its order."""
    parts = {part.id: part_title(part) for part in terms.parts}
    return [_finding(found, parts) for found in draft_check(terms)]


def joined(labels: Iterable[str]) -> str:
    """Labels translated, with the language's separator between them."""
    return word(SEPARATOR).join(word(label) for label in labels)


def value_words(info: FieldInfo, value: Any) -> str:
    """A value of the terms' JSON in words, for the comparison of two revisions."""
    if info.kind == "yes_no":
        return word(YES if value else NO)
    if value in (None, "", []):
        return word(NOT_SAID)
    words = dict(info.choices)
    if info.kind == "choice":
        return word(words[value])
    if info.kind == "choices":
        return joined(words[one] for one in value)
    if isinstance(value, list):
        return word(SEPARATOR).join(map(str, value))
    return f"{value} {word(info.unit)}".strip() if info.unit else str(value)


def problem(found: Problem) -> str:
    """Why terms are refused, with the entry it is about."""
    text = word(PROBLEMS[found.id]) % dict(found.params)
    where = found.item or found.part
    return f"{text} ({where})" if where and not where.startswith("#") else text


def _said(sentence: Sentence) -> Said:
    names = sentence.id.split(".")
    without = names[-1] == "without"
    clause, name, item = (*names, "", "")[:3]
    info = field_of(clause, name) if clause in CLAUSE_TYPES else None
    is_list = info is not None and info.kind == "items"
    return Said(
        clause=clause,
        list=name if is_list else "",
        item=item if is_list else "",
        field="" if is_list else name,
        words=render(sentence, gettext),
        said=sentence.said,
        part=sentence.part,
        without=without,
    )


def _finding(found: Finding, parts: Mapping[str, str]) -> FindingSaid:
    said = FINDINGS[found.id]
    params = {
        key: value if isinstance(value, str) else joined(value)
        for key, value in found.params.items()
    }
    return FindingSaid(
        id=found.id,
        severity=found.severity,
        clause=found.clause,
        title=clause_title(found.clause) if found.clause else "",
        text=word(said.text) % params,
        mend=word(said.mend) % params,
        source=word(said.source),
        severity_words=word(SEVERITIES[found.severity]),
        part=parts.get(found.part, found.part),
    )


def _short(text: str) -> str:
    return text if len(text) <= SHORT else text[: SHORT - 1].rstrip() + "…"
