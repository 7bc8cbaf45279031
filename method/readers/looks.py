"""How the first readings look: what somebody who measured them knows again before confirming."""

from __future__ import annotations

from typing import NamedTuple

from colorimetry import DomainError, Grid, GridError, lab, weights, white, xyz
from method.readers.reading import Reading
from method.readers.spectra import factors

SHOWN = 3
LIGHT, OBSERVER = "D65", 10  # what most instruments show; nothing is judged by it


class Look(NamedTuple):
    """One reading. first, last: values at the ends of its wavelengths, as written.

    colour: L*, a*, b* under LIGHT and OBSERVER by ASTM E308, None while the scale is open and
    where there are no weights for the wavelengths.
    """

    label: str
    first: float
    last: float
    colour: tuple[float, float, float] | None


def looks(reading: Reading) -> list[Look]:
    """Return the first readings of the table shown, where these may be reflectances."""
    if not reading.wavelengths or reading.quantity not in ("reflectance", "unknown"):
        return []
    values = reading.values[:SHOWN]
    colours: list[tuple[float, float, float] | None] = [None] * len(values)
    scale = reading.scale.scale or reading.answers.get("scale")
    try:
        if scale in ("percent", "factor"):
            grid = Grid.of(reading.wavelengths)
            found = xyz(factors(values, scale), weights(LIGHT, OBSERVER, grid))
            found = lab(found, white(LIGHT, OBSERVER, grid))
            colours = [(float(one), float(a), float(b)) for one, a, b in found]
    except (GridError, DomainError):
        pass  # what is wrong with wavelengths or values is said elsewhere
    return [
        Look(label, float(row[0]), float(row[-1]), colour)
        for label, row, colour in zip(reading.labels, values, colours, strict=False)
    ]
