"""Covariance of a reference and a specimen in CIELAB: put together, checked, factored."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, real_array
from colorimetry.errors import DomainError

LARGEST_UNCERTAINTY = 10.0  # CIELAB units; beyond that no reading is meant
_SYMMETRY = 1e-9  # relative to the largest variance
_NEGATIVE = 1e-9  # eigenvalues of a rounded semidefinite matrix, relative to the largest variance


def stack(value: npt.ArrayLike, what: str, size: int) -> Floats:
    """Return covariance matrices (n, size, size) checked; one matrix alone becomes n = 1.

    Raises DomainError naming matrix (row) and the place in it, row by row (band), for NaN and
    infinity, and the matrix for asymmetry and variances that are negative or above 10².
    """
    table = real_array(value, what)
    table = table[None] if table.ndim == 2 else table
    if table.ndim != 3 or table.shape[1:] != (size, size):
        detail = f"({size}, {size}) or (n, {size}, {size}) expected, got {np.shape(value)}"
        raise DomainError(what, "shape", detail=detail)
    flat = table.reshape(len(table), size * size)
    if not np.isfinite(flat).all():
        row, band = (int(i) for i in np.argwhere(~np.isfinite(flat))[0])
        problem = "nan" if np.isnan(flat[row, band]) else "inf"
        raise DomainError(what, problem, row=row, band=band)
    variances = np.einsum("nkk->nk", table)
    outside = (variances < 0.0) | (variances > LARGEST_UNCERTAINTY**2)
    if outside.any():
        row, band = (int(i) for i in np.argwhere(outside)[0])
        detail = f"variance {float(variances[row, band])!r} is not in 0 to {LARGEST_UNCERTAINTY**2}"
        raise DomainError(what, "range", row=row, band=band, detail=detail)
    apart = np.abs(table - table.transpose(0, 2, 1)).max(axis=(1, 2))
    skew = apart > _SYMMETRY * variances.max(axis=1)
    if skew.any():
        raise DomainError(what, "range", row=int(np.argmax(skew)), detail="not symmetric")
    return table


def joint_covariance(
    *,
    reference: npt.ArrayLike,
    specimen: npt.ArrayLike,
    common: npt.ArrayLike | None = None,
) -> Floats:
    """Return the covariance (n, 6, 6) of (reference, specimen) in CIELAB.

    reference, specimen: what is independent in each (repeatability, homogeneity), (3, 3) or
    (n, 3, 3), in L*, a*, b*. common: what both readings share in full (calibration bias of one
    instrument); it enters all four blocks and so mostly leaves the difference.
    Raises DomainError as ``stack`` does, and for stacks of different lengths.
    Source: JCGM 102:2011 (propagation with correlated inputs; from memory, check your copy).
    """
    parts = [stack(reference, "reference covariance", 3), stack(specimen, "specimen covariance", 3)]
    if common is not None:
        parts.append(stack(common, "common covariance", 3))
    count = max(len(part) for part in parts)
    if any(len(part) not in (1, count) for part in parts):
        detail = f"stacks of {', '.join(str(len(part)) for part in parts)} matrices"
        raise DomainError("covariance", "shape", detail=detail)
    joint = np.zeros((count, 6, 6))
    joint[:, :3, :3], joint[:, 3:, 3:] = parts[0], parts[1]
    for shared in parts[2:]:
        joint += np.tile(shared, (1, 2, 2))
    return joint


def difference_first(covariance: Floats) -> Floats:
    """Return the covariance (n, 6, 6) of (specimen - reference, reference)."""
    r, s, cross = covariance[:, :3, :3], covariance[:, 3:, 3:], covariance[:, 3:, :3]
    across = cross.transpose(0, 2, 1)
    result = np.empty_like(covariance)
    result[:, :3, :3] = r + s - cross - across
    result[:, :3, 3:] = cross - r
    result[:, 3:, :3] = across - r
    result[:, 3:, 3:] = r
    return result


def factor(covariance: Floats, what: str = "covariance") -> Floats:
    """Return lower triangles (n, k, k) with F F' = covariance; semidefinite matrices too.

    Cholesky's method element by element, so that a matrix has the same bits in any batch and on
    any machine; a direction without variance gets a column of zeros.
    Raises DomainError naming the matrix that is not positive semidefinite.
    """
    size = covariance.shape[-1]
    largest = np.einsum("nkk->nk", covariance).max(axis=1)
    result = np.zeros_like(covariance)
    left = covariance.copy()
    for j in range(size):
        pivot = left[:, j, j]
        some = pivot > _NEGATIVE * largest
        root = np.sqrt(np.where(some, pivot, 1.0))
        column = np.where(some[:, None], left[:, :, j] / root[:, None], 0.0)
        column[:, :j] = 0.0
        result[:, :, j] = column
        left = left - column[:, :, None] * column[:, None, :]
    # a negative direction shows as a remainder; sqrt: a pivot just below the bound may have one
    over = np.abs(left).max(axis=(1, 2)) > 4.0 * np.sqrt(_NEGATIVE) * largest
    if over.any():
        detail = "not positive semidefinite"
        raise DomainError(what, "range", row=int(np.argmax(over)), detail=detail)
    return result
