"""A lamp's readings at uneven wavelengths, taken to every nanometre by a cubic spline."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, real_array
from colorimetry.errors import DomainError, GridError
from colorimetry.spectral_power import COARSEST, SpectralPower, power_readings
from colorimetry.weights import Grid


def evened(wavelengths: npt.ArrayLike, values: npt.ArrayLike) -> SpectralPower:
    """Return the power at every whole nanometre from readings (n,) at rising wavelengths (n,) nm.

    For spectroradiometers whose wavelengths are no even grid of whole nanometres; even readings
    belong in ``SpectralPower`` as they are. A cubic spline, as ASTM E2022 asks for where
    wavelengths are uneven; natural at its ends (chosen here: the practice does not say). Readings
    closer than 1 nm are sampled by it, not averaged; beside the lines of a discharge lamp it may
    dip below zero and is left so, as Sprague's curve of even readings is. Nothing is told outside
    the readings.
    Raises GridError for fewer than four readings ("short"), wavelengths that do not rise
    ("uneven") and gaps over 10 nm ("step"); DomainError for NaN, infinity, and as
    ``SpectralPower`` does.
    """
    nm = finite_table(np.ravel(real_array(wavelengths, "wavelengths")), "wavelengths")[0]
    power = power_readings(np.ravel(real_array(values, "spectral power")), len(nm))
    if len(nm) < 4:
        raise GridError("short", "at least four readings are needed")
    gaps = np.diff(nm)
    if (gaps <= 0).any():
        band = int(np.argmax(gaps <= 0)) + 1
        raise GridError("uneven", f"wavelengths must rise; {nm[band]:g} nm does not")
    if gaps.max() > COARSEST:
        after = float(nm[np.argmax(gaps)])
        raise GridError("step", f"a gap of {float(gaps.max()):g} nm after {after:g} nm")
    start, stop = math.ceil(nm[0]), math.floor(nm[-1])
    if start < 0 or stop <= start:
        raise DomainError(
            "wavelengths", "range", detail="nanometres expected, over several of them"
        )
    grid = Grid(start, stop, 1)
    found = _spline(nm, power, np.array(grid.wavelengths(), dtype=np.float64))
    return SpectralPower.between_readings(grid, found)


def _spline(nm: Floats, power: Floats, at: Floats) -> Floats:
    """Return the natural cubic spline through (nm, power) at the points ``at`` between its ends."""
    gaps = np.diff(nm)
    bend = _second_derivatives(gaps, np.diff(power) / gaps)
    left = np.clip(np.searchsorted(nm, at, side="right") - 1, 0, len(gaps) - 1)
    h = gaps[left]
    a, b = (nm[left + 1] - at) / h, (at - nm[left]) / h
    curved = (a * a * a - a) * bend[left] + (b * b * b - b) * bend[left + 1]
    found: Floats = a * power[left] + b * power[left + 1] + curved * h * h / 6.0
    return found


def _second_derivatives(gaps: Floats, slopes: Floats) -> Floats:
    """Return the spline's second derivatives at the readings, zero at both ends.

    The tridiagonal equations are solved in plain order (no LAPACK), for equal bits everywhere.
    """
    step, rise = gaps.tolist(), (6.0 * np.diff(slopes)).tolist()
    upper: list[float] = []
    right: list[float] = []
    for i, jump in enumerate(rise):
        below = step[i] if i else 0.0
        pivot = 2.0 * (step[i] + step[i + 1]) - below * (upper[-1] if i else 0.0)
        upper.append(step[i + 1] / pivot)
        right.append((jump - below * (right[-1] if i else 0.0)) / pivot)
    inner: list[float] = [0.0]
    for up, value in zip(reversed(upper), reversed(right), strict=True):
        inner.append(value - up * inner[-1])
    return np.array([0.0, *reversed(inner)])
