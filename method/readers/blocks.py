"""Where tables begin and end among rows of cells, in text and in sheets alike.

A file may hold several tables one below the other, each with its own wavelengths; none of them is
ever taken for lines above the next.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from method.readers.errors import ReadError
from method.readers.framed import Frame, rows_under
from method.readers.layout import HEAD, LEAST_BANDS, Band, Layout, band, layouts
from method.readers.stated import stated_columns
from method.readers.table import limited_rows
from method.readers.text import Row
from method.readers.values import Note, like_number

# whole parts from 200 to 1199: a quick look before each cell is tried
_LIKE_NM = re.compile(r"(?<![\d.,])(?:[2-9]\d\d|1[01]\d\d)(?!\d)", re.ASCII)


@dataclass
class Block:
    """The rows of one table with what stands above it.

    rows: all of them, or None where ``text`` has not been split yet. head: the first rows, in
    which ``found`` places the wavelengths (none: colours without spectra). text: the whole file,
    where this is its only table, and first: the number of its first line. body: the lines of
    readings alone and the number of their first, where they are known. delimiter: the word for
    what parts their cells. said: rows that speak of this table without standing above it.
    """

    head: list[Row]
    found: list[Layout]
    delimiter: str = ""
    rows: list[Row] | None = None
    text: str | None = None
    first: int = 1
    body: tuple[list[str], int] | None = None
    name: str = ""
    sheet: str = ""
    said: list[Row] = field(default_factory=list)
    frame: Frame | None = None
    scale: str | None = None  # what a keyword or the names of the fields state
    notes: list[Note] = field(default_factory=list)

    def all_rows(self, name: str) -> list[Row]:
        """Return all rows, splitting the text where that has not been done; name: the file's.

        Raises ReadError for text that has too many cells or is damaged.
        """
        if self.rows is None and self.frame is not None:
            self.rows = [*self.head[:1], *rows_under(self.frame, self.delimiter, name)]
        if self.rows is None:
            self.rows = limited_rows(self.text or "", self.delimiter, name, self.first)
        return self.rows


@dataclass(frozen=True)
class Axis:
    """One place of wavelengths.

    kind as in Layout; first, last: rows (from 0) that it covers; ends: first and last wavelength
    in nm, of a column only. broken: the row that interrupts a column of wavelengths.
    """

    kind: str
    first: int
    last: int
    ends: tuple[float, float] = (0.0, 0.0)
    broken: int | None = None


def axes(rows: Sequence[Row]) -> list[Axis]:
    """Return every axis of wavelengths among the rows, from top to bottom.

    Below a row of wavelengths the rows with as many numbers are readings, whatever they look like.
    """
    found: list[Axis] = []
    at = 0
    while at < len(rows):
        row_of_bands = across(rows[at])
        down = _down(rows, at)
        if row_of_bands and not (down and _plainer(rows[at], down)):
            found.append(Axis("rows", at, _readings_end(rows, at)))
        elif down:
            ends, broken = (down[0].nm, down[-1].nm), _broken_above(rows, at, down)
            found.append(Axis("columns", at, at + len(down) - 1, ends, broken))
        else:
            at += 1
            continue
        at = found[-1].last + 1
        if len(found) > 1 and _goes_on_after(found[-2], found[-1]):
            later, earlier = found.pop(), found.pop()
            ends, broken = (earlier.ends[0], later.ends[1]), earlier.broken or earlier.last + 1
            found.append(Axis("columns", earlier.first, later.last, ends, broken))
    return found


def _goes_on_after(earlier: Axis, later: Axis) -> bool:
    """Tell whether a column of wavelengths goes on behind one row that is none."""
    if (earlier.kind, later.kind) != ("columns", "columns") or later.first - earlier.last != 2:
        return False
    rising = earlier.ends[1] > earlier.ends[0]
    on = later.ends[0] > earlier.ends[1] if rising else later.ends[0] < earlier.ends[1]
    return on and rising == (later.ends[1] > later.ends[0])


def _broken_above(rows: Sequence[Row], at: int, run: Sequence[Band]) -> int | None:
    """Return the row above a column of wavelengths if the column began before that row already."""
    if at < 2 or {len(row.cells) for row in rows[at - 2 : at]} != {len(rows[at].cells)}:
        return None
    column = run[0].cell
    named = any(map(str.isdigit, rows[at - 1].cells[column]))  # "5OO", not "IRR"
    if named and _readings(rows[at - 1], column) and not _readings(rows[at - 2], column):
        return at - 1  # readings where names should stand, below a row of names
    one = band(rows[at - 2].cells[column], column)
    step = run[1].nm - run[0].nm
    if one is None or one.prefix != run[0].prefix:
        return None
    return at - 1 if (run[0].nm - one.nm) / step in (1.0, 2.0, 3.0) else None


def _readings(row: Row, column: int) -> bool:
    """Tell whether all cells but one column's are numbers with decimals."""
    others = [cell for index, cell in enumerate(row.cells) if index != column]
    return all(like_number(cell) and ("." in cell or "," in cell) for cell in others)


def check_unbroken(rows: Sequence[Row], found: Sequence[Axis], name: str) -> None:
    """Raise ReadError for a row that interrupts a column of wavelengths."""
    for axis in found:
        if axis.broken is not None:
            raise ReadError("line-not-understood", name, line=rows[axis.broken].line)


def _plainer(row: Row, run: Sequence[Band]) -> bool:
    """Tell whether a run down is more plainly an axis than this row, which it begins with."""
    return len(run) > len([cell for cell in row.cells if band(cell, 0)])


def across(row: Row) -> bool:
    """Tell whether a row holds at least LEAST_BANDS rising or falling wavelengths."""
    if len(row.cells) < LEAST_BANDS or len(_LIKE_NM.findall(" ".join(row.cells))) < LEAST_BANDS:
        return False
    groups: dict[str, list[Band]] = {}
    for index, text in enumerate(row.cells):
        one = band(text, index)
        if one is not None:
            groups.setdefault(one.prefix, []).append(one)
    return any(len(bands) >= LEAST_BANDS and _ordered(bands) for bands in groups.values())


def _ordered(bands: Sequence[Band]) -> bool:
    steps = [b.nm - a.nm for a, b in pairwise(bands)]
    return all(step > 0 for step in steps) or all(step < 0 for step in steps)


def _down(rows: Sequence[Row], at: int) -> list[Band]:
    """Return the wavelengths from this row down one of the first three columns, if any."""
    longest: list[Band] = []
    for column in range(3):
        run: list[Band] = []
        for index in range(at, len(rows)):
            cells = rows[index].cells
            one = band(cells[column], column) if column < len(cells) > 1 else None
            if one is None or (run and not _goes_on(run, one)):
                break
            run.append(one)
        longest = max(longest, run, key=len)
    return longest if len(longest) >= LEAST_BANDS else []


def _goes_on(run: Sequence[Band], one: Band) -> bool:
    """Tell whether a wavelength goes on in the direction of a run."""
    step = one.nm - run[-1].nm
    if one.prefix != run[0].prefix or step == 0:
        return False
    return len(run) < 2 or (step > 0) == (run[1].nm > run[0].nm)


def _readings_end(rows: Sequence[Row], at: int) -> int:
    """Return the last row of readings below a row of wavelengths."""
    end = at
    for index in range(at + 1, len(rows)):
        if across(rows[index]):
            break
        if _many_numbers(rows[index]):
            end = index
        elif index > end + 1:  # one row without numbers among readings is a fault, two are the end
            break
    return end


def _many_numbers(row: Row) -> bool:
    count = 0
    for cell in row.cells:
        count += like_number(cell)
        if count >= LEAST_BANDS:
            return True
    return False


def split(rows: Sequence[Row], found: Sequence[Axis]) -> list[list[Row]]:
    """Return the rows of each table with what stands above it; none are lost.

    The row above a column of wavelengths, and all rows since the table before, go with the table
    below; rows after the last table's readings stay with it, so that they are named as faults.
    """
    parts: list[list[Row]] = []
    start = 0
    for number, axis in enumerate(found):
        last = number == len(found) - 1
        end = len(rows) if last else axis.last + 1
        parts.append(list(rows[start:end]))
        start = end
    return parts


def blocks_of(
    rows: list[Row], name: str, head: int = HEAD, sheet: str = "", delimiter: str = ""
) -> list[Block]:
    """Return the tables among rows of cells: with spectra, or else with colours only.

    head: how many rows of each are searched for the wavelengths. Raises ReadError for a column of
    wavelengths that another row interrupts; name: the file's.
    """
    found = axes(rows)
    check_unbroken(rows, found, name)
    parts = split(rows, found) if found else [rows]
    made = []
    for part in parts:
        places = layouts(part[:head])
        if places or _colours_at(part[:head]) is not None:
            title = _title(part, places)
            made.append(Block(part[:head], places, delimiter, part, name=title, sheet=sheet))
    return made


def _colours_at(rows: Sequence[Row]) -> int | None:
    """Return the first row whose names state colours, if any."""
    for index, row in enumerate(rows):
        if stated_columns(row.cells):
            return index
    return None


def _title(rows: Sequence[Row], places: Sequence[Layout]) -> str:
    """Return the last line above a table that is text alone, as its name."""
    if not places:
        return ""
    first = places[0].at if places[0].kind == "rows" else places[0].bands[0].cell - 1
    for row in reversed(rows[: max(first, 0)]):
        if len(row.cells) <= 2 and not any(map(like_number, row.cells)):
            return " ".join(row.cells)[:60]
    return ""
