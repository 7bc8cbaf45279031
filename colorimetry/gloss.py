"""Specular gloss in gloss units (GU): which angle to read, what is plausible, differences.

A value means nothing without its angle: results are keyed by it, and readings of different angles
are never compared.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, number, within
from colorimetry.errors import DomainError
from colorimetry.saunderson import fresnel

ANGLES = (20, 60, 85)  # ISO 2813
STANDARD_INDEX = 1.567  # of the glass that has 100 GU, at 587.6 nm (ISO 2813, 3.3)
HIGH, LOW = 70.0, 10.0  # GU at 60 degrees above which 20, below which 85 degrees is read


def _units(value: npt.ArrayLike, what: str) -> Floats:
    """Return gloss values (n,), finite and from 0, of one number or a row of them."""
    table = finite_table(value, what)
    if table.shape[0] != 1:
        raise DomainError(what, "shape", detail=f"one row expected, got {table.shape}")
    row: Floats = within(table, what, 0.0, np.inf)[0]
    return row


def _angle(angle: int, what: str) -> int:
    """Return a standard angle; DomainError for another one."""
    if number(angle, what) not in ANGLES:
        raise DomainError(what, "range", detail=f"{angle} is none of 20, 60, 85 degrees")
    return angle


def gloss_of_index(refractive_index: float, angle: int) -> float:
    """Return the gloss in GU of a perfectly smooth, clear surface of a refractive index.

    angle: 20, 60 or 85 degrees. Above 100 for indices above that of the standard glass.
    Raises DomainError for other angles and indices below 1.
    Source: ISO 2813 (100 GU: glass of 1.567); Fresnel's formulas for unpolarised light.
    """
    degrees = _angle(angle, "angle")
    found = fresnel(refractive_index, degrees)[0] / fresnel(STANDARD_INDEX, degrees)[0]
    return 100.0 * float(found)


def angle_to_read(gloss_60: npt.ArrayLike) -> npt.NDArray[np.intp]:
    """Return the angle (n,) to be read, from gloss (n,) in GU at 60 degrees.

    20 above 70 GU, 85 below 10 GU, otherwise 60. Not for metallic surfaces over their whole range.
    Raises DomainError naming the place of NaN, infinity and negative values.
    Source: ISO 2813:2014; the same in ASTM D523.
    """
    value = _units(gloss_60, "gloss at 60°")
    return np.select([value > HIGH, value < LOW], [20, 85], default=60)


def suspect(*, gloss_20: npt.ArrayLike, gloss_60: npt.ArrayLike) -> npt.NDArray[np.bool_]:
    """Return (n,) where a pair of readings of one place, in GU, is not plausible.

    Below 100 GU at 60 degrees no smooth surface reads higher at 20 than at 60 degrees: its index is
    below that of the standard glass. Above, both may exceed 100 and 20 degrees read higher.
    Raises DomainError as ``angle_to_read``, and for unequal numbers of readings.
    Source: Fresnel's formulas; as a rule for readings, common practice, no published source.
    """
    first, second = _units(gloss_20, "gloss at 20°"), _units(gloss_60, "gloss at 60°")
    if first.shape != second.shape:
        detail = f"{len(first)} readings at 20°, {len(second)} at 60°"
        raise DomainError("gloss at 20°", "shape", detail=detail)
    return (first > second) & (second < 100.0)


def gloss_differences(
    *, reference: Mapping[int, npt.ArrayLike], specimen: Mapping[int, npt.ArrayLike]
) -> dict[int, Floats]:
    """Return the signed differences (n,) in GU, specimen minus reference, under every angle.

    reference, specimen: from the angle (20, 60, 85) to gloss in GU, specimens (n,), references
    (n,) or one number, the same n under each angle.
    Raises DomainError for other angles, naming the first angle that only one side has, and the
    angle and place of NaN, infinity, negative values and numbers of readings that do not fit.
    """
    for what, one, other in (
        ("specimen", reference, specimen),
        ("reference", specimen, reference),
    ):
        for angle in one:
            if _angle(angle, "angle") not in other:
                raise DomainError(what, "missing", detail=f"gloss at {angle}° not measured")
    found: dict[int, Floats] = {}
    count: int | None = None
    for angle, value in reference.items():
        first = _units(value, f"reference gloss at {angle}°")
        second = _units(specimen[angle], f"specimen gloss at {angle}°")
        count = len(second) if count is None else count
        if len(first) not in (1, len(second)) or len(second) != count:
            detail = f"{len(first)} references and {len(second)} specimens, {count} expected"
            raise DomainError(f"gloss at {angle}°", "shape", detail=detail)
        found[angle] = second - first
    return found
