"""Cells to numbers, each fault named by line and column; and what the numbers look like."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from method.readers.errors import ReadError

Floats = npt.NDArray[np.float64]
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_UNUSUAL = re.compile(r"[^0-9.,eE+\-]")  # what float() may accept although no file means it
LARGEST_PERCENT = 400.0  # beyond: emission, counts or a wrong column


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
    text = cell.split("#", 1)[0].strip()  # a remark may follow the last number of a line
    if not text:
        raise ReadError("number-missing", name, line=line, column=column, field=field)
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

    Above 5 only percent is possible. Up to 2 with something below 0.1 only factors are: as percent
    that would be darker than any ordinary surface. In between lie white surfaces as factors, black
    ones as percent, and fluorescent ones: unclear, to be asked. (Limits: common practice, no
    published source.)
    """
    smallest, largest = float(values.min()), float(values.max())
    if largest > 5.0:
        seen = "percent"
    elif largest <= 2.0 and smallest < 0.1:
        seen = "factor"
    else:
        seen = "unclear"
    evidence: tuple[str, ...] = (f"values-{seen}",)
    if declared:
        evidence = (f"declared-{declared}", *evidence)
    agreed = seen if seen != "unclear" else declared
    scale = agreed if declared in (None, agreed) else None
    return Scale(scale, evidence, smallest, largest)


def oddities(factors: Floats, lines: Sequence[int]) -> list[tuple[str, dict[str, str]]]:
    """Return what is unusual in factors (readings, bands, rising); kept, but to be looked at.

    lines: the line (or column) that each reading stands on, from 1.
    """
    found = []
    checks = {
        "negative": factors < 0,
        "above-one": factors > 1.05,
    }
    for id, mask in checks.items():
        if mask.any():
            first = int(np.argmax(mask.any(axis=1)))
            found.append((id, {"count": str(int(mask.sum())), "line": str(lines[first])}))
    ends = (factors[:, 0] == factors[:, 1]) | (factors[:, -1] == factors[:, -2])
    zeros = ((factors[:, 1:] == 0) & (factors[:, :-1] == 0)).any(axis=1)
    for id, rows in (("held-ends", ends & ~zeros), ("zeros", zeros)):
        if rows.any():
            params = {"count": str(int(rows.sum())), "line": str(lines[int(np.argmax(rows))])}
            found.append((id, params))
    return found


def rows_of_other_scale(values: Floats, lines: Sequence[int]) -> list[tuple[str, dict[str, str]]]:
    """Return the oddity that some readings of a percent file look like factors."""
    rows = (values.max(axis=1) <= 2.0) & (values.min(axis=1) < 0.1)
    if not rows.any():
        return []
    params = {"count": str(int(rows.sum())), "line": str(lines[int(np.argmax(rows))])}
    return [("other-scale", params)]
