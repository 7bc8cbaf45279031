"""The spectrum of a light as a file gives it, and what must hold of every such spectrum."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from method.readers.errors import ReadError
from method.readers.values import Floats, Note

SHORTEST, LONGEST = 100.0, 3000.0  # nm
LEAST_POINTS = 8
VISIBLE = (380.0, 780.0)
# Noise of a dark channel may fall below zero; more than this part of the peak is no noise.
# (Common practice, no published source.)
LEAST_PART = -0.05


@dataclass
class Spectrum:
    """What was read of a light, in the order of the file.

    wavelengths: nm; values: as written; lines: of each value, from 1. quantity, unit, bandwidth,
    corrected: None where unsaid. header: pairs of key and text in their order.
    """

    wavelengths: list[float]
    values: list[float]
    lines: list[int]
    header: list[tuple[str, str]] = field(default_factory=list)
    quantity: str | None = None
    unit: str | None = None
    bandwidth: float | None = None
    corrected: bool | None = None
    notes: list[Note] = field(default_factory=list)


def checked(spectrum: Spectrum, name: str) -> tuple[Floats, Floats, list[Note]]:
    """Return wavelengths (n,) rising, values (n,) of the same order, and what is odd about them.

    Raises ReadError, naming the line, for wavelengths that cannot be nm, that appear twice or go
    back and forth, for too few of them, and for values that cannot be light.
    """
    nm = np.array(spectrum.wavelengths, dtype=np.float64)
    values = np.array(spectrum.values, dtype=np.float64)
    _check_wavelengths(spectrum.wavelengths, spectrum.lines, name)
    _check_values(spectrum, values, name)
    notes: list[Note] = []
    if nm[0] > nm[-1]:
        nm, values = nm[::-1].copy(), values[::-1].copy()
        notes.append(("descending", {}))
    if nm[0] > VISIBLE[0] or nm[-1] < VISIBLE[1]:
        notes.append(("lamp-range", {"first": f"{nm[0]:g}", "last": f"{nm[-1]:g}"}))
    below = int((values < 0).sum())
    if below:
        notes.append(("lamp-negative", {"count": str(below)}))
    if spectrum.quantity is None:
        notes.append(("lamp-quantity-unsaid", {}))
    return nm, values, notes


def _check_wavelengths(nm: Sequence[float], lines: Sequence[int], name: str) -> None:
    """Raise ReadError unless there are enough wavelengths, in range, in one direction."""
    if len(nm) < LEAST_POINTS:
        params = {"found": str(len(nm)), "least": str(LEAST_POINTS)}
        raise ReadError("lamp-few", name, line=lines[0] if lines else None, params=params)
    for one, line in zip(nm, lines, strict=True):
        if not SHORTEST <= one <= LONGEST:
            params = {"wavelength": f"{one:g}", "least": "100", "most": "3000"}
            raise ReadError("lamp-wavelength", name, line=line, params=params)
    rising = nm[-1] > nm[0]
    for (before, after), line in zip(pairwise(nm), lines[1:], strict=True):
        if before == after:
            params = {"wavelength": f"{after:g}"}
            raise ReadError("wavelength-twice", name, line=line, params=params)
        if (after > before) != rising:
            params = {"before": f"{before:g}", "after": f"{after:g}"}
            raise ReadError("lamp-order", name, line=line, params=params)


def _check_values(spectrum: Spectrum, values: Floats, name: str) -> None:
    """Raise ReadError where values are no light: nothing above zero, or far below it."""
    peak = float(values.max())
    if peak <= 0:
        raise ReadError("lamp-dark", name, line=spectrum.lines[0])
    lowest = int(np.argmin(values))
    if values[lowest] < LEAST_PART * peak:
        params = {"value": f"{values[lowest]:g}", "wavelength": f"{spectrum.wavelengths[lowest]:g}"}
        raise ReadError("lamp-below-zero", name, line=spectrum.lines[lowest], params=params)
