"""What was understood of a file: the value that is shown, confirmed and frozen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from ledger.canonical import canonical_bytes, digest
from method.readers.answers import answered
from method.readers.errors import ReadError
from method.readers.found import PIECES, Piece, Stated, stated_piece
from method.readers.questions import Question
from method.readers.spectra import check_kept
from method.readers.stated import Comparison
from method.readers.values import LARGEST_PERCENT, Floats, Rows, Scale, check_possible
from method.readers.words import ODDITIES, UNRECORDED

VERSION = "spectra/3"
SECOND = "spectra/2"  # did not ask which of a table's readings count
# what stands where, and which of it counts
PARSED = ("table", "layout", "columns", "label_column", "bands", "mode", "other_rows")
STRUCTURAL = (*PARSED, "surface", "scale")  # change what is shown of a file


@dataclass(frozen=True)
class Hints:
    """What is known besides the bytes. name: the file's; sheet, table: which one is meant.

    table: its number from 1, or its name. media_type: as the file was sent. The form of a file is
    told by its content alone: where extension or media type disagree, that is said. version: of
    the reader, for mappings of an earlier one.
    """

    name: str = "file"
    sheet: str = ""
    table: str = ""
    media_type: str = ""
    version: str = VERSION


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
class TableShown:
    """One table of a file as it is offered. number: from 1; start, stop, step in nm or None."""

    number: int
    name: str
    sheet: str
    quantity: str
    readings: int
    bands: int
    start: float | None
    stop: float | None
    line: int
    error: ReadError | None = None

    @property
    def text(self) -> str:
        """Number, name, wavelengths, readings and line, in figures and the file's own words."""
        parts = [f"{self.number}:", *filter(None, (self.sheet, self.name))]
        if self.start is not None and self.stop is not None:
            parts.append(f"{self.start:g}–{self.stop:g} nm ({self.bands}) × {self.readings}")
        else:
            parts.append(f"× {self.readings}")
        return " ".join(parts) + (f" (#{self.line})" if self.line else "")


@dataclass(frozen=True, eq=False)
class Reading:
    """What was understood of a file.

    format: key of words.FORMATS. tables: every table found; table: the number of the one that the
    other fields show. layout: ``rows``, ``columns`` or ``objects``; lines: for each reading the
    line or row (rows, objects) or the column (columns) it stands on, from 1. values as written,
    (readings, bands), bands rising; without spectra wavelengths are () and values (readings, 0).
    quantity: one of found.QUANTITIES. scale: percent, factor or None where it must be asked;
    label_column: number from 1 and header text. condition: the pieces stated, stated: colours
    stated beside the spectra; comparisons: stated against computed, one for each.
    Where a question of structure is open (one of PARSED), the fields show the suggested or first
    answer. given: answers that hints gave; again: reads the file once more under structural
    answers, those of reading.STRUCTURAL; answers: those that this is read under. scale stays as the
    file shows it; comparisons and oddities are those of the scale answered. version: of the reader.
    """

    name: str
    data: bytes
    format: str
    encoding: str
    delimiter: str
    decimal_mark: str
    tables: tuple[TableShown, ...]
    table: int
    quantity: str
    layout: str
    header_line: int
    wavelengths: tuple[float, ...]
    columns: tuple[str, ...]
    label_column: tuple[int, str] | None
    labels: tuple[str, ...]
    lines: tuple[int, ...]
    values: Floats
    scale: Scale
    condition: tuple[Piece, ...]
    stated: tuple[Stated, ...]
    comparisons: tuple[Comparison, ...]
    oddities: tuple[Oddity, ...]
    questions: tuple[Question, ...]
    again: Callable[[Mapping[str, str]], Reading] = field(repr=False)
    version: str = VERSION
    given: Mapping[str, str] = field(default_factory=dict)
    answers: Mapping[str, str] = field(default_factory=dict)

    @property
    def grid(self) -> tuple[int, int, int] | None:
        """First wavelength, last wavelength and step in nm; None where they are not in one step."""
        steps = {b - a for a, b in pairwise(self.wavelengths)}
        if len(steps) != 1 or any(nm != int(nm) for nm in self.wavelengths):
            return None
        return int(self.wavelengths[0]), int(self.wavelengths[-1]), int(steps.pop())

    def known(self, key: str) -> str | None:
        """Return the one value that the file states for a piece of the condition, or None."""
        return stated_piece(self.condition, key)

    def mapping(self, answers: Mapping[str, str]) -> bytes:
        """Return the canonical document of how this file was understood, for the evidence.

        Raises ReadError as ``front.resolve`` does.
        """
        chosen, said = chosen_reading(self, answers)
        return _mapping(chosen, scale_under(chosen, said), said)

    @property
    def unknown(self) -> tuple[str, ...]:
        """Return the pieces of the condition that the file does not settle."""
        return tuple(key for key in PIECES if self.known(key) is None)


def chosen_reading(
    reading: Reading, answers: Mapping[str, str]
) -> tuple[Reading, Mapping[str, str]]:
    """Return the reading under all answers, and these: each checked, those of hints among them.

    Raises ReadError for answers that do not fit and for what cannot become a packed set.
    """
    said = {**reading.given, **answers}
    first = reading.again({}) if reading.given else reading
    chosen = answered(first, said, STRUCTURAL, reading.again)
    check_kept(chosen, chosen.name, said.get("surface"))
    scale = scale_under(chosen, said)
    if scale == "factor" and chosen.scale.largest > LARGEST_PERCENT / 100.0:
        params = {"largest": f"{chosen.scale.largest:g}"}
        raise ReadError("not-reflectance", chosen.name, params=params)
    rows = Rows(chosen.labels, chosen.wavelengths, chosen.lines, chosen.layout)
    check_possible(chosen.values, scale, chosen.name, rows)
    return chosen, said


def scale_under(reading: Reading, answers: Mapping[str, str]) -> str:
    """Return percent or factor: what the file shows, or else the answer."""
    return reading.scale.scale or answers["scale"]


def _mapping(reading: Reading, scale: str, answers: Mapping[str, str]) -> bytes:
    """Return the canonical document of how a file was understood under its answers.

    What is computed (stated against computed colours) or comes from the file's name is left out:
    the document must be the same wherever and whenever the file is read again.
    """
    label, grid = reading.label_column, reading.grid
    start, stop, step = grid if grid else (0, 0, 0)
    pieces = [one._asdict() for one in reading.condition]
    said = [one for one in reading.oddities if one.id not in UNRECORDED]
    return canonical_bytes(
        {
            "schema": 2,
            "reader": reading.version,
            "file": digest(reading.data),
            "format": reading.format,
            "encoding": reading.encoding,
            "delimiter": reading.delimiter,
            "decimal": reading.decimal_mark,
            "tables": len(reading.tables),
            "table": reading.table,
            "quantity": reading.quantity,
            "layout": reading.layout,
            "header_line": reading.header_line,
            "columns": list(reading.columns),
            "label_column": {"number": label[0], "text": label[1]} if label else None,
            "grid": {"start": start, "stop": stop, "step": step},
            "readings": len(reading.labels),
            "scale": scale,
            "scale_evidence": list(reading.scale.evidence),
            "condition": pieces,
            "stated": [
                {
                    "fields": list(one.fields),
                    "illuminant": one.illuminant,
                    "observer": one.observer,
                    "space": one.space,
                }
                for one in reading.stated
            ],
            "oddities": [{"id": one.id, "params": dict(one.params)} for one in said],
            "answers": dict(answers),
        }
    )
