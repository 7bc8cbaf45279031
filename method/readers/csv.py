"""First version of the text reader, kept for the mappings that were frozen with it.

New files are read by ``method.readers.front``. What this version makes of a file must never change
(tests/data/readings-v1.json).

``read`` shows what was understood and what must be asked; ``resolve`` turns it, with the answers,
into a packed set; ``replay`` repeats both from a frozen mapping. Nothing is guessed silently: where
the file allows two readings a question is asked, and whatever is odd is kept and said.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ledger.canonical import CanonicalError, canonical_bytes, digest, parse
from method.packed import PackedError, PackedSet
from method.readers.answers import answered, condition
from method.readers.errors import ReadError
from method.readers.layout import Layout
from method.readers.questions import (
    Question,
    declared,
    label_column,
    scale_question,
    structure,
    surface_question,
)
from method.readers.quick import quick_rows
from method.readers.table import (
    Table,
    all_rows,
    by_column,
    by_row,
    label_columns,
    separate,
)
from method.readers.text import Decoded, Row, decode
from method.readers.values import (
    LARGEST_PERCENT,
    Floats,
    Note,
    Rows,
    Scale,
    check_possible,
    oddities,
    rows_of_other_scale,
    scale_of,
)
from method.readers.words import ODDITIES

VERSION = "spectral-text/1"
STRUCTURAL = ("layout", "columns", "label_column")


@dataclass(frozen=True)
class Oddity:
    """Something unusual that was kept. id: key of words.ODDITIES."""

    id: str
    params: Mapping[str, str]

    @property
    def message(self) -> str:
        """English template of the remark."""
        return ODDITIES[self.id]


@dataclass(frozen=True)
class Reading:
    """What was understood of a file.

    layout: ``rows`` or ``columns``; lines: for each reading the line (rows) or the column
    (columns) it stands on, from 1; values as written, (readings, bands); scale: ``percent``,
    ``factor`` or None where it must be asked; label_column: number from 1 and header text.
    Where a question of structure is open (``layout``, ``columns``, ``label_column``), the fields
    show the suggested answer.
    """

    name: str
    data: bytes
    encoding: str
    delimiter: str
    decimal_mark: str
    layout: str
    header_line: int
    wavelengths: tuple[int, ...]
    columns: tuple[str, ...]
    label_column: tuple[int, str] | None
    labels: tuple[str, ...]
    lines: tuple[int, ...]
    values: Floats
    scale: Scale
    oddities: tuple[Oddity, ...]
    questions: tuple[Question, ...]

    @property
    def grid(self) -> tuple[int, int, int]:
        """First wavelength, last wavelength and step in nm."""
        return self.wavelengths[0], self.wavelengths[-1], self.wavelengths[1] - self.wavelengths[0]

    def mapping(self, answers: Mapping[str, str]) -> bytes:
        """Return the canonical document of how this file was understood, for the evidence."""
        chosen = _answered(self, answers)
        return canonical_bytes(_mapping(chosen, _scale(chosen, answers), answers))


def read(data: bytes, name: str) -> Reading:
    """Return what was understood of a spectral text file; ReadError where nothing can be."""
    return _read(data, name, {})


def resolve(reading: Reading, answers: Mapping[str, str]) -> PackedSet:
    """Return the packed set of a reading under the answers to its questions.

    answers: question id to choice value; besides, any of packed.CONDITION_KEYS (free text) as the
    condition. Values are stored as factors. Raises ReadError for missing, unknown and invalid
    answers and for whatever the answered structure brings to light.
    """
    chosen = _answered(reading, answers)
    values = chosen.values / 100.0 if _scale(chosen, answers) == "percent" else chosen.values
    try:
        return PackedSet(chosen.wavelengths, chosen.labels, values, condition(answers))
    except PackedError as error:
        params = {"question": error.id, "answer": error.detail}
        raise ReadError("answer-invalid", chosen.name, field=error.id, params=params) from error


def replay(data: bytes, mapping: bytes, name: str = "file") -> PackedSet:
    """Return the packed set that a file and its frozen mapping give; ReadError if they disagree."""
    try:
        answers = parse(mapping)["answers"]
        reading = read(data, name)
        same = isinstance(answers, dict) and reading.mapping(answers) == mapping
    except (CanonicalError, KeyError, TypeError) as error:
        raise ReadError("mapping-differs", name) from error
    if not same:
        raise ReadError("mapping-differs", name)
    return resolve(reading, answers)


def _read(data: bytes, name: str, chosen: Mapping[str, str]) -> Reading:
    """Read under the structural answers given so far; open ones are asked again."""
    decoded = decode(data, name)
    delimiter, found, head = separate(decoded.text, name)
    layout, questions = structure(found, chosen)
    if layout.kind == "rows":
        others, label = label_columns(head[layout.at], layout)
        label, asked = label_column(others, label, chosen)
        questions += asked
        table = quick_rows(decoded.text, delimiter, head, layout, label, name)
        if table is None:
            table = by_row(all_rows(decoded.text, delimiter, name), layout, name, label)
        before = head[: layout.at + 1]
    else:
        table = by_column(all_rows(decoded.text, delimiter, name), layout, name)
        above_readings = head[: layout.bands[0].cell]
        # names of specimens ("red 50 %") declare nothing
        before = [*above_readings[:-1], *(_first_cell(row, layout) for row in above_readings[-1:])]
    if float(table.values.max()) > LARGEST_PERCENT:
        params = {"largest": f"{table.values.max():g}"}
        raise ReadError("not-reflectance", name, params=params)
    said = " ".join(cell for row in before for cell in row.cells if not cell.isdigit())
    scale = scale_of(table.values, declared(said))
    rows = Rows(table.labels, table.wavelengths, table.lines, layout.kind)
    check_possible(table.values, scale.scale, name, rows)
    questions += scale_question(scale) + surface_question(said)
    above = layout.at if layout.kind == "rows" else max(layout.bands[0].cell - 1, 0)
    notes = _notes(decoded, table, layout, scale, above)
    return _reading(
        data, name, (decoded.encoding, delimiter), layout, table, scale, notes, questions
    )


def _first_cell(row: Row, layout: Layout) -> Row:
    """Return only the cell above the wavelengths."""
    return Row(row.line, row.cells[layout.at : layout.at + 1])


def _reading(
    data: bytes,
    name: str,
    form: tuple[str, str],
    layout: Layout,
    table: Table,
    scale: Scale,
    notes: list[Note],
    questions: list[Question],
) -> Reading:
    """Gather the parts into the value that is shown."""
    column = table.label_column
    table.values.setflags(write=False)
    return Reading(
        name=name,
        data=data,
        encoding=form[0],
        delimiter=form[1],
        decimal_mark={".": "point", ",": "comma"}[table.mark],
        layout=layout.kind,
        header_line=table.header_line,
        wavelengths=tuple(table.wavelengths),
        columns=tuple(table.band_names),
        label_column=(column.number, column.text) if column else None,
        labels=tuple(table.labels),
        lines=tuple(table.lines),
        values=table.values,
        scale=scale,
        oddities=tuple(Oddity(id, params) for id, params in notes),
        questions=tuple(questions),
    )


def _notes(decoded: Decoded, table: Table, layout: Layout, scale: Scale, above: int) -> list[Note]:
    """Return everything odd about the file, in a fixed order. above: rows before the table."""
    notes: list[Note] = []
    if decoded.guessed:
        notes.append(("encoding-guessed", {"encoding": decoded.encoding}))
    if above:
        notes.append(("preamble", {"count": str(above)}))
    numbered = table.label_column is None and layout.kind == "rows"
    headless = layout.kind == "columns" and layout.bands[0].cell == 0
    if numbered or headless:
        notes.append(("labels-numbered", {}))
    notes += table.notes
    if scale.largest > 5.0:  # percent, or one of both
        notes += rows_of_other_scale(table.values, table.labels)
    if scale.scale is not None:
        divisor = 100.0 if scale.scale == "percent" else 1.0
        notes += oddities(table.values / divisor, table.labels)
    return notes


def _answered(reading: Reading, answers: Mapping[str, str]) -> Reading:
    """Return the reading under the structural answers, after checking every answer."""

    def again(chosen: Mapping[str, str]) -> Reading:
        return _read(reading.data, reading.name, chosen)

    chosen = answered(reading, answers, STRUCTURAL, again)
    if answers.get("surface") == "emission":
        params = {"largest": f"{chosen.scale.largest:g}"}
        raise ReadError("not-reflectance", chosen.name, params=params)
    _answered_scale(chosen, answers)
    return chosen


def _answered_scale(reading: Reading, answers: Mapping[str, str]) -> None:
    """Raise ReadError where the values cannot be of the scale that was answered."""
    scale = _scale(reading, answers)
    if scale == "factor" and reading.scale.largest > LARGEST_PERCENT / 100.0:
        params = {"largest": f"{reading.scale.largest:g}"}
        raise ReadError("not-reflectance", reading.name, params=params)
    rows = Rows(reading.labels, reading.wavelengths, reading.lines, reading.layout)
    check_possible(reading.values, scale, reading.name, rows)


def _scale(reading: Reading, answers: Mapping[str, str]) -> str:
    """Return percent or factor: what the file shows, or else the answer."""
    return reading.scale.scale or answers["scale"]


def _mapping(reading: Reading, scale: str, answers: Mapping[str, str]) -> dict[str, object]:
    """Return the document that ``Reading.mapping`` serialises."""
    start, stop, step = reading.grid
    label = reading.label_column
    return {
        "schema": 1,
        "reader": VERSION,
        "file": digest(reading.data),
        "encoding": reading.encoding,
        "delimiter": reading.delimiter,
        "decimal": reading.decimal_mark,
        "layout": reading.layout,
        "header_line": reading.header_line,
        "columns": list(reading.columns),
        "label_column": {"number": label[0], "text": label[1]} if label else None,
        "grid": {"start": start, "stop": stop, "step": step},
        "readings": len(reading.labels),
        "scale": scale,
        "scale_evidence": list(reading.scale.evidence),
        "oddities": [{"id": one.id, "params": dict(one.params)} for one in reading.oddities],
        "answers": dict(answers),
    }
