"""What a format module hands to the front of the readers: the tables found in a file.

A module for a format takes the bytes and the file's name and returns ``Contents``; it raises
ReadError only for what makes the whole file unreadable. What is unusual but kept goes into
``notes`` (ids of words.ODDITIES; the words of sheets, CxF and lamps stand in format_words.py), of
the file or of one table. Nothing is assumed: what a file does not say is absent.

The front does the rest: it asks which table is meant where there are several with spectra, percent
or factor where ``scale`` is None, whether light or a surface was measured where ``quantity`` is
``unknown`` and the words speak of lamps; it compares stated with computed colours, checks limits
(finite values, LEAST_PERCENT, LARGEST_PERCENT, grid), and makes the packed set.

A spreadsheet has no tables of its own: its module returns ``Sheet`` values, rows of text cells
as they are shown, and the front looks for tables in them as it does in text.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from method.readers.text import Row
from method.readers.values import Floats, Note

# What may be said of how something was measured; the first two matter for colour values only.
PIECES = ("illuminant", "observer", "geometry", "specular", "aperture", "uv", "backing")
MAX_TABLES = 100  # in one file
QUANTITIES = ("reflectance", "transmittance", "emission", "unknown")


class Sheet(NamedTuple):
    """One sheet of a workbook. rows: as Row, ``line`` being the sheet's row number from 1.

    cells: texts without blanks at their ends, the first one column A; numbers as the shortest
    decimal text that gives the same float, with a point; formulas by their stored result, never
    computed; empty rows left out; empty cells at the end of a row cut off.
    """

    name: str
    rows: list[Row]
    notes: tuple[Note, ...] = ()


class Piece(NamedTuple):
    """One piece of the condition that the file states.

    key: one of PIECES. value, in the form that others compare: an illuminant's name as in
    colorimetry.ILLUMINANTS ("D65", "F11") or as written; observer "2" or "10"; geometry "45:0",
    "0:45", "di:8", "de:8", "d:8", "d:0"; specular "included" or "excluded"; aperture in mm as
    text; uv "M0" to "M3", "included" or "excluded"; backing "white", "black" or as written.
    text: the words of the file. line (from 1) or field (column, element, specification): where.
    """

    key: str
    value: str
    text: str
    line: int | None = None
    field: str | None = None


@dataclass(frozen=True, eq=False)
class Stated:
    """Colour values that the file states for the readings of a table.

    space: ``lab`` or ``xyz`` (Y = 100 for the perfect diffuser); values: (readings, 3), NaN where
    a reading states none; fields: the three names as written. illuminant, observer ("2", "10"):
    what is said of these very values, else None (then the table's condition holds, or nothing).
    chroma_hue: (readings, 2) where C*ab and hue angle in degrees are stated besides, or None.
    """

    space: str
    values: Floats
    fields: tuple[str, ...]
    illuminant: str | None = None
    observer: str | None = None
    chroma_hue: Floats | None = None


@dataclass(frozen=True, eq=False)
class Found:
    """One table of a file, values as written.

    name: what a person would call it (sheet, specification, title), "" if nameless; the front
    numbers tables and shows number and name. quantity: one of QUANTITIES. wavelengths: nm, rising,
    as written (fractions allowed; () for a table without spectra), values: (readings, bands), of
    the same order. scale: ``percent`` or ``factor`` where the file or its format says so, else
    None.
    labels: one per reading (may repeat: repeated readings), as they are but NFC. columns: the
    bands' names as written. layout: ``rows``, ``columns``, or ``objects`` for XML.
    lines: for each reading the line or row (rows, objects) or the column (columns) it stands on,
    from 1. kinds: for each reading what the file says it is, in small letters ("target", "trial"),
    () where it says nothing. header_line: of the wavelengths (0: none). label_column: number from
    1 and header text.
    """

    name: str
    quantity: str
    wavelengths: tuple[float, ...]
    labels: tuple[str, ...]
    values: Floats
    layout: str = "objects"
    lines: tuple[int, ...] = ()
    kinds: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    header_line: int = 0
    label_column: tuple[int, str] | None = None
    scale: str | None = None
    condition: tuple[Piece, ...] = ()
    stated: tuple[Stated, ...] = ()
    notes: tuple[Note, ...] = ()

    @property
    def spectral(self) -> bool:
        """Tell whether the table holds spectra at all."""
        return bool(self.wavelengths)


@dataclass(frozen=True, eq=False)
class Contents:
    """Everything found in a file. format: as in words.FORMATS, e.g. ``cxf3`` or ``tm27``."""

    format: str
    tables: tuple[Found, ...]
    notes: tuple[Note, ...] = field(default=())


def no_spectra(readings: int) -> Floats:
    """Return the empty (readings, 0) values of a table without spectra."""
    return np.empty((readings, 0))


def stated_piece(condition: Sequence[Piece], key: str) -> str | None:
    """Return the one value stated for a key; None where nothing or contradicting things are."""
    said = {piece.value for piece in condition if piece.key == key}
    return said.pop() if len(said) == 1 else None
