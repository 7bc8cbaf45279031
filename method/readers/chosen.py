"""Which of a table's readings count: those of one mode, without rows that are no specimens.

Exports mix what must not be averaged: readings with the specular component and without it, or at
several angles, under one label with the mode in a column of its own; rows of means and deviations;
the target among the specimens. Which are meant cannot be known: it is asked, and what is left out
is said.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain

import numpy as np
import numpy.typing as npt

from method.readers.condition import said
from method.readers.found import Found, Piece, Stated
from method.readers.questions import Choice, Question
from method.readers.table import Column
from method.readers.text import Row
from method.readers.values import Note

_KEYS = ("geometry", "specular", "uv", "backing", "aperture")
_MOST_MODES = 40  # ways that can be asked about
_MOST_COLUMNS = 40  # looked at
SEPARATOR = " / "  # between the names and cells of several such columns
_ANGLE_NAME = re.compile(r"(?:aspecular[ _]?)?angle|\w*winkel|角度?", re.IGNORECASE)
_ANGLE = re.compile(r"(?:as ?)?([+-]?\d{1,3})\s*(?:°|deg\w*)?", re.IGNORECASE)
_NO_SPECIMENS = {"standard", "target", "reference", "substrate"}  # kinds of objects in CxF3
_AFTER = r"(?:[\W_].*)?"
_NO_SPECIMEN = re.compile(
    rf"(?:mean|average|avg|mittel(?:wert)?|median|std|std?\W*(?:dev|abw)\w*|standard deviation"
    rf"|stabw|standardabweichung|min|minimum|max|maximum|range|spannweite|平均值?|标准偏?差"
    rf"|最[大小]值?|target|standard|master|reference|bezug|vorlage|标样|标准样?){_AFTER}",
    re.IGNORECASE,
)
# a quick look at all labels, one on a line
_ONE_AMONG_MANY = re.compile(rf"^(?:{_NO_SPECIMEN.pattern})$", re.IGNORECASE | re.MULTILINE)


Said = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Modes:
    """A column that says how each reading was taken. cells: its text for each reading."""

    column: Column
    cells: Sequence[str]

    @cached_property
    def values(self) -> list[Said]:
        """For each reading what its cell states: pairs of key and value, none where nothing."""
        known = {cell: stated(self.column.text, cell) for cell in set(self.cells)}
        return [known[cell] for cell in self.cells]

    @cached_property
    def ways(self) -> list[Said]:
        """What is stated, each once, as it comes; () unless of a number that can be asked."""
        known = list(dict.fromkeys(self.values))
        return known if 2 <= len(known) <= _MOST_MODES else []


def stated(header: str, cell: str) -> Said:
    """Return what a cell under a header states of how its reading was taken."""
    angle = _ANGLE.fullmatch(cell) if _ANGLE_NAME.fullmatch(header.strip()) else None
    if angle:
        return (("angle", str(int(angle.group(1)))),)
    return tuple(one for one in said(f"{header} {cell}"[:200]) if one[0] in _KEYS)


def mode_columns(head: Sequence[Row], others: Sequence[Column]) -> list[Column]:
    """Return the columns of which a cell in the first rows of readings states a mode."""
    found = []
    for one in others[:_MOST_COLUMNS]:
        texts = {row.cells[one.number - 1] for row in head if one.number <= len(row.cells)}
        if any(stated(one.text, text) for text in texts if text):
            found.append(one)
    return found


def columns_left(left: Sequence[Column]) -> list[Note]:
    """Return the oddity of columns that nothing is read from."""
    if not left:
        return []
    return [("columns-left", {"count": str(len(left)), "name": left[0].text[:40]})]


def counted(
    found: Found,
    modes: Sequence[Modes],
    left: Sequence[Column],
    notes: list[Note],
    chosen: Mapping[str, str],
) -> tuple[Found, list[Question], list[Note]]:
    """Return the table with the readings that count, the questions asked, and the oddities.

    left: columns that nothing else is read from; notes: those of the table so far; what they say
    of these and of repeated labels is said anew. Without an answer the readings of the first mode
    are read, and every row.
    """
    if not found.spectral:
        return found, [], notes
    modes = [one for one in modes if one.ways]
    table, asked, more = _of_one_mode(found, modes, chosen)
    table, also, without = _specimens(table, chosen)
    if table is found:
        return found, [*asked, *also], notes
    kept = [note for note in notes if note[0] not in ("repeated-labels", "columns-left")]
    table = replace(table, notes=tuple(n for n in table.notes if n[0] != "repeated-labels"))
    repeated = sum(count > 1 for count in Counter(table.labels).values())
    again: list[Note] = [("repeated-labels", {"count": str(repeated)})] if repeated else []
    again += columns_left([one for one in left if one not in [way.column for way in modes]])
    return table, [*asked, *also], [*kept, *more, *without, *again]


def _of_one_mode(
    found: Found, modes: Sequence[Modes], chosen: Mapping[str, str]
) -> tuple[Found, list[Question], list[Note]]:
    """Return the readings of one mode, where columns say that there are several."""
    if not modes:
        return found, [], []
    column = SEPARATOR.join(one.column.text for one in modes)[:80]
    cells = [
        SEPARATOR.join(filter(None, row)) for row in zip(*(one.cells for one in modes), strict=True)
    ]
    values: list[Said] = [
        tuple(chain.from_iterable(row)) for row in zip(*(one.values for one in modes), strict=True)
    ]
    ways = list(dict.fromkeys(values))
    names = dict(zip(reversed(values), reversed(cells), strict=True))
    choices = tuple(
        Choice(str(number), None if names[value] else "unsaid", names[value][:80])
        for number, value in enumerate(ways, 1)
    )
    params = {"column": column, "count": str(len(ways))}
    answer = chosen.get("mode", "1")  # one that fits nothing is refused by who checks answers
    number = int(answer) if answer in {choice.value for choice in choices} else 1
    taken = ways[number - 1]
    mask = np.array([value == taken for value in values])
    table = _only(found, mask)
    text = f"{column} {names[taken]}"[:120]
    line = table.lines[0] if table.lines else None
    pieces = [Piece(key, value, text, line) for key, value in taken if key in _KEYS]
    left = {"count": str(int((~mask).sum())), "column": column}
    return (
        replace(table, condition=(*table.condition, *pieces)),
        [Question("mode", choices, None, params)],
        [("mode-left", left)],
    )


def _specimens(found: Found, chosen: Mapping[str, str]) -> tuple[Found, list[Question], list[Note]]:
    """Return the readings without those that are no specimens by label or kind, if so answered.

    Where all are such there is nothing to ask: the file holds readings of a reference.
    """
    by_kind = _NO_SPECIMENS.intersection(found.kinds)
    if not by_kind and not _ONE_AMONG_MANY.search("\n".join(found.labels)):
        return found, [], []
    known = {label: _NO_SPECIMEN.fullmatch(label) is None for label in set(found.labels)}
    mask = np.array([known[label] for label in found.labels])
    if by_kind:
        mask &= np.array([kind not in by_kind for kind in found.kinds])
    if mask.all() or not mask.any():
        return found, [], []
    names = list(dict.fromkeys(found.labels[i] for i in np.flatnonzero(~mask)))
    label = ", ".join(names[:4])[:80]
    params = {"count": str(int((~mask).sum())), "labels": label}
    choices = (Choice("left", "left"), Choice("specimens", "specimens"))
    question = Question("other_rows", choices, None, params)
    if chosen.get("other_rows") != "left":
        return found, [question], []
    return _only(found, mask), [question], [("rows-left", params)]


def _only(found: Found, mask: npt.NDArray[np.bool_]) -> Found:
    """Return a table with the readings of a mask alone."""
    kept = np.flatnonzero(mask)
    return replace(
        found,
        labels=tuple(found.labels[i] for i in kept),
        lines=tuple(found.lines[i] for i in kept) if found.lines else (),
        kinds=tuple(found.kinds[i] for i in kept) if found.kinds else (),
        values=np.ascontiguousarray(found.values[kept]),
        stated=tuple(_stated(one, kept) for one in found.stated),
    )


def _stated(one: Stated, kept: npt.NDArray[np.intp]) -> Stated:
    polar = None if one.chroma_hue is None else one.chroma_hue[kept]
    return replace(one, values=one.values[kept], chroma_hue=polar)
