"""Checked arrays: every public function passes its input through here first."""

from __future__ import annotations

import math
from collections.abc import Iterable
from numbers import Real

import numpy as np
import numpy.typing as npt

from colorimetry.errors import DomainError

Floats = npt.NDArray[np.float64]


def finite_table(value: npt.ArrayLike, what: str, columns: int | None = None) -> Floats:
    """Return ``value`` as a contiguous (n, columns) float array without NaN or infinity.

    value: n rows of numbers; one row alone is taken as a table of one row.
    columns: the number of columns asked for (None: any number from 1).
    Raises DomainError naming row and band of the first value that is not finite.
    """
    try:
        table = np.ascontiguousarray(np.atleast_2d(np.asarray(value, dtype=np.float64)))
    except (TypeError, ValueError) as error:
        raise DomainError(what, "type", detail="numbers expected") from error
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


def number(value: object, what: str, low: float = -math.inf, high: float = math.inf) -> float:
    """Return a finite number in [low, high] as a float.

    Raises DomainError: ``type`` for what is no real number (texts, booleans, None, lists), ``nan``,
    ``inf``, ``range``.
    """
    if isinstance(value, np.ndarray) and value.shape == ():
        value = value.item()
    if isinstance(value, (bool, np.bool_)) or not isinstance(value, Real):
        raise DomainError(what, "type", detail="a number expected")
    try:
        found = float(value)
    except OverflowError as error:
        raise DomainError(what, "inf", detail="beyond the largest float") from error
    if not math.isfinite(found):
        raise DomainError(what, "nan" if math.isnan(found) else "inf")
    if not low <= found <= high:
        raise DomainError(what, "range", detail=f"{found!r} is not between {low:g} and {high:g}")
    return found


def name(value: object, what: str, allowed: Iterable[str]) -> str:
    """Return one of the allowed names; DomainError: ``type`` for what is no text, ``range``."""
    names = tuple(allowed)
    if not isinstance(value, str):
        raise DomainError(what, "type", detail=f"one of {', '.join(names)} expected")
    if value not in names:
        raise DomainError(what, "range", detail=f"{value!r} is none of {', '.join(names)}")
    return value
