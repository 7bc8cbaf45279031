"""What the text around the cells tells: headers behind #, lost quotation marks, a cut last line."""

from __future__ import annotations

import re
from collections.abc import Sequence

from method.readers.blocks import across
from method.readers.layout import HEAD, LEAST_BANDS, Layout
from method.readers.table import DELIMITERS, header_above, names_axis
from method.readers.text import Row
from method.readers.values import Note, like_number

_TAIL, _TAIL_LINES = 200_000, 21  # characters and lines looked at for a cut
_DECIMALS = re.compile(r"[+-]?\d*(?:[.,](\d*))?", re.ASCII)


def cells_behind(line: str, word: str) -> list[str]:
    """Return the cells of a remark's line without its sign. word: the delimiter's."""
    plain = line.lstrip()[1:]
    delimiter = DELIMITERS[word]
    cells = plain.split() if word == "spaces" else plain.split(delimiter)
    return [cell.strip() for cell in cells]


def with_header_by_row(text: str, first: int) -> tuple[str, int] | None:
    """Return a text with the first remark that is a row of wavelengths uncovered, and its line."""
    for at, line in enumerate(text.split("\n", HEAD)[:HEAD]):
        if line.lstrip().startswith("#"):
            rows = [Row(at + first, cells_behind(line, word)) for word in DELIMITERS]
            if any(across(row) for row in rows):
                return _uncovered(text, at), at + first
    return None


def with_header_by_column(
    text: str, first: int, layout: Layout, head: Sequence[Row], word: str
) -> tuple[str, int] | None:
    """Return a text with the remark above a column of wavelengths uncovered, and its line.

    Only where the table has no other header, and the remark names as many columns as there are.
    """
    if layout.kind != "columns":
        return None
    row = head[layout.bands[0].cell]
    if row.line == first or header_above(head, layout) is not None:
        return None
    at = row.line - first - 1
    line = text.split("\n", at + 1)[at]
    if not line.lstrip().startswith("#"):
        return None
    cells = cells_behind(line, word)
    named = layout.at < len(cells) and cells[layout.at] and names_axis(cells[layout.at])
    if not named or len(cells) != len(row.cells):
        return None
    return _uncovered(text, at), row.line - 1


def _uncovered(text: str, at: int) -> str:
    """Return a text whose line (from 0) no longer begins with a remark's sign."""
    lines = text.split("\n", at + 1)
    lines[at] = lines[at].lstrip()[1:].lstrip(" ")
    return "\n".join(lines)


def quotes_inside(text: str, word: str) -> list[Note]:
    """Return the oddity of cells that go on behind a closing quotation mark."""
    if '"' not in text or word not in DELIMITERS or word == "spaces":
        return []
    mark = re.escape(DELIMITERS[word])
    quoted = re.compile(rf'(?:^|{mark})[ ]*"(?:[^"\n]|"")*+"([ ]*[^{mark}"\s#])?', re.MULTILINE)
    count, line = 0, 0
    for found in quoted.finditer(text):
        if found.group(1):
            count += 1
            line = line or text.count("\n", 0, found.end()) + 1
    return [("quotes-inside", {"count": str(count), "line": str(line)})] if count else []


def number_cut(text: str, word: str) -> list[Note]:
    """Return the oddity of a last number with fewer decimals than all before it, at no line end."""
    if text.endswith("\n") or word not in DELIMITERS:
        return []
    lines = text[-_TAIL:].split("\n")[-_TAIL_LINES:]
    tail = [_decimals_of(line, word) for line in lines]
    last, before = tail[-1], tail[:-1]
    if not last or last[-1] is None:
        return []
    beside = [one for one in last[1:-1] if one is not None]
    above = [row[-1] for row in before if len(row) == len(last) and _like(row, beside)]
    over = [one for one in above if one is not None]
    others = beside + over
    if len(others) < LEAST_BANDS or last[-1] >= min(others):
        return []
    text_of = lines[-1].split() if word == "spaces" else lines[-1].split(DELIMITERS[word])
    return [("number-cut", {"text": text_of[-1].strip()[:40]})]


def _like(row: Sequence[int | None], beside: Sequence[int]) -> bool:
    """Tell whether a row's numbers have decimals where those of the last line have some."""
    numbers = [one for one in row[1:] if one is not None]
    return not beside or not min(beside) or any(numbers)


def _decimals_of(line: str, word: str) -> list[int | None]:
    """Return for each cell of a line how many decimals its number has; None where it is none."""
    cells = line.split() if word == "spaces" else line.split(DELIMITERS[word])
    found: list[int | None] = []
    for cell in cells:
        match = _DECIMALS.fullmatch(cell.strip()) if like_number(cell.strip()) else None
        found.append(len(match.group(1) or "") if match else None)
    return found
