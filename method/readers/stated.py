"""Colour values that stand beside the spectra: which columns they are, and whether they agree.

Stated L*a*b* or XYZ is compared with what the file's own spectra give (weights of ASTM E308, the
ends folded in, on whatever range was measured). It never enters a packed set: verdicts come from
the spectra. Chroma and hue are recomputed from a* and b*, because averaged ones are not those of
the averaged colour.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from colorimetry import (
    ILLUMINANTS,
    OBSERVERS,
    STEPS,
    DomainError,
    Grid,
    GridError,
    ciede2000,
    lab,
    weights,
    xyz,
)
from method.readers.condition import light
from method.readers.found import Found, Stated, stated_piece
from method.readers.values import Floats

# Good agreement of stated with computed colours, measured on files of full range; what the stated
# values' own rounding explains is added. (Common practice, no published source.)
MEAN_AGREES, MAX_AGREES = 0.02, 0.05
SHORT_MEAN_AGREES, SHORT_MAX_AGREES = 0.10, 0.25  # ends folded in where much was not measured
FULL_FIRST, FULL_LAST = 380, 730
SEARCHED = 500  # readings that other conditions are tried on
MOST_SETS = 12  # compared; a report states its colours under a few conditions
Rows = NDArray[np.intp]
_FIRST, _LAST = 360, 780
_NAME = re.compile(
    r"(?:CIE[ _-]?)?(?:(LAB|XYZ|LCH|CIELAB)[ _-]?)?([LABCHXYZ])(?:\*|STAR)?(?:ab|°)?"
    r"(?:[ _/,(\[-]+(.*?)[)\]]?)?",
    re.IGNORECASE,
)
# fields of the standard that are neither spectra nor names of specimens
_FIELDS = re.compile(
    r"(RGB|CMYK?|LAB|XYZ|LCH|XYY|STDEV|MEAN|CHI)_\w+|D_(RED|GREEN|BLUE|VIS|MAJOR\w*)"
    r"|SPECTRAL_(NM|PCT|DEC)",
    re.IGNORECASE,
)


class Triple(NamedTuple):
    """Columns that state a colour: zero-based cells of L, a, b or X, Y, Z; and of C, h if any."""

    space: str
    cells: tuple[int, int, int]
    fields: tuple[str, ...]
    chroma_hue: tuple[int, int] | None
    illuminant: str | None
    observer: str | None


def stated_columns(names: Sequence[str]) -> list[Triple]:
    """Return the sets of columns that state colours, by their names alone."""
    groups: dict[tuple[str, str], dict[str, int]] = {}
    for index, text in enumerate(names):
        named = _component(text)
        if named:
            space, letter, rest = named
            groups.setdefault((space, rest), {}).setdefault(letter, index)
    found = []
    for (space, rest), cells in groups.items():
        letters = "LAB" if space == "lab" else "XYZ"
        if not set(letters) <= cells.keys():
            continue
        one, two, three = (cells[letter] for letter in letters)
        polar = (cells["C"], cells["H"]) if {"C", "H"} <= cells.keys() else None
        said = dict(light(rest))
        fields = tuple(names[index] for index in (one, two, three))
        triple = (one, two, three)
        found.append(
            Triple(space, triple, fields, polar, said.get("illuminant"), said.get("observer"))
        )
    return found


def is_other_field(name: str) -> bool:
    """Tell whether a column's name is that of a known quantity, and so of no specimen."""
    return _FIELDS.fullmatch(name) is not None


def _component(text: str) -> tuple[str, str, str] | None:
    """Return space, letter and what else a column's name says, or None.

    Small x, y, z without a prefix are chromaticity, and never taken for X, Y, Z.
    """
    match = _NAME.fullmatch(text.strip()) if len(text) <= 60 else None
    if match is None:
        return None
    prefix, letter, rest = match.groups()
    if letter.upper() in "XYZ":
        wrong = (prefix or "XYZ").upper() != "XYZ" or (not prefix and letter.islower())
        return None if wrong else ("xyz", letter.upper(), (rest or "").strip())
    if prefix and prefix.upper() == "XYZ":
        return None
    return "lab", letter.upper(), (rest or "").strip()


@dataclass(frozen=True)
class Comparison:
    """Stated colours of a table against those of its own spectra.

    illuminant, observer: the condition stated, None where unknown. mean, largest: CIEDE2000 under
    it (None where it is unknown or has no weights). best: the condition that fits best, as words
    such as ``D50/2°``, with its mean and largest, from up to SEARCHED readings; ``D50/2°, white of
    10°`` where the white of the other colorimetric observer fits. agrees: whether the stated
    condition holds within MEAN_AGREES and MAX_AGREES plus the rounding of the stated values;
    None where it cannot be said.
    """

    fields: tuple[str, ...]
    readings: int
    illuminant: str | None
    observer: str | None
    mean: float | None
    largest: float | None
    best: str | None
    best_mean: float | None
    best_largest: float | None
    agrees: bool | None
    best_agrees: bool


def compare(found: Found, factors: Floats) -> list[Comparison]:
    """Return one comparison for each of the first MOST_SETS sets of stated colours of a table.

    factors: (readings, bands), reflectance factors of ``found.wavelengths``. Nothing is compared
    where the wavelengths allow no weights at all; where they allow several, the one that agrees
    is kept.
    """
    bases = [Spectra(factors[:, bands], grid) for grid, bands in _grids(found.wavelengths)]
    if not bases:
        return []
    compared = []
    for one in found.stated[:MOST_SETS]:
        tried = [_compared(found, one, base) for base in bases]
        fitting = (
            each for each in tried if each.agrees or (each.agrees is None and each.best_agrees)
        )
        compared.append(next(fitting, tried[0]))
    return compared


class Spectra:
    """Spectra on a grid with weights, and their colours under each condition, computed once."""

    def __init__(self, factors: Floats, grid: Grid) -> None:
        """factors: (readings, bands of the grid)."""
        self.factors, self.grid = factors, grid
        self._known: dict[tuple[str, int, bytes], tuple[Floats, Floats]] = {}

    def tristimulus(self, illuminant: str, observer: int, rows: Rows) -> tuple[Floats, Floats]:
        """Return X, Y, Z (rows, 3) of some readings, and of the perfect diffuser (3,)."""
        key = (illuminant, observer, rows.tobytes())
        if key not in self._known:
            table = folded(illuminant, observer, self.grid)
            self._known[key] = xyz(self.factors[rows], table), table.sum(axis=1)
        return self._known[key]


def _compared(found: Found, stated: Stated, spectra: Spectra) -> Comparison:
    """Compare one set of stated colours with the computed ones."""
    rows = np.flatnonzero(np.isfinite(stated.values).all(axis=1))
    values = stated.values[rows]
    illuminant = stated.illuminant or stated_piece(found.condition, "illuminant")
    observer = stated.observer or stated_piece(found.condition, "observer")
    slack = _rounding(values)
    mean = largest = None
    agrees: bool | None = None
    if illuminant in ILLUMINANTS and observer in ("2", "10") and len(values):
        under = (illuminant, int(observer), int(observer))
        mean, largest = _difference(stated, spectra, rows, under)
        agrees = _close(mean, largest, slack, spectra.grid)
    best, best_mean, best_largest = None, None, None
    best_agrees = False
    if len(values):
        few = rows[:: max(1, len(rows) // SEARCHED)]
        best, best_mean, best_largest = _best(stated, spectra, few)
        best_agrees = _close(best_mean, best_largest, slack, spectra.grid)
    return Comparison(
        stated.fields,
        len(values),
        illuminant,
        observer,
        mean,
        largest,
        best,
        best_mean,
        best_largest,
        agrees,
        best_agrees,
    )


def _close(mean: float, largest: float, slack: float, grid: Grid) -> bool:
    """Tell whether differences are no more than weights and rounding explain."""
    full = grid.start <= FULL_FIRST and grid.stop >= FULL_LAST
    most = (MEAN_AGREES, MAX_AGREES) if full else (SHORT_MEAN_AGREES, SHORT_MAX_AGREES)
    return mean <= most[0] + slack and largest <= most[1] + slack


def _best(stated: Stated, spectra: Spectra, rows: Rows) -> tuple[str, float, float]:
    """Return the condition that fits best in words, and its mean and largest difference.

    The other observer's white is said only where it fits clearly better; XYZ has no white.
    """

    def least(confused: bool) -> tuple[float, float, tuple[str, int, int]]:
        return min(
            (*_difference(stated, spectra, rows, under), under) for under in _conditions(confused)
        )

    best = least(False)
    other = least(True) if stated.space == "lab" else best
    mean, largest, (illuminant, observer, of_white) = other if other[0] < 0.8 * best[0] else best
    words = f"{illuminant}/{observer}°"
    return words if of_white == observer else f"{words}, white of {of_white}°", mean, largest


def _conditions(confused: bool) -> Iterator[tuple[str, int, int]]:
    """Yield illuminant, observer and the observer of the white: the same, or confused."""
    for illuminant in ILLUMINANTS:
        for observer, other in zip(OBSERVERS, reversed(OBSERVERS), strict=True):
            yield illuminant, observer, other if confused else observer


def _difference(
    stated: Stated, spectra: Spectra, rows: Rows, under: tuple[str, int, int]
) -> tuple[float, float]:
    """Return mean and largest CIEDE2000 of computed against stated colours of some readings."""
    illuminant, observer, of_white = under
    values = stated.values[rows]
    try:
        colours, white = spectra.tristimulus(illuminant, observer, rows)
        if of_white != observer:
            white = folded(illuminant, of_white, spectra.grid).sum(axis=1)
        given = values if stated.space == "lab" else lab(values, white)
        differences = ciede2000(lab(colours, white), given)
    except DomainError:  # stated values that are no colours
        return float("inf"), float("inf")
    return float(differences.mean()), float(differences.max())


@lru_cache(maxsize=512)
def folded(illuminant: str, observer: int, grid: Grid) -> Floats:
    """Return weights (3, bands) for any range: those of 360 to 780 nm, ends folded in (E308).

    Unlike colorimetry.weights this does not refuse short ranges: here they only test what a file
    states of itself.
    """
    full = Grid(_FIRST, _LAST, grid.step)
    table = weights(illuminant, observer, full)
    result = np.zeros((3, len(grid)))
    for index, nm in enumerate(full.wavelengths()):
        result[:, min(max((nm - grid.start) // grid.step, 0), len(grid) - 1)] += table[:, index]
    result.setflags(write=False)
    return result


def _grids(wavelengths: Sequence[float]) -> list[tuple[Grid, list[int]]]:
    """Return the grids with weights that are part of the wavelengths, the finest first, with bands.

    Colours of 5 nm data are often computed by the weights for 10 nm; those for 20 nm are tried
    only where there is nothing finer.
    """
    found: list[tuple[Grid, list[int]]] = []
    whole = [int(w) if w == int(w) else 0 for w in wavelengths]
    for step in STEPS:
        bands = [
            i for i, nm in enumerate(whole) if _FIRST <= nm <= _LAST and (nm - _FIRST) % step == 0
        ]
        if len(bands) < 8 or (found and step > 10):
            continue
        try:
            grid = Grid.of([whole[i] for i in bands])
        except GridError:
            continue
        if grid.step == step:
            found.append((grid, bands))
    return found


def _rounding(values: Floats) -> float:
    """Return the difference that rounding the stated values may cause: half a unit in each axis."""
    for decimals in range(5):
        if values.size and np.allclose(values, values.round(decimals), rtol=0, atol=1e-9):
            return float(np.sqrt(3.0)) * 0.5 * 10.0**-decimals
    return 0.0


def polar_disagrees(stated: Stated) -> tuple[int, float]:
    """Return in how many readings stated chroma is not that of a* and b*, and the largest gap.

    What the rounding of the stated values may cause is allowed.
    """
    if stated.chroma_hue is None:
        return 0, 0.0
    chroma = np.hypot(stated.values[:, 1], stated.values[:, 2])
    gap = np.abs(chroma - stated.chroma_hue[:, 0])
    allowed = 0.005 + 2 * _rounding(stated.chroma_hue[np.isfinite(stated.chroma_hue).all(axis=1)])
    off = np.nan_to_num(gap) > allowed
    return int(off.sum()), float(np.nanmax(gap)) if off.any() else 0.0
