"""The short way for plain large tables by row: NumPy's own text parser.

It takes only what needs no second look: no quotation marks but plainly around whole cells, no
remarks, every row as wide as the header, every reading a finite number. Whatever else comes up,
even a fault, it hands back (None) to the careful way, which names places; both give the same table.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from method.packed import MAX_LABEL
from method.readers import text as limits
from method.readers.layout import Layout, grid_of
from method.readers.table import DELIMITERS, Column, Table, labelled, rising
from method.readers.text import Row
from method.readers.values import LARGEST_PERCENT, Floats, decimal_mark


def quick_rows(
    text: str, word: str, head: list[Row], layout: Layout, label_column: Column | None, name: str
) -> Table | None:
    """Return the table below the header, or None where the careful way must look.

    word: the delimiter's; head: the first rows of the text, the header among them.
    """
    header = head[layout.at]
    lines = text.rstrip("\n").split("\n")[header.line :]
    if layout.at + 1 + len(lines) > limits.MAX_ROWS:
        return None
    grid_of(layout, name, [row.line for row in head])
    return quick_lines(lines, header.line + 1, word, header, layout, label_column)


def quick_lines(
    lines: list[str],
    first: int,
    word: str,
    header: Row,
    layout: Layout,
    label_column: Column | None,
    extras: Sequence[int] = (),
    beside: Sequence[int] = (),
) -> Table | None:
    """Return the table of lines of readings, the first of them line ``first`` of the file.

    layout: with whole, even wavelengths; extras: further cells to read as numbers; beside: others
    to keep as texts.
    """
    delimiter = DELIMITERS[word]
    if not 0 < len(lines) <= limits.MAX_ROWS or max(map(len, lines)) > limits.MAX_CELL:
        return None
    plain = _spaced(lines) if word == "spaces" else _unquoted(lines, delimiter)
    if plain is None or not _even(plain, delimiter, header):
        return None
    lines = plain
    grid = [int(one.nm) for one in layout.bands]
    indices = [one.cell for one in layout.bands]
    first_cells = [[cell.strip() for cell in line.split(delimiter)] for line in lines[:50]]
    mark = decimal_mark([cells[i] for cells in first_cells for i in indices])
    values = _parsed(lines, delimiter, mark, [*indices, *extras], len(indices))
    labels = _labels(lines, delimiter, label_column)
    if values is None or labels is None:
        return None
    numbers = list(range(first, first + len(lines)))
    names = [one.text for one in layout.bands]
    readings = np.ascontiguousarray(values[:, : len(indices)])
    table = Table(grid, mark, header.line, names, readings, labels, numbers, label_column)
    table.extras = values[:, len(indices) :]
    table.beside = [[line.split(delimiter)[i].strip() for line in lines] for i in beside]
    return rising(table)


def _spaced(lines: list[str]) -> list[str] | None:
    """Return the lines with one blank between cells; None where a cell is quoted or blank."""
    found = []
    for line in lines:
        if '"' in line:
            return None
        cells = [cell for cell in line.replace("\t", " ").split(" ") if cell]
        if not line.isascii() and not all(map(str.strip, cells)):
            return None
        found.append(" ".join(cells))
    return found


def _unquoted(lines: list[str], delimiter: str) -> list[str] | None:
    """Return the lines without quotation marks; None where these do more than enclose a cell."""
    if not any('"' in line for line in lines):
        return lines
    found = []
    for line in lines:
        parts = line.split('"')
        outside, inside = parts[::2], parts[1::2]
        if len(parts) % 2 == 0 or any(not cell or delimiter in cell for cell in inside):
            return None
        begun = all(part.startswith(delimiter) for part in outside[1:] if part)
        closed = all(part.endswith(delimiter) for part in outside[:-1] if part)
        if not begun or not closed or not all(outside[1:-1]):
            return None
        found.append("".join(parts))
    return found


def _even(lines: list[str], delimiter: str, header: Row) -> bool:
    """Tell whether all lines are unquoted, without remarks, as wide as the header."""
    widths = {line.count(delimiter) for line in lines}
    if widths != {len(header.cells) - 1}:
        return False
    return not any("#" in line or '"' in line for line in lines)


def _parsed(
    lines: list[str], delimiter: str, mark: str, indices: list[int], bands: int
) -> Floats | None:
    """Return the cells, or None where one is not a finite number in plain decimal form.

    bands: how many of the cells are readings.
    """
    if mark == ",":
        if any("." in line for line in lines):
            return None  # perhaps two decimal marks
        lines = [line.replace(",", ".") for line in lines]
    try:
        values = np.loadtxt(
            lines, delimiter=delimiter, usecols=indices, comments=None, ndmin=2, dtype=np.float64
        )
    except ValueError:
        return None
    if values.shape != (len(lines), len(indices)) or not np.isfinite(values).all():
        return None
    if float(values[:, :bands].max()) > LARGEST_PERCENT:
        return None  # no reflectances: perhaps a second header
    return values


def _labels(lines: list[str], delimiter: str, column: Column | None) -> list[str] | None:
    """Return the labels, or None where one is missing or too long."""
    if column is None:
        return [str(at + 1) for at in range(len(lines))]
    index = column.number - 1
    texts = [line.split(delimiter, column.number)[index].strip() for line in lines]
    if not all(texts) or max(map(len, texts)) > MAX_LABEL:
        return None
    return [labelled(text) for text in texts]
