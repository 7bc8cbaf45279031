"""Evenness of an illuminance map over the place where specimens lie."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import finite_table
from colorimetry.errors import DomainError


class Uniformity(NamedTuple):
    """Illuminance in lux and its evenness: ratios of the map's own points, 1 = even."""

    least: float
    mean: float
    most: float
    least_to_most: float
    least_to_mean: float
    points: int


def uniformity(illuminance: npt.ArrayLike) -> Uniformity:
    """Return the evenness of an illuminance map (rows, columns) in lux, all points alike.

    The mean is the plain mean of the points: the map's points must be evenly spaced, edges
    included. least_to_most is the ratio that print viewing asks for (ISO 3664, from memory: check
    your copy of the standard), least_to_mean the one that lighting of rooms is planned by (common
    practice). How dense a map must be is for the agreement to say.
    Raises DomainError for NaN, infinity, values that are not positive (with their place) and for
    fewer than two points, of which no evenness can be told.
    """
    table = finite_table(illuminance, "illuminance")
    if table.size < 2:
        raise DomainError("illuminance", "shape", detail="at least two points expected")
    dark = table <= 0
    if dark.any():
        row, band = (int(i) for i in np.argwhere(dark)[0])
        raise DomainError("illuminance", "range", row=row, band=band, detail="not positive")
    least, mean, most = float(table.min()), float(table.mean()), float(table.max())
    return Uniformity(least, mean, most, least / most, least / mean, int(table.size))
