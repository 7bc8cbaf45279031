"""Cells to numbers, each fault named by line and column; and what the numbers look like."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from method.readers.errors import ReadError

Note = tuple[str, dict[str, str]]  # id in words.ODDITIES, parameters
Floats = npt.NDArray[np.float64]
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_ERROR = re.compile(r"#(?:N/A|DIV/0!|REF!|VALUE!|NUM!|NULL!|NAME\?|[A-Z_]+!)")
_UNUSUAL = re.compile(r"[^0-9.,eE+\-]")  # what float() may accept although no file means it
LARGEST_PERCENT = 400.0  # beyond: emission, counts or a wrong column
# Instruments may read a little below zero on black; nothing reflects less than nothing. (Common
# practice, no published source.)
LEAST_PERCENT = -5.0
# share of values above 1 from which factors are doubted (common practice, no published source)
MANY_ABOVE_ONE = 0.05


class Place(NamedTuple):
    """Where a list of cells stands: the line, and each cell's column, both from 1."""

    lines: Sequence[int]
    columns: Sequence[int]
    fields: Sequence[str]


def numbers(cells: Sequence[str], mark: str, name: str, place: Place) -> list[float]:
    """Return the cells as floats; ReadError naming line, column and field of the first fault."""
    joined = " ".join(cells)
    if not _UNUSUAL.search(joined.replace(" ", "")):
        plain = joined.replace(",", ".").split(" ") if mark == "," else cells
        if mark == "." or "." not in joined:
            try:
                fast = [float(cell) for cell in plain]
            except ValueError:
                fast = []  # found again below, with its place
            if len(fast) == len(cells) and all(map(math.isfinite, fast)):
                return fast
    return [
        _number(cell, mark, name, place.lines[i], place.columns[i], place.fields[i])
        for i, cell in enumerate(cells)
    ]


def _number(cell: str, mark: str, name: str, line: int, column: int, field: str) -> float:
    """Return one cell as a float, or raise ReadError for exactly this cell."""
    # a remark may follow the last number of a line; "#N/A" and "#DIV/0!" are none, but errors
    text = cell if _ERROR.fullmatch(cell) else cell.split("#", 1)[0].strip()
    if not text:
        raise ReadError("number-missing", name, line=line, column=column, field=field)
    if text.startswith("="):
        params = {"text": text[:40]}
        raise ReadError("formula", name, line=line, column=column, field=field, params=params)
    other = "," if mark == "." else "."
    if other in text and _NUMBER.fullmatch(text.replace(other, ".")):
        words = {",": "comma", ".": "point"}
        params = {"text": text[:40], "this": words[other], "other": words[mark]}
        raise ReadError("decimal-mixed", name, line=line, column=column, field=field, params=params)
    plain = text.replace(mark, ".")
    if not _NUMBER.fullmatch(plain) or not math.isfinite(float(plain)):
        params = {"text": text[:40]}
        raise ReadError("not-number", name, line=line, column=column, field=field, params=params)
    return float(plain)


def like_number(cell: str) -> bool:
    """Tell whether a cell is written as a number, with either decimal mark."""
    return _NUMBER.fullmatch(cell.replace(",", ".")) is not None


def decimal_mark(cells: Sequence[str]) -> str:
    """Return the decimal mark of the first cells that show one ("." where none does)."""
    for cell in cells:
        if "," in cell and "." not in cell:
            return ","
        if "." in cell and "," not in cell:
            return "."
    return "."


class Scale(NamedTuple):
    """What speaks for percent or factor: the scale (None: unclear) and the ids of the evidence."""

    scale: str | None
    evidence: tuple[str, ...]
    smallest: float
    largest: float


def scale_of(values: Floats, declared: str | None) -> Scale:
    """Weigh what the file declares against its values.

    values: (readings, bands). Above 5 only percent is possible; where another reading stays below
    2, that one may be a factor: mixed, to be asked. Up to 2 with something below 0.1 only factors
    are: as percent that would be darker than any ordinary surface (but a value that no factor can
    have is not taken for one, zeros are no evidence, and where a good part of the values is above
    1 it may be black in percent: unclear, to be asked). In between lie white surfaces as factors,
    black ones as percent, and fluorescent ones: unclear, to be asked. (Limits: common practice, no
    published source.)
    """
    smallest, largest = float(values.min()), float(values.max())
    if largest > 5.0:
        seen = "mixed" if like_factors(values).any() else "percent"
    elif largest <= 2.0 and smallest >= LEAST_PERCENT / 100.0 and _dark_factors(values):
        seen = "factor"
    else:
        seen = "unclear"
    evidence: tuple[str, ...] = (f"values-{seen}",)
    if declared:
        evidence = (f"declared-{declared}", *evidence)
    agreed = seen if seen in ("percent", "factor") else declared
    if seen == "mixed" and declared == "factor":
        agreed = None  # it says factors, and has values that none can have
    scale = agreed if declared in (None, agreed) else None
    return Scale(scale, evidence, smallest, largest)


def _dark_factors(values: Floats) -> bool:
    """Tell whether something other than zero is below 0.1, and few values are above 1."""
    dark = ((values < 0.1) & (values != 0)).any()
    return bool(dark) and float((values > 1.0).mean()) <= MANY_ABOVE_ONE


def oddities(factors: Floats, labels: Sequence[str]) -> list[Note]:
    """Return what is unusual in factors (readings, bands, rising); kept, but to be looked at."""
    zeros = ((factors[:, 1:] == 0) & (factors[:, :-1] == 0)).any(axis=1)
    found = []
    for id, mask in (("negative", factors < 0), ("above-one", factors > 1.05)):
        found += _note(id, np.logical_or.reduce(mask, axis=1), labels, int(mask.sum()))
    found += _note("zeros", zeros, labels)
    # one dark specimen with equal end bands is chance; an instrument that holds its ends holds all
    for end, neighbour in ((0, 1), (-1, -2)):
        held = factors[:, end] == factors[:, neighbour]
        if 2 * int(held.sum()) > len(held):
            found += _note("held-ends", np.logical_and(held, ~zeros), labels)
    return found


def rows_of_other_scale(values: Floats, labels: Sequence[str]) -> list[Note]:
    """Return the oddity that some readings of a percent file look like factors."""
    return _note("other-scale", like_factors(values), labels)


def like_factors(values: Floats) -> npt.NDArray[np.bool_]:
    """Tell for each reading (readings, bands) whether it stays as low as factors do."""
    low: npt.NDArray[np.bool_] = values.max(axis=1) <= 2.0
    return low


class Rows(NamedTuple):
    """Where readings come from: labels, wavelengths (nm), and each one's line or column."""

    labels: Sequence[str]
    wavelengths: Sequence[float]
    lines: Sequence[int]
    layout: str  # "columns": lines are columns; otherwise they are lines or rows

    def at(self, reading: int) -> tuple[int | None, int | None, str]:
        """Line or column of a reading, and its label."""
        place = self.lines[reading] if self.lines else None
        label = self.labels[reading]
        return (None, place, label) if self.layout == "columns" else (place, None, label)


def check_largest(values: Floats, name: str, rows: Rows) -> None:
    """Raise ReadError naming the largest of values (readings, bands) beyond LARGEST_PERCENT."""
    reading, band = (int(i) for i in np.unravel_index(int(np.argmax(values)), values.shape))
    if values[reading, band] > LARGEST_PERCENT:
        line, column, _ = rows.at(reading)
        params = {"largest": f"{values[reading, band]:g}"}
        field = f"{rows.wavelengths[band]:g} nm"
        raise ReadError(
            "not-reflectance", name, line=line, column=column, field=field, params=params
        )


def check_possible(values: Floats, scale: str | None, name: str, rows: Rows) -> None:
    """Raise ReadError where values (readings, bands) cannot be reflectances of a surface.

    That is a reading below zero throughout, and a value further below zero than an instrument's
    own error. While the scale is open (None) only what neither scale allows is a fault.
    """
    throughout = values.max(axis=1) < 0
    if throughout.any():
        line, column, label = rows.at(int(np.argmax(throughout)))
        raise ReadError(
            "negative-throughout", name, line=line, column=column, params={"label": label}
        )
    least = LEAST_PERCENT / 100.0 if scale == "factor" else LEAST_PERCENT
    reading, band = (int(i) for i in np.unravel_index(int(np.argmin(values)), values.shape))
    if values[reading, band] < least:
        line, column, label = rows.at(reading)
        params = {"label": label, "value": f"{values[reading, band]:g}"}
        field = f"{rows.wavelengths[band]:g} nm"
        raise ReadError(
            "far-below-zero", name, line=line, column=column, field=field, params=params
        )


def _note(
    id: str, rows: npt.NDArray[np.bool_], labels: Sequence[str], count: int | None = None
) -> list[Note]:
    """Return the note with how many readings and the first one's label, or nothing."""
    if not rows.any():
        return []
    number = int(rows.sum()) if count is None else count
    return [(id, {"count": str(number), "label": labels[int(np.argmax(rows))]})]
