"""Reflectance to XYZ to CIELAB, on the path that verdicts take."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_result, finite_table
from colorimetry.errors import DomainError

_KNEE = (24 / 116) ** 3


def xyz(reflectance: npt.ArrayLike, weights: npt.ArrayLike) -> Floats:
    """Return XYZ (n, 3) of reflectance factors (n, bands; 1 = perfect diffuser).

    weights: (3, bands) from ``weights()`` for the same grid.
    np.einsum, not a BLAS product: BLAS kernels differ in their last bits and sum a row of a batch
    differently from the row alone; einsum gives each row the same bits in any batch.
    Values below 0 and above 1 (fluorescence) are computed as they are.
    Raises DomainError for NaN, infinity and arrays that do not fit (naming row and band), and for
    numbers so large that their sum leaves the range of floats (naming the row).
    Source: ASTM E308; CIE 15:2018.
    """
    factors = finite_table(weights, "weights")
    if factors.shape[0] != 3:
        raise DomainError("weights", "shape", detail=f"3 rows expected, got {factors.shape[0]}")
    table = finite_table(reflectance, "reflectance", columns=factors.shape[1])
    result: Floats = np.einsum("nk,ck->nc", table, factors)
    return finite_result(result, "reflectance")


def lab(tristimulus: npt.ArrayLike, white: npt.ArrayLike) -> Floats:
    """Return CIELAB (n, 3) of XYZ (n, 3) against ``white`` (3,), in the same scale (Y = 100).

    Raises DomainError for NaN, infinity, wrong shapes, a white that is not positive, and ratios
    beyond the range of floats (naming the row).
    Source: ISO/CIE 11664-4; CIE 15:2018.
    """
    table = finite_table(tristimulus, "XYZ", columns=3)
    reference = finite_table(white, "white", columns=3)
    if reference.shape[0] != 1 or (reference <= 0).any():
        raise DomainError("white", "range", detail="one row of three positive numbers expected")
    with np.errstate(over="ignore", invalid="ignore"):
        ratio = table / reference
        bent = np.where(
            ratio > _KNEE, np.cbrt(np.maximum(ratio, _KNEE)), ratio * (841 / 108) + 16 / 116
        )
        x, y, z = bent.T
        result = np.column_stack((116 * y - 16, 500 * (x - y), 200 * (y - z)))
    return finite_result(result, "XYZ")
