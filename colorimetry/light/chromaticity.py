"""Tristimulus values and chromaticity of light, and distances between chromaticities."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table
from colorimetry.errors import DomainError
from colorimetry.spectral_power import Interpolation, SpectralPower, colour_matching


def lamp_xyz(lamp: SpectralPower, observer: int, *, interpolation: Interpolation) -> Floats:
    """Return XYZ (3,) of a lamp, Y = 100; observer 2 or 10 (degrees).

    Sums of 1 nm products over 360 to 780 nm; ``SpectralPower.per_nanometre`` says what the
    readings must cover and how they are interpolated.
    Raises GridError for other observers and ranges, DomainError for a lamp without light.
    Source: CIE 15:2018; ISO/CIE 11664-3.
    """
    power = lamp.scaled().per_nanometre(interpolation)
    found: Floats = np.einsum("w,cw->c", power, colour_matching(observer))
    if found[1] <= 0:
        raise DomainError("spectral power", "range", detail="no light: Y is not positive")
    found *= 100.0 / found[1]
    return found


def _positive_sum(tristimulus: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Return the table (n, 3) and X + 15 Y + 3 Z (n,); DomainError where that is not positive."""
    table = finite_table(tristimulus, "XYZ", columns=3)
    # a chromaticity has no scale: a power of two is taken out of each row, which costs no bit
    power = np.frexp(np.abs(table).max(axis=1, initial=0.0))[1]
    table = np.ldexp(table, -power[:, None])
    total = table[:, 0] + 15.0 * table[:, 1] + 3.0 * table[:, 2]
    if (total <= 0).any():
        row = int(np.argmax(total <= 0))
        raise DomainError("XYZ", "range", row=row, detail="black has no chromaticity")
    return table, total


def uv_1976(tristimulus: npt.ArrayLike) -> Floats:
    """Return u', v' (n, 2) of XYZ (n, 3); DomainError for NaN, infinity, and black.

    Source: CIE 15:2018; ISO/CIE 11664-5 (u'10, v'10 where XYZ are of the 10 degree observer).
    """
    table, total = _positive_sum(tristimulus)
    return np.column_stack((4.0 * table[:, 0] / total, 9.0 * table[:, 1] / total))


def uv_1960(tristimulus: npt.ArrayLike) -> Floats:
    """Return u, v (n, 2) of the CIE 1960 diagram; v = 2/3 v'. Errors as ``uv_1976``.

    Source: CIE 15:2018 (the diagram in which colour temperature is defined).
    """
    table, total = _positive_sum(tristimulus)
    return np.column_stack((4.0 * table[:, 0] / total, 6.0 * table[:, 1] / total))


def chromaticity_distance(reference: npt.ArrayLike, found: npt.ArrayLike) -> Floats:
    """Return the distances (n,) between chromaticities (n, 2) or (1, 2) and (n, 2), same diagram.

    DomainError for NaN, infinity and shapes that do not fit. Source: CIE 15:2018 (the diagrams).
    """
    first = finite_table(reference, "reference chromaticity", columns=2)
    second = finite_table(found, "chromaticity", columns=2)
    if len(first) not in (1, len(second)):
        detail = f"{len(first)} references for {len(second)} chromaticities"
        raise DomainError("reference chromaticity", "shape", detail=detail)
    distance: Floats = np.hypot(*(second - first).T)
    return distance
