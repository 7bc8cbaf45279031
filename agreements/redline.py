"""Two texts of the terms side by side: what was, what is now, word by word."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from agreements.words import clause_title, part_title, value_words, word
from method.terms.compare import Change, compare
from method.terms.describe import FieldInfo, field_of, fields_of
from method.terms.models import CLAUSES, Part, Terms
from method.terms.sentences import item_sentence, render

# Chinese has no spaces: each character is a word of its own.
WORDS = re.compile(r"[\u3400-\u9fff]|\s+|\w+|.", re.DOTALL)
ALIKE = 0.5  # texts less alike are shown as replaced: shreds of common words help nobody
KINDS: dict[str, str | Promise] = {
    "added": _("added"),
    "removed": _("removed"),
    "changed": _("changed"),
}


@dataclass(frozen=True)
class Piece:
    """A run of words: kept, removed or added."""

    text: str
    mark: str = ""  # "", "del" or "ins"


@dataclass(frozen=True)
class Line:
    """One difference as the page shows it."""

    kind: str
    kind_words: str | Promise
    where: str
    was: tuple[Piece, ...]
    now: tuple[Piece, ...]


@dataclass(frozen=True)
class Group:
    """The differences of one clause, of the heading, or of the parts."""

    title: str
    lines: list[Line]


def redline(before: Terms, after: Terms) -> list[Group]:
    """Every difference between two terms, grouped by clause; empty when they are the same."""
    groups: dict[str, list[Line]] = {}
    titles = _part_titles(before, after)
    for change in compare(before, after):
        groups.setdefault(_group(change), []).append(_line(change, titles))
    order = ["", *CLAUSES, "parts"]
    return [Group(_title(key), groups[key]) for key in order if key in groups]


def pieces(was: str, now: str) -> tuple[tuple[Piece, ...], tuple[Piece, ...]]:
    """Both texts cut into runs, the differing ones marked as removed and added."""
    old, new = WORDS.findall(was), WORDS.findall(now)
    left: list[Piece] = []
    right: list[Piece] = []
    matcher = difflib.SequenceMatcher(None, old, new, autojunk=False)
    if matcher.ratio() < ALIKE:
        return (Piece(was, "del"),), (Piece(now, "ins"),)
    for tag, i, j, k, m in matcher.get_opcodes():
        if i < j:
            left.append(Piece("".join(old[i:j]), "" if tag == "equal" else "del"))
        if k < m:
            right.append(Piece("".join(new[k:m]), "" if tag == "equal" else "ins"))
    return tuple(left), tuple(right)


def _group(change: Change) -> str:
    if change.part or change.field == "parts":
        return "parts"
    return change.clause


def _title(key: str) -> str:
    if key == "":
        return gettext("Title and note")
    return gettext("Parts") if key == "parts" else clause_title(key)


def _part_titles(before: Terms, after: Terms) -> dict[str, str]:
    return {part.id: part_title(part) for terms in (before, after) for part in terms.parts}


def _line(change: Change, titles: dict[str, str]) -> Line:
    was = _words(change, change.before)
    now = _words(change, change.after)
    left, right = pieces(was, now)
    if change.kind == "added":
        left, right = (), (Piece(now, "ins"),)
    elif change.kind == "removed":
        left, right = (Piece(was, "del"),), ()
    where = _where(change, titles)
    return Line(change.kind, KINDS[change.kind], where, left, right)


def _info(change: Change) -> FieldInfo | None:
    """The description of what changed: a field, a list, or a field of an item."""
    if change.clause:
        info = field_of(change.clause, change.field)
        if info is not None and info.item is not None and change.sub:
            return field_of(info.item, change.sub)
        return info
    return field_of(Part if change.part else Terms, change.field)


def _where(change: Change, titles: dict[str, str]) -> str:
    """Part, clause (where a part departs), list with the item's id, and field."""
    names = []
    if change.part:
        names.append(titles.get(change.part, change.part))
        if change.clause:
            names.append(clause_title(change.clause))
    holder = field_of(change.clause, change.field) if change.clause else None
    if holder is not None and holder.item is not None and change.item:
        names.append(f"{word(holder.item.NAME)} {change.item}")
        if not change.sub:
            return ": ".join(names)
    info = _info(change)
    if info is not None:
        names.append(word(info.label))
    elif change.field == "parts":
        names.append(gettext("Part") if change.part else gettext("Order of the parts"))
    return ": ".join(names)


def _words(change: Change, value: Any) -> str:
    """A value before or after, in words."""
    if value is None and change.kind != "changed":
        return ""
    info = _info(change)
    if change.field == "parts" and not change.clause:
        return _part_words(value)
    if info is None:
        return "" if value is None else str(value)
    if info.item is not None:
        return _list_words(change, info, value)
    return value_words(info, value)


def _part_words(value: Any) -> str:
    """A whole part, or the order of their ids."""
    if isinstance(value, dict):
        return " · ".join(value[info.name] for info in fields_of(Part) if value[info.name])
    return ", ".join(value or [])


def _list_words(change: Change, info: FieldInfo, value: Any) -> str:
    """A whole item, a part's own list, a shared item's id, or the order of ids."""
    place = f"{change.clause}.{change.field}"
    assert info.item is not None  # noqa: S101  (the caller asked)
    if isinstance(value, str):
        return value
    if isinstance(value, dict) and "own" in value:
        own = [render(item_sentence(place, info.item, row), gettext) for row in value["own"]]
        without = [gettext("not %(item)s") % {"item": item} for item in value["without"]]
        return "; ".join([*own, *without])
    if isinstance(value, dict):
        return render(item_sentence(place, info.item, value), gettext)
    return ", ".join(value or [])
