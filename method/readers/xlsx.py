"""Reader for .xlsx workbooks: every sheet as rows of text cells, as they are saved.

Formulas are never computed: the result that was saved with them is taken and said; a formula
without one stays as its text, which no number is. Everything that a sheet shows otherwise than it
holds (hidden, merged, percent, dates) is said.
"""

from __future__ import annotations

import datetime
import math
import os
import warnings
from collections.abc import Iterable
from typing import Any

from method.readers import text as limits
from method.readers.errors import ReadError
from method.readers.found import Sheet
from method.readers.text import Row
from method.readers.values import Note
from method.readers.xlsx_package import members, repacked
from method.readers.xlsx_scan import MAX_CELLS, Sight, look

MAX_SHEETS = 200


def read_sheets(data: bytes, name: str) -> tuple[Sheet, ...]:
    """Return the sheets of a workbook in their order, empty ones with no rows.

    Raises ReadError for what is no .xlsx workbook, for damaged and hostile archives, for sheets
    whose cells are out of order or beyond the limits, and for numbers that are none: line and
    column are the sheet's row and column, from 1.
    """
    # Needed for workbooks only. Where lxml is installed the library would take that for its XML and
    # pass by the defused parser: it looks for this setting once, when it is imported.
    os.environ["OPENPYXL_LXML"] = "False"
    import openpyxl

    found = members(data, name)
    sights: dict[str, Sight] = {}
    left = MAX_CELLS
    for member, content in found.items():
        sights[member] = look(content, name, member, left)
        left -= sights[member].cells
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(
                repacked(found), read_only=True, data_only=True, keep_links=False
            )
            sheets = book.worksheets
            if not sheets:
                raise ReadError("xlsx-broken", name)
            if len(sheets) > MAX_SHEETS:
                params = {"limit": str(MAX_SHEETS)}
                raise ReadError("xlsx-sheets", name, params=params)
            return tuple(_sheet(one, _sight(one, sights), name) for one in sheets)
    except ReadError:
        raise
    except Exception as error:  # a library for honest files: what it trips over is none
        raise ReadError("xlsx-broken", name) from error


def _sight(sheet: Any, sights: dict[str, Sight]) -> Sight:
    """Return what was seen of the member behind a sheet of the library."""
    path: str = sheet._worksheet_path
    return sights[path.lstrip("/")]


def _sheet(sheet: Any, sight: Sight, name: str) -> Sheet:
    """Return one sheet as rows of text."""
    rows: list[Row] = []
    dates: list[str] = []
    percents: list[str] = []
    errors: list[str] = []
    shown_as_percent: dict[int, bool] = {}
    title = str(sheet.title)
    # the dimensions that a sheet states may lie: its last row and column were seen
    cells = sheet.iter_rows(max_row=sight.bottom, max_col=sight.right) if sight.bottom else ()
    for number, line in enumerate(cells, 1):
        texts = []
        for column, cell in enumerate(line, 1):
            value = cell.value
            if value is None:
                text = sight.unsaved.get((number, column))
                texts.append("" if text is None else f"={text}")
                continue
            if isinstance(value, (int, float)) and _percent(cell, shown_as_percent):
                percents.append(cell.coordinate)
            elif isinstance(value, (datetime.date, datetime.time, datetime.timedelta)):
                dates.append(cell.coordinate)
            elif cell.data_type == "e":
                errors.append(cell.coordinate)
            texts.append(_text(value, (number, column), title, name))
        while texts and not texts[-1]:
            texts.pop()
        if texts:
            rows.append(Row(number, texts))
    notes = [*_noted("cells-dates", dates), *_noted("cells-percent", percents)]
    notes += _noted("cells-errors", errors)
    return Sheet(title, rows, (*_state(sheet), *_seen(sight), *notes))


def _percent(cell: Any, known: dict[int, bool]) -> bool:
    """Tell whether a number is shown multiplied by 100."""
    style: int = cell._style_id
    if style not in known:
        known[style] = style > 0 and "%" in str(cell.number_format)
    return known[style]


def _text(value: Any, place: tuple[int, int], title: str, name: str) -> str:
    """Return a cell's value as text."""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        whole = math.isfinite(value) and value == int(value) and abs(value) < 1e15
        return str(int(value)) if whole else repr(value)
    if isinstance(value, datetime.datetime):
        midnight = value.time() == datetime.time()
        return value.date().isoformat() if midnight else value.isoformat(sep=" ")
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    text = str(value).strip()
    if len(text) > limits.MAX_CELL:
        params = {"size": str(len(text)), "limit": str(limits.MAX_CELL)}
        row, column = place
        raise ReadError("cell-too-long", name, line=row, column=column, field=title, params=params)
    return text


def _state(sheet: Any) -> list[Note]:
    """Return the note of a sheet that is hidden."""
    return [("sheet-hidden", {"sheet": str(sheet.title)})] if sheet.sheet_state != "visible" else []


def _seen(sight: Sight) -> list[Note]:
    """Return the notes of what the first look at a sheet showed."""
    saved = [_reference(*place) for place in sight.saved]
    unsaved = [_reference(*place) for place in sight.unsaved]
    notes = [*_noted("formulas-saved", saved), *_noted("formulas-unsaved", unsaved)]
    notes += _noted("cells-merged", sight.merged)
    notes += _noted("rows-hidden", [str(row) for row in sight.hidden_rows])
    inside = [one for one in sight.hidden_columns if one <= sight.right]
    return notes + _noted("columns-hidden", [_letters(one) for one in inside])


def _reference(row: int, column: int) -> str:
    return f"{_letters(column)}{row}"


def _letters(column: int) -> str:
    """Return the letters of a column's number from 1."""
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _noted(id: str, places: Iterable[str]) -> list[Note]:
    """Return a note of how many places there are, and the first, or nothing."""
    found = list(places)
    return [(id, {"count": str(len(found)), "first": found[0]})] if found else []
