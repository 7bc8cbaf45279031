"""Steps that are no whole nanometres: exact or hidden behind rounded names (353, 357, 360, ...).

A packed set takes whole wavelengths in one step. Nothing is interpolated: where every second or
third band falls on a whole step of 5, 10 or 20 nm, those bands as they were measured are offered;
otherwise the file is refused.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from method.readers.layout import LEAST_BANDS

STEPS = (5, 10, 20)
_ROUNDED = 0.5001  # a name in whole nm is off by half a nanometre at most
_EXACT = 0.02  # nm by which a band may miss a whole step and still stand for it


def is_plain(wavelengths: Sequence[float]) -> bool:
    """Tell whether wavelengths (nm, rising or falling) are whole and go in one step."""
    steps = {b - a for a, b in pairwise(wavelengths)}
    return len(steps) == 1 and 0 not in steps and all(nm == int(nm) for nm in wavelengths)


def true_step(wavelengths: Sequence[float]) -> float | None:
    """Return the step in nm that uneven or fractional names stand for; None where none does.

    wavelengths: as named, rising or falling. The ends are taken as whole nanometres.
    """
    first, last, count = wavelengths[0], wavelengths[-1], len(wavelengths)
    step = (last - first) / (count - 1)
    exact = any(nm != int(nm) for nm in wavelengths)
    if step == 0 or abs(step) != abs(step) or (not exact and step == int(step)):
        return None
    allowed = 0.06 if exact else _ROUNDED
    if all(abs(nm - first - i * step) <= allowed for i, nm in enumerate(wavelengths)):
        return abs(step)
    return None


def whole_bands(wavelengths: Sequence[float]) -> list[int]:
    """Return the bands, by index, that make the finest whole grid of 5, 10 or 20 nm; else [].

    wavelengths: as named, rising or falling, of one true step.
    """
    first, step = wavelengths[0], (wavelengths[-1] - wavelengths[0]) / (len(wavelengths) - 1)
    true = [first + i * step for i in range(len(wavelengths))]
    for grid in STEPS:
        bands = [i for i, nm in enumerate(true) if abs(nm - grid * round(nm / grid)) <= _EXACT]
        picked = [grid * round(true[i] / grid) for i in bands]
        even = all(abs(b - a) == grid for a, b in pairwise(picked))
        if len(bands) >= LEAST_BANDS and even and grid >= abs(step):
            return bands
    return []
