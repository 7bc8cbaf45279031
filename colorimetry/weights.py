"""Weighting factors of ASTM E308/E2022 for measured grids, read from one data file.

Illuminants were taken to 1 nm before: D50 and D65 linearly (so they are defined between 5 nm
points), A from its formula, the others by Sprague interpolation (``make_weights.py``). Weights of
a lamp that somebody measured: ``colorimetry.measured_lamp``.

The factors are for reflectance factors (1 = perfect diffuser) that have been corrected for the
instrument's bandpass. ``xyz = R · W`` then has Y = 100 for the perfect diffuser.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from numbers import Real
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, number
from colorimetry.errors import DomainError, GridError

ILLUMINANTS = ("D65", "A", "F11", "D50", "C", "F2", "F7", "FL3.15", "LED-B3")
OBSERVERS = (2, 10)
STEPS = (5, 10, 20)
START, STOP = 360, 780  # nm: where ASTM E308 sums
LAST_START, FIRST_STOP = 400, 700  # shorter ranges are refused: too much would be guessed
_DATA = Path(__file__).with_name("weights.json")


def _whole(value: object) -> int:
    """Return whole nanometres as an int; GridError for other numbers and for what is none."""
    if type(value) is int:
        return value
    try:
        found = number(value, "wavelength")
    except DomainError as error:
        raise GridError("uneven", "finite numbers of nanometres expected") from error
    if not found.is_integer():
        raise GridError("uneven", f"{found!r} is no whole number of nanometres")
    return int(found)


@dataclass(frozen=True)
class Grid:
    """An even wavelength grid in whole nanometres, ends included."""

    start: int
    stop: int
    step: int

    def __post_init__(self) -> None:
        """Refuse a grid whose step does not divide its range; keep whole numbers as ints."""
        for field in ("start", "stop", "step"):
            object.__setattr__(self, field, _whole(getattr(self, field)))
        if self.step <= 0 or self.stop <= self.start or (self.stop - self.start) % self.step:
            raise GridError("uneven", f"{self.start} to {self.stop} nm in steps of {self.step}")

    @classmethod
    def of(cls, wavelengths: Sequence[float]) -> Grid:
        """Return the grid of rising wavelengths in nm; GridError where they are not even."""
        if len(wavelengths) < 2:
            raise GridError("short", "at least two wavelengths are needed")
        whole = [_whole(w) for w in wavelengths]
        step = whole[1] - whole[0]
        if step <= 0 or any(b - a != step for a, b in pairwise(whole)):
            raise GridError("uneven", "whole nanometres, rising, in one step")
        return cls(whole[0], whole[-1], step)

    def wavelengths(self) -> list[int]:
        """Return the wavelengths in nm, rising."""
        return list(range(self.start, self.stop + 1, self.step))

    def __len__(self) -> int:
        """Return the number of wavelengths."""
        return (self.stop - self.start) // self.step + 1


@cache
def _document() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(_DATA.read_text(encoding="ascii"))
    return data


def checked_observer(observer: object) -> int:
    """Return the field of view as an int, 2 or 10 degrees (10.0 too); GridError for others."""
    if isinstance(observer, Real) and not isinstance(observer, bool):
        for known in OBSERVERS:
            if observer == known:
                return known
    raise GridError("observer", f"{observer!r} is neither 2 nor 10 degrees")


def check_grid(observer: int, grid: Grid) -> None:
    """Raise GridError where no weights can be made for this colorimetric observer and grid."""
    checked_observer(observer)
    if not isinstance(grid, Grid):
        raise GridError("uneven", f"a Grid expected, got {grid!r}")
    if grid.step not in STEPS:
        raise GridError("step", f"{grid.step} nm is none of 5, 10, 20 nm")
    if (grid.start - 360) % grid.step:
        raise GridError("phase", f"a {grid.step} nm grid must pass through 360 nm")
    if grid.start > LAST_START or grid.stop < FIRST_STOP:
        raise GridError("range", f"{grid.start} to {grid.stop} nm does not cover 400 to 700 nm")


def folded(full: npt.ArrayLike, grid: Grid) -> Floats:
    """Return weights (3, n) for ``grid`` from rows [X, Y, Z] for 360 to 780 nm in the grid's step.

    Weights of wavelengths that were not measured are added to the first and last measured one
    (ASTM E308); readings outside 360 to 780 nm get weight zero. The addition is exact (fsum), so
    the bits do not depend on the machine. The result is read-only.
    """
    base = np.asarray(full, dtype=np.float64).tolist()
    measured = range(START, STOP + 1, grid.step)
    first, last = max(grid.start, START), min(grid.stop, STOP)
    gathered: dict[int, list[list[float]]] = {w: [] for w in grid.wavelengths()}
    for wavelength, row in zip(measured, base, strict=True):
        gathered[min(max(wavelength, first), last)].append(row)
    table = np.array(
        [[math.fsum(row[i] for row in rows) for rows in gathered.values()] for i in range(3)]
    )
    table.setflags(write=False)
    return table


def weights(illuminant: str, observer: int, grid: Grid) -> Floats:
    """Return the weighting factors as a read-only (3, n) array, n = len(grid).

    illuminant: one of ILLUMINANTS; observer: 2 or 10 (degrees). Ranges shorter than 360 to 780 nm
    are served by ``folded``. Raises GridError for combinations without a table.
    Source: ASTM E308, ASTM E2022.
    """
    if not isinstance(illuminant, str) or illuminant not in ILLUMINANTS:
        raise GridError("illuminant", f"{illuminant!r} is none of {', '.join(ILLUMINANTS)}")
    check_grid(observer, grid)
    return _weights(illuminant, checked_observer(observer), grid)


@cache
def _weights(illuminant: str, observer: int, grid: Grid) -> Floats:
    return folded(_document()["tables"][f"{illuminant}/{observer}/{grid.step}"], grid)


def diffuser(table: npt.ArrayLike) -> Floats:
    """Return XYZ (3,) of the perfect diffuser under weights (3, n): their sum.

    The sum is taken by the same einsum as specimens, so that the diffuser is exactly L* = 100,
    a* = b* = 0.
    Raises DomainError for NaN, infinity and other than three rows. Source: ASTM E308.
    """
    factors = finite_table(table, "weights")
    if len(factors) != 3:
        raise DomainError("weights", "shape", detail=f"3 rows expected, got {len(factors)}")
    total: Floats = np.einsum("nk,ck->nc", np.ones((1, factors.shape[1])), factors)[0]
    return total


def white(illuminant: str, observer: int, grid: Grid) -> Floats:
    """Return XYZ (3,) of the perfect diffuser: the sum of the weights, never a tabulated white.

    A separately tabulated white would give the perfect diffuser a b* of up to 0.1.
    """
    return diffuser(weights(illuminant, observer, grid))
