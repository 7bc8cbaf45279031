"""One block of rows to one table: its layout, labels, values, condition and stated colours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from method.readers.blocks import Block
from method.readers.chosen import Modes, columns_left, mode_columns
from method.readers.condition import contradictions, pieces
from method.readers.errors import ReadError
from method.readers.found import Found, Stated, no_spectra
from method.readers.framed import axis_disagrees, counts
from method.readers.layout import Band, Layout, grid_of
from method.readers.questions import Question, declared, label_column, other_quantity, structure
from method.readers.quick import quick_lines
from method.readers.stated import (
    Triple,
    is_other_field,
    polar_disagrees,
    stated_columns,
)
from method.readers.table import (
    Column,
    Table,
    aside,
    by_column,
    by_row,
    is_label_name,
    label_columns,
    labelled,
    strays,
)
from method.readers.text import Row
from method.readers.values import Floats, Note, decimal_mark, like_number
from method.readers.whole import whole_layout

_MOST_ASIDE = 5  # stray bands named


@dataclass
class Parsed:
    """A table as read under the answers so far, and the questions of its structure."""

    found: Found
    questions: list[Question]
    decimal_mark: str = "."
    declared: str | None = None
    said: str = ""
    notes: list[Note] = field(default_factory=list)
    modes: list[Modes] = field(default_factory=list)
    left: list[Column] = field(default_factory=list)  # columns that nothing was read from


def parse_block(block: Block, chosen: Mapping[str, str], name: str) -> Parsed:
    """Return the table of a block; ReadError naming the first fault in it.

    chosen: answers to the questions of structure (``layout``, ``columns``, ``label_column``,
    ``bands``); where one is missing the suggested answer is read.
    """
    if not block.found:
        return _colours_only(block, name)
    layout, questions = structure(block.found, chosen)
    kept, asked = whole_layout(layout, chosen, name, block.head)
    questions += asked
    if layout.kind == "columns":
        table, triples = _by_column(block, layout, kept, name)
        above = [*block.said, *_above_columns(block, layout, table)]
        return _parsed(block, layout, table, triples, above, questions)
    header = block.head[layout.at]
    triples = stated_columns([_outside(layout, i, c) for i, c in enumerate(header.cells)])
    others, label = label_columns(header, layout)
    others, label = _without_fields(others, label, triples)
    label, asked = label_column(others, label, chosen)
    questions += asked
    modal = mode_columns(block.head[layout.at + 1 :], [one for one in others if one != label])
    table = _by_row(block, kept, label, triples, name, [one.number - 1 for one in modal])
    table.notes += [
        ("band-aside", {"name": one.text[:40]}) for one in strays(header, layout)[:_MOST_ASIDE]
    ]
    table.notes += columns_left(_left(others, label))
    above = [*block.said, *block.head[: layout.at + 1]]
    parsed = _parsed(block, layout, table, triples, above, questions)
    parsed.modes = [Modes(*one) for one in zip(modal, table.beside, strict=True)]
    parsed.left = _left(others, label)
    return parsed


def _left(others: Sequence[Column], label: Column | None) -> list[Column]:
    """Return the columns that are neither bands nor labels nor known quantities."""
    return [one for one in others if one != label and one.text and not is_label_name(one.text)]


def _by_column(block: Block, layout: Layout, kept: Layout, name: str) -> tuple[Table, list[Triple]]:
    """Read a table by column, rows that state colours apart from the wavelengths.

    kept: the layout with the bands that are taken.
    """
    rows = block.all_rows(name)
    bands = {one.cell for one in layout.bands}
    names = [
        "" if i in bands or len(row.cells) <= layout.at else row.cells[layout.at]
        for i, row in enumerate(rows)
    ]
    triples = stated_columns(names)
    colours = [i for one in triples for i in (*one.cells, *(one.chroma_hue or ()))]
    left = bands - {one.cell for one in kept.bands} | set(colours)
    shift = sum(i < layout.bands[0].cell for i in colours)
    first = layout.bands[0].cell - shift
    moved = tuple(one._replace(cell=first + i) for i, one in enumerate(kept.bands))
    table = by_column(
        [row for i, row in enumerate(rows) if i not in left], replace(kept, bands=moved), name
    )
    table.extras = np.array(
        [[_number(rows[i], column - 1, table.mark) for i in colours] for column in table.lines]
    )
    return table, triples


def _parsed(
    block: Block,
    layout: Layout,
    table: Table,
    triples: Sequence[Triple],
    above: list[Row],
    questions: list[Question],
) -> Parsed:
    """Gather what was read of a block."""
    column = table.label_column
    condition = pieces(_without_stated(above, layout))
    stated = tuple(_stated(triples, table.extras)) if table.extras is not None else ()
    found = Found(
        name=block.name,
        quantity="unknown",
        wavelengths=tuple(table.wavelengths),
        labels=tuple(table.labels),
        values=table.values,
        layout=layout.kind,
        lines=tuple(table.lines),
        columns=tuple(table.band_names),
        header_line=table.header_line,
        label_column=(column.number, column.text) if column else None,
        scale=block.scale,
        condition=tuple(condition),
        stated=stated,
    )
    said = " ".join(cell for row in above for cell in row.cells if not cell.isdigit())
    said += "".join(f" Values in {unit}" for unit in table.units)
    said += _other_quantity(block, layout)
    notes = [*_structure_notes(block, layout, table), *table.notes, *_polar(stated)]
    left = len(layout.bands) - len(table.wavelengths)
    notes += [("bands-left-out", {"count": str(left)})] if left else []
    notes += contradictions(condition)
    return Parsed(found, questions, table.mark, declared(said), said, notes)


def _other_quantity(block: Block, layout: Layout) -> str:
    """Return the word or sign of bands and columns that says they hold no reflectances, or nothing.

    Of a table by column the names may be any specimen's: only units and quantities count.
    """
    if other_quantity("", layout.prefix):
        return " transmittance"
    if layout.kind != "columns" or not layout.bands[0].cell:
        return ""
    names = block.head[layout.bands[0].cell - 1].cells
    return "".join(f" {one}" for one in names if other_quantity(one))


def _by_row(
    block: Block,
    layout: Layout,
    label: Column | None,
    triples: Sequence[Triple],
    name: str,
    beside: Sequence[int],
) -> Table:
    """Read a table by row, the short way where its text is plain. beside: cells kept as texts."""
    extras = [cell for one in triples for cell in (*one.cells, *(one.chroma_hue or ()))]
    header = block.head[layout.at]
    grid_of(layout, name, [row.line for row in block.head])
    table = None
    body = block.body
    if body is None and block.text is not None:
        lines = block.text.rstrip("\n").split("\n")
        body = lines[header.line - block.first + 1 :], header.line + 1
    if body is not None:
        table = quick_lines(*body, block.delimiter, header, layout, label, extras, beside)
    if table is not None:
        return table
    aligned = not block.delimiter  # a sheet's
    rows = block.all_rows(name)
    return by_row(rows, layout, name, label, extras, beside=beside, aligned=aligned)


def _outside(layout: Layout, index: int, text: str) -> str:
    """Return a column's name, or nothing where it is a band of the layout."""
    return "" if any(one.cell == index for one in layout.bands) else text


def _above_columns(block: Block, layout: Layout, table: Table) -> list[Row]:
    """Return what stands above a table by column, without the specimens' names."""
    return [
        Row(row.line, row.cells[layout.at : layout.at + 1])
        if row.line == table.header_line
        else row
        for row in block.head[: layout.bands[0].cell]
    ]


def _without_stated(above: list[Row], layout: Layout) -> list[Row]:
    """Return the rows above without the names of columns: those speak of their own values only."""
    if layout.kind != "rows":
        return above
    return above[:-1]


def _without_fields(
    others: list[Column], label: Column | None, triples: Sequence[Triple]
) -> tuple[list[Column], Column | None]:
    """Leave out columns that state colours or other known quantities: they name no specimens."""
    colours = {cell for one in triples for cell in (*one.cells, *(one.chroma_hue or ()))}
    kept = [
        column
        for column in others
        if column.number - 1 not in colours and not is_other_field(column.text)
    ]
    if label is None or label not in kept:
        label = kept[0] if len(kept) == 1 else None
    return kept, label


def _stated(triples: Sequence[Triple], extras: Floats) -> list[Stated]:
    """Return the stated colours from the columns read besides the bands."""
    found, at = [], 0
    for one in triples:
        values = extras[:, at : at + 3]
        at += 3
        polar = None
        if one.chroma_hue is not None:
            polar = extras[:, at : at + 2]
            at += 2
        found.append(Stated(one.space, values, one.fields, one.illuminant, one.observer, polar))
    return found


def _polar(stated: Sequence[Stated]) -> list[Note]:
    """Return the oddity of stated chroma that is not that of a* and b*."""
    notes: list[Note] = []
    for one in stated:
        count, gap = polar_disagrees(one)
        if count:
            notes.append(("chroma-disagrees", {"count": str(count), "largest": f"{gap:.2f}"}))
    return notes


def _structure_notes(block: Block, layout: Layout, table: Table) -> list[Note]:
    """Return what is odd about where things stand."""
    notes: list[Note] = []
    if block.frame is not None:
        notes += counts(block.frame, len(table.labels))
        notes += axis_disagrees(block.frame, [one.nm for one in _rising(layout)])
    by_row = layout.kind == "rows"
    before = block.head[: layout.at if by_row else layout.bands[0].cell]
    above = [row for row in before if row.line != table.header_line]
    if above:
        notes.append(("preamble", {"count": str(len(above))}))
    notes += _table_above(above, by_row) + block.notes
    if table.numbered or (by_row and table.label_column is None):
        notes.append(("labels-numbered", {}))
    return notes


def _table_above(above: Sequence[Row], by_row: bool) -> list[Note]:
    """Return the oddity of another table above. by_row: whether the readings stand in rows.

    Above readings in columns rows of numbers may be anything said of each of them.
    """
    colours = [at for at, row in enumerate(above) if stated_columns(row.cells)]
    if colours:
        return aside(above[colours[0] :])
    notes = aside(above) if by_row else []
    return notes if notes and notes[0][1]["count"] != "1" else []


def _rising(layout: Layout) -> list[Band]:
    return sorted(layout.bands, key=lambda one: one.nm)


def _colours_only(block: Block, name: str) -> Parsed:
    """Read a table that states colours and holds no spectra."""
    rows = block.all_rows(name)
    at = next(i for i, row in enumerate(rows) if stated_columns(row.cells))
    header, body = rows[at], rows[at + 1 :]
    triples = stated_columns(header.cells)
    cells = {cell for one in triples for cell in (*one.cells, *(one.chroma_hue or ()))}
    body = [row for row in body if _has_number(row, cells)]
    if not body:
        raise ReadError("no-readings", name, line=header.line)
    mark = decimal_mark([row.cells[i] for row in body[:50] for i in cells if i < len(row.cells)])
    order = [cell for one in triples for cell in (*one.cells, *(one.chroma_hue or ()))]
    extras = np.array([[_number(row, i, mark) for i in order] for row in body])
    empty = Layout("rows", at, "", ())
    _, label = label_columns(header, empty)
    others = [Column(i + 1, text) for i, text in enumerate(header.cells)]
    others, label = _without_fields(others, label, triples)
    label = label or (others[0] if others else None)
    found = Found(
        name=block.name,
        quantity="unknown",
        wavelengths=(),
        labels=tuple(_label(row, label, i) for i, row in enumerate(body)),
        values=no_spectra(len(body)),
        layout="rows",
        lines=tuple(row.line for row in body),
        header_line=header.line,
        label_column=(label.number, label.text) if label else None,
        condition=tuple(pieces([*block.said, *rows[:at]])),
        stated=tuple(_stated(triples, extras)),
    )
    notes = [*_polar(found.stated), *contradictions(found.condition)]
    if block.frame is not None:
        notes = [*counts(block.frame, len(body)), *notes]
    return Parsed(found, [], mark, notes=notes)


def _has_number(row: Row, cells: set[int]) -> bool:
    return any(i < len(row.cells) and like_number(row.cells[i]) for i in cells)


def _number(row: Row, index: int, mark: str) -> float:
    text = row.cells[index].replace(mark, ".") if index < len(row.cells) else ""
    return float(text) if like_number(text) else float("nan")


def _label(row: Row, label: Column | None, at: int) -> str:
    text = row.cells[label.number - 1] if label and label.number <= len(row.cells) else ""
    return labelled(text) or str(at + 1)
