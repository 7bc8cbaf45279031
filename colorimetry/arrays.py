"""Checked arrays: every public function passes its input through here first."""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Decimal
from numbers import Real

import numpy as np
import numpy.typing as npt

from colorimetry.errors import DomainError

Floats = npt.NDArray[np.float64]


def real_array(value: npt.ArrayLike, what: str, *, flags: bool = False) -> Floats:
    """Return ``value`` as a float array in its own shape; NaN and infinity are left to the caller.

    flags: whether an array of booleans is taken as 1 and 0.
    Raises DomainError ``type`` for what is no array of real numbers: texts (of digits too),
    booleans, None, complex numbers, dates, masked arrays (whose masked values mean nothing), and
    rows of unlike length.
    """
    if isinstance(value, np.ma.MaskedArray):
        raise DomainError(what, "type", detail="an array without a mask expected")
    try:
        found = np.asarray(value)
    except (TypeError, ValueError) as error:
        raise DomainError(what, "type", detail="numbers expected") from error
    if found.dtype == np.float64:
        return found
    if found.dtype.kind in "iuf" or (flags and found.dtype.kind == "b"):
        with np.errstate(over="ignore"):
            return found.astype(np.float64)
    if found.dtype.kind != "O":
        raise DomainError(what, "type", detail=f"numbers expected, got {found.dtype}")
    table = np.empty(found.shape)
    for place, item in np.ndenumerate(found):
        row, band = place if found.ndim == 2 else (0, place[0] if found.ndim == 1 else None)
        table[place] = _real(item, what, row, band)
    return table


def _real(value: object, what: str, row: int | None = None, band: int | None = None) -> float:
    """Return a real number as a float, infinite where it is beyond floats; NaN stays."""
    if isinstance(value, (bool, np.bool_)) or not isinstance(value, (Real, Decimal)):
        detail = f"a number expected, got {type(value).__name__}"
        raise DomainError(what, "type", row=row, band=band, detail=detail)
    try:
        return float(value)
    except OverflowError:
        return math.inf if value > 0 else -math.inf  # type: ignore[operator]
    except ValueError:  # a signalling NaN
        return math.nan


def finite_table(value: npt.ArrayLike, what: str, columns: int | None = None) -> Floats:
    """Return ``value`` as a contiguous (n, columns) float array without NaN or infinity.

    value: n rows of numbers; one row alone is taken as a table of one row.
    columns: the number of columns asked for (None: any number from 1).
    Raises DomainError naming row and band of the first value that is not finite, and ``type`` as
    ``real_array`` does.
    """
    table = np.ascontiguousarray(np.atleast_2d(real_array(value, what)))
    if table.ndim != 2 or table.shape[1] == 0:
        raise DomainError(what, "shape", detail=f"rows and columns expected, got {table.shape}")
    if columns is not None and table.shape[1] != columns:
        raise DomainError(what, "shape", detail=f"{columns} columns expected, got {table.shape[1]}")
    finite = np.isfinite(table)
    if not finite.all():
        row, band = (int(i) for i in np.argwhere(~finite)[0])
        problem = "nan" if np.isnan(table[row, band]) else "inf"
        raise DomainError(what, problem, row=row, band=band)
    return table


def within(table: Floats, what: str, low: float, high: float) -> Floats:
    """Return ``table`` if every value lies in [low, high]; DomainError with the place if not."""
    if table.size and (float(table.min()) < low or float(table.max()) > high):
        outside = (table < low) | (table > high)
        row, band = (int(i) for i in np.argwhere(outside)[0])
        raise DomainError(
            what,
            "range",
            row=row,
            band=band,
            detail=f"{float(table[row, band])!r} is not between {low:g} and {high:g}",
        )
    return table


def finite_result(table: Floats, what: str) -> Floats:
    """Return what was computed from finite numbers, if it is finite itself.

    Raises DomainError ``range`` with the row where it left the range of floats.
    """
    finite = np.isfinite(table)
    if not finite.all():
        row = int(np.argwhere(~finite)[0][0])
        raise DomainError(what, "range", row=row, detail="numbers too large to compute with")
    return table


def number(value: object, what: str, low: float = -math.inf, high: float = math.inf) -> float:
    """Return a finite number in [low, high] as a float.

    Raises DomainError: ``type`` for what is no real number (texts, booleans, None, lists),
    ``range`` for others, NaN and infinity among them.
    """
    if isinstance(value, np.ndarray) and value.shape == ():
        value = value.item()
    found = _real(value, what)
    if not (math.isfinite(found) and low <= found <= high):
        ends = f" between {low:g} and {high:g}" if (low, high) != (-math.inf, math.inf) else ""
        raise DomainError(what, "range", detail=f"{found!r} is no finite number{ends}")
    return found


def positive(value: object, what: str) -> float:
    """Return a finite number above 0 as a float; DomainError as ``number``."""
    found = _real(value, what)
    if not (math.isfinite(found) and found > 0.0):
        raise DomainError(what, "range", detail=f"a positive number expected, got {found!r}")
    return found


def name(value: object, what: str, allowed: Iterable[str]) -> str:
    """Return one of the allowed names; DomainError: ``type`` for what is no text, ``range``."""
    names = tuple(allowed)
    if isinstance(value, str) and value in names:
        return value
    listed = " or ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)
    problem = "range" if isinstance(value, str) else "type"
    raise DomainError(what, problem, detail=f"{listed} expected, got {value!r}")
