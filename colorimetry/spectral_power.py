"""The spectral power of a lamp as it was measured, and its values at every nanometre."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, real_array
from colorimetry.errors import DomainError, GridError
from colorimetry.weights import START, STOP, Grid, checked_observer

Interpolation = Literal["sprague", "linear"]
COARSEST = 10  # nm; wider steps say too little about a lamp to be taken to 1 nm
LATEST_START = 380  # CIE tables of F and LED illuminants begin here
NOISE = 0.01  # of the largest value; common practice, no published source
_DATA = Path(__file__).with_name("observers.json")

# CIE 167:2005, Sprague interpolation: polynomial coefficients (times 24) of the readings at
# positions -2 to 3 around the interval, and the readings added before the first one (times 209)
_POLYNOMIAL = (
    np.array(
        [
            [0, 0, 24, 0, 0, 0],
            [2, -16, 0, 16, -2, 0],
            [-1, 16, -30, 16, -1, 0],
            [-9, 39, -70, 66, -33, 7],
            [13, -64, 126, -124, 61, -12],
            [-5, 25, -50, 50, -25, 5],
        ],
        dtype=np.float64,
    )
    / 24.0
)
_BEFORE = (
    np.array(
        [[884, -1960, 3033, -2648, 1080, -180], [508, -540, 488, -367, 144, -24]], dtype=np.float64
    )
    / 209.0
)


def power_readings(values: npt.ArrayLike, count: int) -> Floats:
    """Return readings (count,) of a lamp's power, checked; DomainError as ``SpectralPower``."""
    table = finite_table(values, "spectral power", columns=count)
    if len(table) != 1:
        raise DomainError("spectral power", "shape", detail="one row expected")
    row: Floats = table[0]
    if row.max() <= 0:
        raise DomainError("spectral power", "range", detail="no power at any wavelength")
    low = int(np.argmin(row))
    if row[low] < -NOISE * row.max():
        detail = f"{float(row[low])!r} is below 0"
        raise DomainError("spectral power", "range", row=0, band=low, detail=detail)
    return row


@dataclass(frozen=True, eq=False)
class SpectralPower:
    """Relative spectral power on an even grid of whole nanometres, in any unit.

    values: (n,), n = len(grid); read-only. The scale is of no account anywhere here.
    Raises DomainError for NaN, infinity, another number of values, no power at all, and values
    below zero by more than 1 % of the largest (less is the noise of an instrument and is computed
    as it stands); GridError ("step") for steps over 10 nm.
    """

    grid: Grid
    values: Floats

    def __post_init__(self) -> None:
        """Check the values and keep them from being changed."""
        if self.grid.step > COARSEST:
            raise GridError("step", f"{self.grid.step} nm is coarser than {COARSEST} nm")
        row = power_readings(self.values, len(self.grid)).copy()
        row.setflags(write=False)
        object.__setattr__(self, "values", row)

    @classmethod
    def of(cls, wavelengths: Sequence[float], values: npt.ArrayLike) -> SpectralPower:
        """Return the power at rising, even, whole wavelengths in nm; GridError for others."""
        return cls(Grid.of(wavelengths), real_array(values, "spectral power"))

    @classmethod
    def between_readings(cls, grid: Grid, values: Floats) -> SpectralPower:
        """Return what was interpolated between checked readings: it may dip below zero at lines."""
        made = cls(grid, np.ones(len(grid)))
        kept = values.copy()
        kept.setflags(write=False)
        object.__setattr__(made, "values", kept)
        return made

    def scaled(self) -> SpectralPower:
        """Return the lamp with a largest value from 0.5 to 1, by a power of two: no bit is lost."""
        power = np.frexp(self.values.max())[1]
        return self.between_readings(self.grid, np.ldexp(self.values, -power))

    def per_nanometre(self, interpolation: Interpolation) -> Floats:
        """Return the power at 360, 361 ... 780 nm, (421,).

        interpolation: "sprague" for lamps (CIE 167:2005; ASTM E2022 asks for it where wavelengths
        are evenly spaced), "linear" for daylight illuminants, which CIE 15 defines so between
        their 5 nm points. 1 nm readings are taken as they are. Between the lines of a discharge
        lamp Sprague's curve may dip below zero: it is left so, as in the weights of F illuminants.
        The readings must reach from 380 to 780 nm; what lies below the first one (from 360 nm
        on) counts as zero, as in the tables of F and LED illuminants.
        Raises GridError ("range") for shorter ranges, DomainError for an unknown interpolation.
        """
        grid = self.grid
        if grid.start > LATEST_START or grid.stop < STOP:
            detail = f"{grid.start} to {grid.stop} nm does not cover {LATEST_START} to {STOP} nm"
            raise GridError("range", detail)
        fine = np.arange(max(grid.start, START), STOP + 1)
        result = np.zeros(STOP - START + 1)
        result[fine - START] = _interpolated(self, fine, interpolation)
        return result


def _interpolated(
    lamp: SpectralPower, wavelengths: npt.NDArray[np.int_], interpolation: Interpolation
) -> Floats:
    """Return the lamp's power (m,) at whole wavelengths inside its range."""
    grid = lamp.grid
    if not isinstance(interpolation, str) or interpolation not in ("sprague", "linear"):
        detail = f"{interpolation!r} is neither 'sprague' nor 'linear'"
        raise DomainError("interpolation", "type", detail=detail)
    if grid.step == 1:
        return lamp.values[wavelengths - grid.start]
    if interpolation == "linear":
        nm = np.asarray(grid.wavelengths(), dtype=np.float64)
        return np.interp(wavelengths.astype(np.float64), nm, lamp.values)
    return _sprague(lamp.values, (wavelengths - grid.start) / grid.step)


def _sprague(values: Floats, positions: Floats) -> Floats:
    """Return the readings (n,) at positions 0 to n - 1 by Sprague's polynomials; n >= 6."""
    ahead = np.einsum("ij,j->i", _BEFORE, values[:6])
    after = np.einsum("ij,j->i", _BEFORE, values[:-7:-1])[::-1]
    wide = np.concatenate((ahead, values, after))
    left = np.minimum(positions.astype(np.int_), len(values) - 2)
    around = wide[left[:, None] + np.arange(6)]
    factors = np.einsum("pj,kj->pk", around, _POLYNOMIAL)
    x, total = positions - left, np.zeros(len(positions))
    for power in range(5, -1, -1):
        total = total * x + factors[:, power]
    return total


def colour_matching(observer: int) -> Floats:
    """Return the CIE colour-matching functions at 360, 361 ... 780 nm, (3, 421), read-only.

    observer: 2 (CIE 1931) or 10 (CIE 1964) degrees; GridError for others.
    Source: ISO/CIE 11664-1.
    """
    return _colour_matching(checked_observer(observer))


@cache
def _colour_matching(observer: int) -> Floats:
    tables = json.loads(_DATA.read_text(encoding="ascii"))["tables"]
    functions = np.ascontiguousarray(np.array(tables[str(observer)]).T)
    functions.setflags(write=False)
    return functions
