"""A first look at the XML of a workbook: well-formed, within limits, and what cells hold.

The library that reads the cells does not say which are formulas without a saved result, which are
merged or hidden, and it takes rows out of order, foreign digits and sheets of any size without a
word: all that is found here, before it is called.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from method.readers import text as limits
from method.readers.decimals import plain_number
from method.readers.errors import ReadError
from method.readers.xml import Target, run, split

MAX_CELLS = 300_000  # with a value, in all sheets
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
LONGEST_FORMULA = 60
_LETTERS = re.compile(r"[A-Z]{1,3}")


@dataclass
class Sight:
    """What was seen of one member. sheet: whether it is a worksheet at all.

    right, bottom: last column and row with a value, from 1. saved: formulas with their saved
    result, unsaved: those without, text by row and column. merged, hidden: count and first place.
    """

    sheet: bool = False
    cells: int = 0
    right: int = 0
    bottom: int = 0
    saved: list[tuple[int, int]] = field(default_factory=list)
    unsaved: dict[tuple[int, int], str] = field(default_factory=dict)
    merged: list[str] = field(default_factory=list)
    hidden_rows: list[int] = field(default_factory=list)
    hidden_columns: list[int] = field(default_factory=list)


def look(content: bytes, name: str, member: str, cells_left: int) -> Sight:
    """Return what one XML member shows; ReadError names row and column as line and column."""
    scan = _Scan(name, member, cells_left)
    run(content, name, scan)
    return scan.sight


def column_number(letters: str) -> int:
    """Return the number of a column from 1; letters: capitals A to Z."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


class _Scan(Target):
    """Follows rows and cells of a worksheet."""

    most = 4 * MAX_CELLS

    def __init__(self, name: str, member: str, cells_left: int) -> None:
        super().__init__(name)
        self.member, self.cells_left = member.rpartition("/")[2][:60], cells_left
        self.sight = Sight()
        self.row = self.column = self.rows = 0
        self.kind, self.piece = "", ""
        self.formula: str | None = None
        self.value: str | None = None
        self.hidden_row = False

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        super().start(tag, attributes)
        namespace, local = split(tag)
        if self.depth == 1:
            if namespace == _STRICT:
                raise ReadError("xlsx-strict", self.file)
            self.sight.sheet = (namespace, local) == (_MAIN, "worksheet")
        if not self.sight.sheet or namespace != _MAIN:
            return
        self.piece = local
        if local == "c":
            self._cell(attributes)
        elif local == "row":
            self._row(attributes)
        elif local == "f":
            self.formula = ""
        elif local in ("v", "is"):
            self.value = ""
        elif local == "mergeCell":
            self.sight.merged.append(attributes.get("ref", "")[:20])
        elif local == "col" and attributes.get("hidden") in ("1", "true"):
            self.sight.hidden_columns.append(self._whole(attributes.get("min", "1")))

    def data(self, text: str) -> None:
        if self.piece == "v" and self.value is not None and len(self.value) <= limits.MAX_CELL:
            self.value += text
        elif self.piece == "f" and self.formula is not None:
            self.formula = (self.formula + text)[:LONGEST_FORMULA]

    def end(self, tag: str) -> None:
        super().end(tag)
        self.piece = ""
        if self.sight.sheet and tag == f"{{{_MAIN}}}c":
            self._cell_ends()

    def _row(self, attributes: dict[str, str]) -> None:
        """Begin a row; rows must rise."""
        number = self._whole(attributes["r"]) if "r" in attributes else self.row + 1
        self.rows += 1
        if self.rows > limits.MAX_ROWS:
            params = {"limit": str(limits.MAX_ROWS)}
            raise ReadError(
                "too-many-rows", self.file, line=number, field=self.member, params=params
            )
        if number > LAST_ROW:
            raise self._position(number, 1)
        if number <= self.row:
            raise ReadError("xlsx-order", self.file, line=number, field=self.member)
        self.row, self.column = number, 0
        self.hidden_row = attributes.get("hidden") in ("1", "true")

    def _cell(self, attributes: dict[str, str]) -> None:
        """Begin a cell; columns must rise within the row that the cell stands in."""
        reference = attributes.get("r")
        row, column = self.row, self.column + 1
        if reference is not None:
            letters = reference.rstrip("0123456789")
            if _LETTERS.fullmatch(letters) is None:
                raise self._position(row, column)
            column = column_number(letters)
            if reference[len(letters) :] != str(row):
                raise self._position(row, column)
        if column > LAST_COLUMN:
            raise self._position(row, column)
        if column <= self.column:
            raise ReadError("xlsx-order", self.file, line=row, column=column, field=self.member)
        self.column = column
        self.kind = attributes.get("t", "n")
        style = attributes.get("s", "0")
        if not (style.isascii() and style.isdigit()):
            raise self._broken()
        self.formula = self.value = None

    def _cell_ends(self) -> None:
        """Count a cell that holds something, and check its number."""
        place = (self.row, self.column)
        holds = bool(self.value) or (self.kind == "inlineStr" and self.value is not None)
        if self.formula is not None:
            if holds:
                self.sight.saved.append(place)
            else:
                self.sight.unsaved[place] = self.formula
        if not holds and self.formula is None:
            return
        self._count()
        text = (self.value or "").strip()
        # a list of Python counts negative places from its end: another specimen's name
        if self.kind == "s" and not (text.isascii() and text.isdigit()):
            raise self._broken()
        if self.kind == "n" and text and plain_number(text) is None:
            params = {"text": text[:40]}
            raise ReadError(
                "not-number",
                self.file,
                line=self.row,
                column=self.column,
                field=self.member,
                params=params,
            )

    def _count(self) -> None:
        """Take a cell with content into account; ReadError over the limits."""
        sight = self.sight
        sight.cells += 1
        sight.right, sight.bottom = max(sight.right, self.column), self.row
        if self.hidden_row and (not sight.hidden_rows or sight.hidden_rows[-1] != self.row):
            sight.hidden_rows.append(self.row)
        if self.column > limits.MAX_COLUMNS:
            params = {"limit": str(limits.MAX_COLUMNS)}
            raise ReadError(
                "too-many-columns",
                self.file,
                line=self.row,
                column=self.column,
                field=self.member,
                params=params,
            )
        if sight.cells > self.cells_left:
            params = {"limit": str(MAX_CELLS)}
            raise ReadError("too-many-cells", self.file, line=self.row, params=params)

    def _whole(self, text: str) -> int:
        """Return a row's or column's number, or raise ReadError where it is none."""
        if text.isascii() and text.isdigit() and len(text) <= 9 and int(text) > 0:
            return int(text)
        raise self._position(self.row + 1, 1)

    def _broken(self) -> ReadError:
        """Return the refusal of a cell that points outside the workbook's lists."""
        row, column = max(self.row, 1), max(self.column, 1)
        return ReadError("xlsx-broken", self.file, line=row, column=column, field=self.member)

    def _position(self, row: int, column: int) -> ReadError:
        """Return the refusal of a row or cell that stands where no sheet has one."""
        row, column = max(row, 1), max(column, 1)  # a cell outside all rows
        return ReadError("xlsx-position", self.file, line=row, column=column, field=self.member)
