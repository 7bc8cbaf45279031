"""In which direction a specimen differs, as ids from which words are made.

Every id follows from the *quantised* number that is printed beside it: a difference printed as
0.00 has no direction, and a sign that rounding removed is not brought back in words.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, number
from colorimetry.difference import checked_pair, components
from colorimetry.errors import DomainError
from colorimetry.numbers import quantise

# (negative, positive) direction of each signed CIELAB component, specimen minus reference
LIGHTNESS = ("darker", "lighter")
RED_GREEN = ("greener", "redder")
YELLOW_BLUE = ("bluer", "yellower")
CHROMA = ("less_chromatic", "more_chromatic")
# the half axes of the a*b* plane counter-clockwise, from +a*, and what a turn towards each is
HUE = ("redder", "yellower", "greener", "bluer")
NEAR_NEUTRAL, OPPOSITE = "near_neutral", "opposite"


@dataclass(frozen=True)
class NeutralZone:
    """The chroma C*ab below which hue and chroma have no direction, and where it comes from.

    No published value is known to this package, hence no default: ``source`` says what the value
    rests on (a clause of an agreement, or "common practice, no published source").
    """

    chroma: float
    source: str

    def __post_init__(self) -> None:
        """Refuse a chroma that is not a number from 0, and a value without source."""
        number(self.chroma, "neutral zone", 0.0)
        if not isinstance(self.source, str) or not self.source.strip():
            raise DomainError("neutral zone", "missing", detail="say where the value comes from")


class Direction(NamedTuple):
    """The directions of one specimen; None where a printed difference is zero or withheld.

    hue: the first two half axes met when turning from the reference's hue towards the specimen's.
    withheld: why chroma and hue (``near_neutral``) or hue alone (``opposite``) have no direction.
    """

    lightness: str | None
    red_green: str | None
    yellow_blue: str | None
    chroma: str | None
    hue: tuple[str, str] | None
    withheld: str | None


def _word(value: Decimal, words: tuple[str, str]) -> str | None:
    """Return the word of a quantised difference's sign; None for zero."""
    return None if value.is_zero() else words[value > 0]


def _axes_ahead(a: float, b: float, counter_clockwise: bool) -> tuple[str, str]:
    """Return the first two half axes met when turning from the hue of (a, b).

    Decided by signs alone: an angle's last bit cannot change the answer. A reference on a half
    axis has already left it.
    """
    on_axis = a == 0 or b == 0
    behind = _quadrant(a, b)
    first = behind + 1 if counter_clockwise else behind - on_axis
    step = 1 if counter_clockwise else -1
    return HUE[first % 4], HUE[(first + step) % 4]


def _quadrant(a: float, b: float) -> int:
    """Return 0 to 3: hue angles 0 to below 90, 90 to below 180 … degrees."""
    if a > 0 and b >= 0:
        return 0
    if a <= 0 and b > 0:
        return 1
    return 2 if a < 0 else 3


def _near_neutral(first: Floats, second: Floats, zone: NeutralZone, decimals: int) -> list[bool]:
    """Return for each pair whether the smaller chroma, as printed, lies below the zone's."""
    smaller = np.minimum(np.hypot(first[:, 1], first[:, 2]), np.hypot(second[:, 1], second[:, 2]))
    limit = Decimal(repr(float(zone.chroma)))
    return [quantise(chroma, decimals) < limit for chroma in smaller.tolist()]


def directions(
    *,
    reference: npt.ArrayLike,
    specimen: npt.ArrayLike,
    decimals: int,
    neutral: NeutralZone,
) -> list[Direction]:
    """Return the direction of each specimen (n, 3) against references (n, 3) or (1, 3), CIELAB.

    decimals: to which the differences are printed (0 to 12); signs are those of the printed values.
    neutral: where either chroma, as printed, lies below ``neutral.chroma``, directions of chroma
    and hue are withheld (``near_neutral``); a* and b* keep theirs. Of exactly opposite hues
    neither way round is shorter: the direction of hue is withheld (``opposite``).
    Raises DomainError as ``components`` and ``quantise`` do.
    Source: signs, ISO/CIE 11664-4; two words for a turn of hue, Westland & Ripamonti,
    Computational Colour Science Using MATLAB (2004; from memory).
    """
    first, second = checked_pair(reference, specimen)
    parts = components(first, second)
    near = _near_neutral(first, second, neutral, decimals)
    opposed = _opposed(first, second)
    found = []
    for row, signed in enumerate(zip(*(part.tolist() for part in parts), strict=True)):
        d_l, d_a, d_b, d_c, d_h = (quantise(value, decimals) for value in signed)
        hue = None
        if not (near[row] or opposed[row] or d_h.is_zero()):
            hue = _axes_ahead(float(first[row, 1]), float(first[row, 2]), d_h > 0)
        withheld = NEAR_NEUTRAL if near[row] else OPPOSITE if opposed[row] else None
        found.append(
            Direction(
                _word(d_l, LIGHTNESS),
                _word(d_a, RED_GREEN),
                _word(d_b, YELLOW_BLUE),
                None if near[row] else _word(d_c, CHROMA),
                hue,
                withheld,
            )
        )
    return found


def _opposed(first: Floats, second: Floats) -> list[bool]:
    """Return for each pair whether both have a hue and the hues are exactly opposite."""
    (_, a_1, b_1), (_, a_2, b_2) = first.T, second.T
    cross, dot = a_1 * b_2 - a_2 * b_1, a_1 * a_2 + b_1 * b_2
    result: list[bool] = ((cross == 0) & (dot < 0)).tolist()
    return result
