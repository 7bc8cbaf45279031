"""The short way for plain large tables by row: NumPy's own text parser.

It takes only what needs no second look: no quotation marks, no remarks, every row as wide as the
header, every reading a finite number. Whatever else comes up, even a fault, it hands back (None) to
the careful way, which names places; both give the same table.
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
) -> Table | None:
    """Return the table of lines of readings, the first of them line ``first`` of the file.

    layout: with whole, even wavelengths; extras: further cells to read as numbers.
    """
    delimiter = DELIMITERS[word]
    if not 0 < len(lines) <= limits.MAX_ROWS or word == "spaces":
        return None
    if not _even(lines, delimiter, header):
        return None
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
    return rising(table)


def _even(lines: list[str], delimiter: str, header: Row) -> bool:
    """Tell whether all lines are short, unquoted, without remarks, as wide as the header."""
    widths = {line.count(delimiter) for line in lines}
    if widths != {len(header.cells) - 1} or max(map(len, lines)) > limits.MAX_CELL:
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
