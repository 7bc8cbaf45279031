"""One table found in a text: labels, values and lines, faults named by place."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from method.packed import MAX_LABEL
from method.readers.errors import ReadError
from method.readers.layout import HEAD, Band, Layout, band, grid_of, in_order, layouts
from method.readers.stated import stated_columns
from method.readers.text import MAX_CELLS, Row, rows
from method.readers.units import units_row, without_signs
from method.readers.values import Floats, Note, Place, decimal_mark, like_number, numbers

DELIMITERS = {"tab": "\t", "semicolon": ";", "comma": ",", "spaces": " ", "bar": "|"}
# lines by which some exports frame their table
_FRAME = re.compile(
    r"(BEGIN|END)_DATA(_FORMAT)?|NUMBER_OF_(SETS|FIELDS)|KEYWORD|LGOROWLENGTH", re.IGNORECASE
)
_LABEL_NAMES = re.compile(
    r"(sample|specimen|probe|muster|label|name|id|bezeichnung)"
    r"([ _-]?(id|name|no|nr|label|loc|number))?",
    re.IGNORECASE,
)
_AXIS_NAMES = re.compile(
    r"[\W_]*(?:wave[ _-]?lengths?|wellenl\w+|lambda|λ|wl|longueurs? d.onde|lunghezza d.onda"
    r"|longitud de onda|nanomet\w+|bands?|波长)?[\W_]*(?:nm)?[\W_]*",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Column:
    """A column that may hold labels: its number from 1 and its header text."""

    number: int
    text: str


@dataclass
class Table:
    """What was read under one layout. values: (readings, bands), rising wavelengths."""

    wavelengths: list[int]
    mark: str
    header_line: int
    band_names: list[str]
    values: Floats
    labels: list[str]
    lines: list[int]
    label_column: Column | None
    notes: list[Note] = field(default_factory=list)
    numbered: bool = False
    extras: Floats | None = None  # (readings, columns asked for besides); NaN: no number there
    beside: list[list[str]] = field(default_factory=list)  # texts of further columns asked for
    units: tuple[str, ...] = ()  # units that stood among the readings


def separate(text: str, name: str, first: int = 1) -> tuple[str, list[Layout], list[Row]]:
    """Return the delimiter's word, the layouts it allows and the first rows under it.

    The delimiter is the one that shows most wavelengths, in order if any shows them so.
    first: the number of the first line.

    Raises ReadError where no delimiter shows any. Faults of single rows are left to the reading
    of the whole: under a wrong delimiter they mean nothing.
    """
    too_wide: ReadError | None = None
    best: tuple[tuple[bool, int], str, list[Layout], list[Row]] | None = None
    head_text = "\n".join(text.split("\n", HEAD)[:HEAD])
    for word, character in DELIMITERS.items():
        head: list[Row] = []
        try:
            for row in rows(_blanks(head_text, word), character, name, first):
                head.append(row)  # what came before a fault is kept
        except ReadError as error:
            too_wide = error if error.id == "too-many-columns" else too_wide
        found = layouts(head)
        shown = max(((in_order(one), len(one.bands)) for one in found), default=None)
        if shown is not None and (best is None or shown > best[0]):
            best = (shown, word, found, head)
    if best is None and too_wide is not None:
        raise too_wide
    if best is None:
        raise ReadError("no-wavelengths", name, params={"least": "8"})
    return best[1:]


def _blanks(text: str, word: str) -> str:
    """Return the text with tabs as blanks where blanks separate."""
    return text.replace("\t", " ") if word == "spaces" else text


def all_rows(text: str, word: str, name: str, first: int = 1) -> list[Row]:
    """Return every row of the text under a delimiter's word. first: number of the first line."""
    return list(rows(_blanks(text, word), DELIMITERS[word], name, first))


def limited_rows(text: str, word: str, name: str, first: int = 1) -> list[Row]:
    """Return every row of a text that has few enough cells to be held as texts.

    Raises ReadError for more.
    """
    if text.count(DELIMITERS[word]) > MAX_CELLS:
        raise ReadError("text-too-many-cells", name, params={"limit": str(MAX_CELLS)})
    return all_rows(text, word, name, first)


def label_columns(header: Row, layout: Layout) -> tuple[list[Column], Column | None]:
    """Return the columns that may hold labels, and the one that is taken if it is plain which."""
    taken = {one.cell for one in (*layout.bands, *strays(header, layout))}
    others = [
        Column(index + 1, text) for index, text in enumerate(header.cells) if index not in taken
    ]
    named = [column for column in others if _LABEL_NAMES.fullmatch(column.text)]
    if len(others) == 1:
        return others, others[0]
    return others, named[0] if len(named) == 1 else None


def strays(header: Row, layout: Layout) -> list[Band]:
    """Return the columns named like the layout's bands that do not belong to them."""
    taken = {one.cell for one in layout.bands}
    named = [band(text, index) for index, text in enumerate(header.cells) if index not in taken]
    return [one for one in named if one is not None and one.prefix == layout.prefix]


def is_label_name(text: str) -> bool:
    """Tell whether a column's name says that it holds labels."""
    return _LABEL_NAMES.fullmatch(text) is not None


def by_row(
    table: Sequence[Row],
    layout: Layout,
    name: str,
    label_column: Column | None,
    extras: Sequence[int] = (),
    *,
    beside: Sequence[int] = (),
    aligned: bool = False,
) -> Table:
    """Read one reading per row below the header. extras: further cells to read as numbers.

    beside: further cells to keep as texts; aligned: each cell stands where the file puts it, as in
    a sheet; in text cells may be missing.
    """
    header = table[layout.at]
    grid = grid_of(layout, name, [row.line for row in table])
    indices = [one.cell for one in layout.bands]
    below, units, said = _units(table[layout.at + 1 :], indices)
    body, notes = _body(below, header, name)
    notes += said
    at_label = label_column.number - 1 if label_column else None
    matching = _matching(body, header, layout, at_label, aligned)
    closed = sum(len(row.cells) > len(header.cells) for row in body) if matching.close else 0
    body = [_matched(row, matching, name) for row in body]
    notes += [("empty-cells", {"count": str(closed)})] if closed else []
    plain = without_signs(body, indices)
    if plain is not None:
        body, units = plain, [*units, "%"]
        notes.append(("percent-signs", {}))
    mark = decimal_mark([row.cells[i] for row in body[:50] for i in indices if i < len(row.cells)])
    columns = [i + 1 for i in indices]
    fields = [f"{nm} nm" for nm in grid]
    values = np.empty((len(body), len(indices)))
    for at, row in enumerate(body):
        place = Place([row.line] * len(columns), columns, fields)
        values[at] = numbers([row.cells[i] for i in indices], mark, name, place)
    labels = [
        _label(_cell(row, label_column.number - 1), name, row.line, label_column.number)
        if label_column
        else str(at + 1)
        for at, row in enumerate(body)
    ]
    lines = [row.line for row in body]
    names = [one.text for one in layout.bands]
    result = Table(grid, mark, header.line, names, values, labels, lines, label_column, notes)
    result.extras = _others(body, extras, mark)
    result.beside = [[_cell(row, index) for row in body] for index in beside]
    result.units = tuple(units)
    return rising(result)


def _units(
    below: Sequence[Row], bands: Sequence[int]
) -> tuple[Sequence[Row], list[str], list[Note]]:
    """Return the rows without one of units at their head, what it says, and the oddity of it."""
    unit = units_row(below[0], bands) if below else ""
    if not unit:
        return below, [], []
    return below[1:], [unit], [("units-row", {"line": str(below[0].line), "text": unit})]


def _others(body: Sequence[Row], cells: Sequence[int], mark: str) -> Floats:
    """Return numbers that stand beside the readings, NaN where a cell holds none."""
    found = np.full((len(body), len(cells)), np.nan)
    for at, row in enumerate(body):
        for column, index in enumerate(cells):
            text = _cell(row, index).replace(mark, ".")
            if like_number(text):
                found[at, column] = float(text)
    return found


def _body(below: Sequence[Row], header: Row, name: str) -> tuple[list[Row], list[Note]]:
    """Return the rows of readings and what was odd."""
    body: list[Row] = []
    frames, ended = 0, False
    stated: str | None = None
    notes: list[Note] = []
    for at, row in enumerate(below):
        if len(row.cells) < len(header.cells) and body and colours_begin(below, at):
            notes += aside(below[at:])
            break
        if _FRAME.fullmatch(row.cells[0]):
            frames += 1
            ended = ended or row.cells[0].upper() == "END_DATA"
            if row.cells[0].upper() == "NUMBER_OF_SETS" and len(row.cells) > 1:
                stated = row.cells[1]
            continue
        if ended or row.cells == header.cells:
            raise ReadError("several-tables", name, line=row.line)
        body.append(row)
    if not body:
        raise ReadError("no-readings", name, line=header.line)
    if frames:
        notes.append(("structure-lines", {"count": str(frames)}))
    if stated is not None and stated != str(len(body)):
        notes.append(("count-disagrees", {"stated": stated[:40], "found": str(len(body))}))
    return body, notes


@dataclass(frozen=True)
class _Matching:
    """What the rows below a header are held against.

    close: whether empty cells directly after the label are closed up; width: how many cells whole
    rows are written with; text_behind: whether no column behind the bands holds numbers.
    """

    header: Row
    bands: dict[int, str]
    label: int | None
    close: bool
    width: int
    text_behind: bool


def _matching(
    body: Sequence[Row], header: Row, layout: Layout, label: int | None, aligned: bool
) -> _Matching:
    """Return what rows are held against. aligned: cells stand where the file puts them."""
    bands = {one.cell: f"{one.nm:g} nm" for one in layout.bands}
    expected, last = len(header.cells), max(bands)
    whole = [row for row in body if len(row.cells) == expected]
    after = 0 if label is None else label + 1
    gaps = {len(row.cells) > expected and not row.cells[after] for row in body}
    behind = [cell for row in whole for cell in row.cells[last + 1 :]]
    return _Matching(
        header=header,
        bands=bands,
        label=label,
        close=not aligned and gaps == {True},
        width=0 if aligned else max([header.width, expected, *(row.width for row in whole)]),
        text_behind=bool(whole) and not any(map(like_number, behind)),
    )


def _matched(row: Row, to: _Matching, name: str) -> Row:
    """Return a row as wide as the header, each cell under its own column's name.

    Cells missing at the end are those of the last columns only where the row is written as wide
    as whole rows are, or where a number moved up could not be one: behind the bands stands text.
    """
    found, expected = len(row.cells), len(to.header.cells)
    params = {"found": str(found), "expected": str(expected)}
    if found > expected:
        return _narrowed(row, to, name)
    if found == expected:
        return row
    last = max(to.bands)
    numbered = all(like_number(_cell(row, index)) for index in to.bands)
    if found <= last or not (row.width >= to.width or (to.text_behind and numbered)):
        raise ReadError("cells-missing", name, line=row.line, column=found + 1, params=params)
    return row


def _narrowed(row: Row, to: _Matching, name: str) -> Row:
    """Return a row with more cells than the header without those that may be left out.

    These are a remark behind the last cell and empty cells directly after the label, where every
    row has them; other empty cells are readings that are missing.
    """
    expected = len(to.header.cells)
    over = len(row.cells) - expected
    after = 0 if to.label is None else to.label + 1
    if to.close and not any(row.cells[after : after + over]):
        return Row(row.line, row.cells[:after] + row.cells[after + over :], row.width)
    if row.cells[expected].startswith("#"):
        return Row(row.line, row.cells[:expected], row.width)
    if to.label is not None and not row.cells[to.label]:
        raise ReadError("label-missing", name, line=row.line, column=to.label + 1)
    for index, field_name in sorted(to.bands.items()):
        if not row.cells[index]:
            raise ReadError(
                "number-missing", name, line=row.line, column=index + 1, field=field_name
            )
    params = {"found": str(len(row.cells)), "expected": str(expected)}
    raise ReadError("cells-too-many", name, line=row.line, column=expected + 1, params=params)


def by_column(table: Sequence[Row], layout: Layout, name: str) -> Table:
    """Read one reading per column beside the column of wavelengths."""
    grid = grid_of(layout, name, [row.line for row in table])
    first, last = layout.bands[0].cell, layout.bands[-1].cell
    below = table[last + 1 :]
    if below and not colours_begin(below, 0):
        raise ReadError("line-not-understood", name, line=below[0].line)
    body = table[first : last + 1]
    width = max(len(row.cells) for row in body)
    header = header_above(table, layout)
    if header:
        width = max(width, len(header.cells))
    samples = [c for c in range(width) if c != layout.at and _used(c, body, header)]
    if not samples:
        raise ReadError("no-readings", name, line=body[0].line)
    plain = without_signs(body, samples)
    if plain is not None:
        body = plain
    marks = [row.cells[c] for row in body for c in samples if c < len(row.cells)]
    mark = decimal_mark(marks[:2000])
    values = np.empty((len(samples), len(body)))
    for at, row in enumerate(body):
        cells = [_cell(row, c) for c in samples]
        where = Place(
            [row.line] * len(samples), [c + 1 for c in samples], [f"{grid[at]} nm"] * len(samples)
        )
        values[:, at] = numbers(cells, mark, name, where)
    labels = [
        _label(_cell(header, c), name, header.line, c + 1) if header else str(at + 1)
        for at, c in enumerate(samples)
    ]
    header_line = header.line if header else body[0].line
    names = [one.text for one in layout.bands]
    lines = [c + 1 for c in samples]
    result = Table(grid, mark, header_line, names, values, labels, lines, None, aside(below))
    result.numbered = header is None
    if plain is not None:
        result.units = ("%",)
        result.notes.append(("percent-signs", {}))
    return rising(result)


def header_above(table: Sequence[Row], layout: Layout) -> Row | None:
    """Return the row above a column of wavelengths that names the readings, if one does.

    It is the nearest whose cell above the wavelengths names these, names labels or is empty; else
    the row directly above, if it alone has a name for each of several readings. A key and its value
    are no header.
    """
    first, last = layout.bands[0].cell, layout.bands[-1].cell
    above = [row for row in table[:first] if len(row.cells) > 1]
    for row in reversed(above):
        corner = _cell(row, layout.at)
        if names_axis(corner) or is_label_name(corner):
            return row
    width = max(len(row.cells) for row in table[first : last + 1])
    wide = [row for row in above if len(row.cells) >= max(width, 3)]
    return wide[0] if len(wide) == 1 and wide[0] is table[first - 1] else None


def names_axis(text: str) -> bool:
    """Tell whether a column's name says that it holds wavelengths, or nothing."""
    return _AXIS_NAMES.fullmatch(text) is not None


def colours_begin(rows: Sequence[Row], at: int) -> bool:
    """Tell whether at this row, perhaps below a title, a table of colours begins."""
    title = len(rows[at].cells) <= 2 and not any(map(like_number, rows[at].cells))
    near = rows[at : at + 2] if title else rows[at : at + 1]
    return any(stated_columns(row.cells) for row in near)


def aside(rows: Sequence[Row]) -> list[Note]:
    """Return the oddity of rows that belong to another table, without spectra."""
    found = [row for row in rows if _of_other_table(row)]
    if not found:
        return []
    return [("table-aside", {"count": str(len(found)), "line": str(found[0].line)})]


def _of_other_table(row: Row) -> bool:
    """Tell whether a row holds at least three numbers and is no row of wavelengths."""
    numbers = [cell for cell in row.cells if like_number(cell)]
    return len(numbers) >= 3 and not all(band(cell, 0) for cell in numbers)


def _cell(row: Row, column: int) -> str:
    """Return a cell by its zero-based column, empty where the row ends before it."""
    return row.cells[column] if column < len(row.cells) else ""


def _used(column: int, body: Sequence[Row], header: Row | None) -> bool:
    """Tell whether a column has a header or any value."""
    stack = [*body, header] if header else [*body]
    return any(_cell(row, column) for row in stack)


def labelled(text: str) -> str:
    """Return a label in the one form in which equal labels are equal."""
    return text if text.isascii() else unicodedata.normalize("NFC", text)


def _label(text: str, name: str, line: int, column: int) -> str:
    """Return a specimen's label, or raise ReadError where it is empty or too long."""
    label = labelled(text)
    if not label:
        raise ReadError("label-missing", name, line=line, column=column)
    if len(label) > MAX_LABEL:
        params = {"size": str(len(label)), "limit": str(MAX_LABEL)}
        raise ReadError("label-too-long", name, line=line, column=column, params=params)
    return label


def rising(table: Table) -> Table:
    """Return the table with rising wavelengths, saying so where it was turned round."""
    if table.wavelengths[0] > table.wavelengths[-1]:
        table.wavelengths.reverse()
        table.band_names.reverse()
        table.values = np.ascontiguousarray(table.values[:, ::-1])
        table.notes.append(("descending", {}))
    repeated = sum(count > 1 for count in Counter(table.labels).values())
    if repeated:
        table.notes.append(("repeated-labels", {"count": str(repeated)}))
    return table
