"""Steps that are no whole nanometres: exact or hidden behind rounded names (353, 357, 360, ...).

A packed set takes whole wavelengths in one step. Nothing is interpolated: where every second or
third band falls on a whole step of 5, 10 or 20 nm, those bands as they were measured are offered;
otherwise the file is refused.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from method.readers.errors import ReadError
from method.readers.layout import LEAST_BANDS, Band, Layout
from method.readers.questions import Question, bands_question
from method.readers.text import Row

STEPS = (5, 10, 20)
_ROUNDED = 0.5001  # a name in whole nm is off by half a nanometre at most
_PARTS = (1.5, 3, 4, 6, 7, 8, 9)  # of 10 nm in a step
_EXACT = 0.02  # nm by which a band may miss a whole step and still stand for it


def is_plain(wavelengths: Sequence[float]) -> bool:
    """Tell whether wavelengths (nm, rising or falling) are whole and go in one step."""
    steps = {b - a for a, b in pairwise(wavelengths)}
    return len(steps) == 1 and 0 not in steps and all(nm == int(nm) for nm in wavelengths)


def true_axis(wavelengths: Sequence[float]) -> list[float] | None:
    """Return the wavelengths in nm that uneven or fractional names stand for; None where none do.

    wavelengths: as named, rising or falling. Either the ends are whole nanometres, or the step is
    a third or another plain part of 10 or 20 nm and a band lies at a whole 10 nm; names are
    rounded or cut to whole nanometres.
    """
    first, last, count = wavelengths[0], wavelengths[-1], len(wavelengths)
    step = (last - first) / (count - 1)
    exact = any(nm != int(nm) for nm in wavelengths)
    if step == 0 or (not exact and step == int(step) and _fits(wavelengths, first, step, 0.0)):
        return None
    allowed = 0.06 if exact else _ROUNDED
    true = _anchored(wavelengths, step, allowed, exact)
    if true is None and (exact or step != int(step)) and _fits(wavelengths, first, step, allowed):
        true = [first + i * step for i in range(count)]
    return true


def _fits(wavelengths: Sequence[float], first: float, step: float, allowed: float) -> bool:
    return all(abs(nm - first - i * step) <= allowed for i, nm in enumerate(wavelengths))


def _anchored(
    wavelengths: Sequence[float], step: float, allowed: float, exact: bool
) -> list[float] | None:
    """Return the axis in a plain part of 10 nm through a band at a whole 10 nm, or None."""
    anchors = [i for i, nm in enumerate(wavelengths) if nm % 10 == 0]
    for parts in _PARTS:
        near = math.copysign(10 / parts, step)
        if abs(near - step) * (len(wavelengths) - 1) > 1.5:
            continue
        for at in anchors[:10]:
            true = [wavelengths[at] + (i - at) * near for i in range(len(wavelengths))]
            gaps = [whole - nm for whole, nm in zip(true, wavelengths, strict=True)]
            cut = not exact and all(-1e-6 <= gap < 1 for gap in gaps)
            if cut or all(abs(gap) <= allowed for gap in gaps):
                return true
    return None


def true_step(wavelengths: Sequence[float]) -> float | None:
    """Return the step in nm that uneven or fractional names stand for; None where none does."""
    true = true_axis(wavelengths)
    return None if true is None else abs(true[1] - true[0])


def whole_bands(wavelengths: Sequence[float]) -> list[int]:
    """Return the bands, by index, that make the finest whole grid of 5, 10 or 20 nm; else [].

    wavelengths: as named, rising or falling.
    """
    true = true_axis(wavelengths)
    if true is None:
        return []
    step = true[1] - true[0]
    for grid in STEPS:
        bands = [i for i, nm in enumerate(true) if abs(nm - grid * round(nm / grid)) <= _EXACT]
        picked = [grid * round(true[i] / grid) for i in bands]
        even = all(abs(b - a) == grid for a, b in pairwise(picked))
        if len(bands) >= LEAST_BANDS and even and grid >= abs(step):
            return bands
    return []


def whole_layout(
    layout: Layout, chosen: Mapping[str, str], name: str, head: Sequence[Row]
) -> tuple[Layout, list[Question]]:
    """Return the layout with whole, even wavelengths, and the question it took.

    Where the wavelengths are neither, and no part of them is, the layout stays: reading it names
    the place.
    """
    named = [one.nm for one in layout.bands]
    step = None if is_plain(named) else true_step(named)
    if step is None:
        return layout, []
    bands = whole_bands(named)
    if not bands:
        return layout, []
    question = bands_question(step, named, bands)
    if chosen.get("bands") == "none":
        line = head[layout.at if layout.kind == "rows" else layout.bands[0].cell].line
        raise ReadError("bands-declined", name, line=line, params={"step": f"{step:.4g}"})
    kept = tuple(_rounded(layout.bands[i]) for i in bands)
    return replace(layout, bands=kept), [question]


def _rounded(one: Band) -> Band:
    return Band(one.prefix, float(round(one.nm)), one.cell, one.text)
