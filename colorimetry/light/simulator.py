"""Category of a daylight simulator by the method of ISO/CIE 23603, with imported specimens.

The mean colour difference of virtual pairs that match under a daylight illuminant tells how well a
lamp stands for it: five visible pairs give the first letter, three pairs with a fluorescent
specimen the second. A lamp whose chromaticity lies too far from the illuminant gets no letter.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from colorimetry.arrays import Floats, number
from colorimetry.errors import DomainError, GridError
from colorimetry.light.chromaticity import chromaticity_distance, uv_1976
from colorimetry.light.virtual_specimens import (
    VISIBLE,
    UltravioletPairs,
    VisiblePairs,
    fluorescent_stimuli,
    light_of,
    stimuli_xyz,
)
from colorimetry.numbers import quantise
from colorimetry.spectral_power import SpectralPower
from colorimetry.tristimulus import lab

Formula = Literal["CIELAB", "CIELUV"]
LETTERS = "ABCDE"
SEEN = "ISO 23603 as cited in a public encyclopaedia"
ON_BOUNDARY = "the better letter; from memory: check your copy of the standard"
FARTHEST = 0.015  # in u'10, v'10: CIE S 012 (ISO 23603), abstract
DECIMALS = 4  # of index and distance, before they meet a boundary
_ULTRAVIOLET_START = 300  # nm


@dataclass(frozen=True)
class Boundaries:
    """Upper ends of A to D, where the numbers were seen, and what a value on an end gets."""

    upper: tuple[float, float, float, float]
    source: str
    on_boundary: str


BOUNDARIES: dict[Formula, Boundaries] = {
    "CIELAB": Boundaries((0.25, 0.5, 1.0, 2.0), SEEN, ON_BOUNDARY),
    "CIELUV": Boundaries((0.32, 0.65, 1.3, 2.6), SEEN, ON_BOUNDARY),
}


@dataclass(frozen=True)
class Category:
    """The outcome for one lamp and one daylight illuminant.

    distance: of the chromaticities in u'10, v'10; letters: "" where it is over 0.015 (then there
    is no category, whatever the indices say), one letter where ultraviolet was not assessed, two
    otherwise; visible, ultraviolet: mean differences, None where not assessed or not defined;
    of_pairs: the single differences, visible pairs first.
    """

    illuminant: str
    formula: Formula
    distance: float
    letters: str
    visible: float | None
    ultraviolet: float | None
    of_pairs: tuple[float, ...]

    def __str__(self) -> str:
        """Return the letters as they are reported."""
        if not self.letters:
            return f"no category: {self.distance:.4f} from {self.illuminant} in u'10 v'10"
        return self.letters if len(self.letters) == 2 else f"{self.letters} (UV not assessed)"


def grade(index: float, formula: Formula = "CIELAB") -> str:
    """Return the letter A to E of a metamerism index (a mean colour difference, not negative).

    Raises DomainError for other numbers and formulas. Source: ISO/CIE 23603, boundaries as above.
    """
    if not isinstance(formula, str) or formula not in BOUNDARIES:
        raise DomainError("formula", "type", detail="'CIELAB' or 'CIELUV' expected")
    number(index, "metamerism index", 0.0)
    return LETTERS[sum(index > boundary for boundary in BOUNDARIES[formula].upper)]


def simulator_category(
    lamp: SpectralPower,
    visible: VisiblePairs,
    ultraviolet: UltravioletPairs | None = None,
    *,
    formula: Formula = "CIELAB",
) -> Category:
    """Return the category of a lamp as a simulator of the illuminant the pairs were made for.

    lamp: readings at 5 nm, taken as they are, or at 1 nm, averaged to 5 nm (``at_five``), that
    cover 380 to 780 nm, with ``ultraviolet`` 300 to 780 nm. Colours against the lamp's own white,
    10 degree observer, sums at 5 nm. Index and distance are rounded to four decimals and so
    compared. ``ultraviolet=None`` leaves the second letter out.
    Raises GridError for other grids, DomainError where the two sets are for unlike illuminants.
    Source: ISO/CIE 23603 (CIE S 012): method and limit as in its abstract; boundaries as above.
    """
    if not isinstance(formula, str) or formula not in BOUNDARIES:
        raise DomainError("formula", "type", detail="'CIELAB' or 'CIELUV' expected")
    if ultraviolet is not None and ultraviolet.illuminant != visible.illuminant:
        detail = f"{ultraviolet.illuminant} beside {visible.illuminant}"
        raise DomainError("ultraviolet pairs", "type", detail=detail)
    power = at_five(lamp, VISIBLE.start)
    distance = _distance(power, light_of(visible.illuminant))
    if distance > FARTHEST:
        return Category(visible.illuminant, formula, distance, "", None, None, ())
    first = _differences(visible.standards * power, visible.comparisons * power, power, formula)
    second: tuple[float, ...] = ()
    if ultraviolet is not None:
        stimuli = fluorescent_stimuli(ultraviolet, at_five(lamp, _ULTRAVIOLET_START))
        second = _differences(ultraviolet.standards * power, stimuli, power, formula)
    indices = [_printed(float(np.mean(part))) for part in (first, second) if part]
    letters = "".join(grade(index, formula) for index in indices)
    return Category(
        visible.illuminant,
        formula,
        distance,
        letters,
        indices[0],
        indices[1] if second else None,
        first + second,
    )


def at_five(lamp: SpectralPower, start: int) -> Floats:
    """Return a lamp's power from ``start`` to 780 nm at 5 nm.

    5 nm readings are taken as they are. 1 nm readings are averaged with a triangle that falls to
    zero 5 nm away, so that lines between the points count (common practice, no published source;
    at an end of the range with what there is of it). Others are refused by GridError ("step").
    """
    grid, wanted = lamp.grid, np.arange(start, VISIBLE.stop + 1, VISIBLE.step)
    if grid.step not in (1, 5) or (grid.step == 5 and grid.start % 5):
        detail = f"readings every 1 nm, or every 5 nm through {start} nm, expected"
        raise GridError("step", detail)
    if grid.start > start or grid.stop < VISIBLE.stop:
        detail = f"{grid.start} to {grid.stop} nm does not cover {start} to {VISIBLE.stop} nm"
        raise GridError("range", detail)
    nm = np.asarray(grid.wavelengths())
    if grid.step == 5:
        return lamp.values[np.isin(nm, wanted)]
    triangle = np.maximum(0.0, 1.0 - np.abs(wanted[:, None] - nm) / 5.0)
    mean: Floats = np.einsum("kw,w->k", triangle, lamp.values) / triangle.sum(axis=1)
    return mean


def _printed(value: float) -> float:
    """Return a value at the decimals at which it is reported and compared."""
    return float(quantise(value, DECIMALS))


def _distance(power: Floats, illuminant: Floats) -> float:
    """Return the distance of two lights (81,) in u'10, v'10."""
    places = [uv_1976(stimuli_xyz(light[None], light)[0]) for light in (illuminant, power)]
    return _printed(float(chromaticity_distance(*places)[0]))


def _differences(
    standards: Floats, specimens: Floats, power: Floats, formula: Formula
) -> tuple[float, ...]:
    """Return the colour difference of each pair of stimuli (n, 81) under power (81,)."""
    (first, white), (second, _) = stimuli_xyz(standards, power), stimuli_xyz(specimens, power)
    space = lab if formula == "CIELAB" else _luv
    off = np.linalg.norm(space(first, white) - space(second, white), axis=1)
    return tuple(float(value) for value in off)


def _luv(tristimulus: Floats, white: Floats) -> Floats:
    """Return CIELUV (n, 3); ISO/CIE 11664-5."""
    lightness = lab(tristimulus, white)[:, :1]
    return np.column_stack((lightness, 13.0 * lightness * (uv_1976(tristimulus) - uv_1976(white))))
