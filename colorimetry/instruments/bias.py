"""Bias between two instruments: Hotelling's T² of paired differences, and its region."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.special import fdtrc, fdtri

from colorimetry.arrays import Floats, finite_result, finite_table, number
from colorimetry.errors import DomainError

# smallest eigenvalue of the correlation matrix: below, some combination never varied
_SINGULAR = 1e-10


class BiasRegion(NamedTuple):
    """The ellipsoid of biases that agree with the paired differences, and the test of no bias.

    centre (p,): the mean difference. axes (p, p): unit vectors as columns, half_lengths (p,),
    longest first. t_squared, f, probability: Hotelling's T² for zero bias, F = (n-p)/(p(n-1)) T²
    and its probability under F(p, n-p). critical: T² on the region's surface. precision (p, p):
    n S^-1. pairs: n.
    """

    centre: Floats
    axes: Floats
    half_lengths: Floats
    t_squared: float
    f: float
    probability: float
    critical: float
    precision: Floats
    pairs: int

    @property
    def holds_zero(self) -> bool:
        """Whether no bias at all agrees with the differences."""
        return self.t_squared <= self.critical

    def holds(self, bias: npt.ArrayLike) -> bool:
        """Whether this bias (p,) lies within the region; DomainError if it does not fit."""
        point = finite_table(bias, "bias", len(self.centre))
        if len(point) != 1:
            raise DomainError("bias", "shape", detail="one bias expected")
        away = self.centre - point[0]
        return float(np.einsum("i,ij,j->", away, self.precision, away)) <= self.critical


def bias_region(
    *, reference: npt.ArrayLike, specimen: npt.ArrayLike, confidence: float = 0.95
) -> BiasRegion:
    """Return the confidence region of the bias, second instrument minus first.

    reference, specimen: readings (n, p) of the same n specimens with the first and the second
    instrument, in signed coordinates (L*, a*, b*; or reflectances of a few bands), one row each,
    n > p. Never colour differences: they have no sign. confidence: between 0 and 1.
    Assumes one bias for all specimens and normal, independent deviations from it.
    Raises DomainError naming row and band for NaN and infinity, "few" for n <= p, "singular" where
    some combination of coordinates differs by the same amount in all pairs, "range" for the
    confidence. Source: Hotelling, Ann. Math. Stat. 2:360-378 (1931); Johnson & Wichern, Applied
    Multivariate Statistical Analysis, 6.2.
    """
    if not 0.0 < number(confidence, "confidence") < 1.0:
        raise DomainError("confidence", "range", detail="between 0 and 1 expected")
    first = finite_table(reference, "reference")
    second = finite_table(specimen, "specimen", first.shape[1])
    if len(first) != len(second):
        raise DomainError("specimen", "shape", detail=f"{len(second)} rows for {len(first)}")
    with np.errstate(over="ignore"):
        differences = finite_result(second - first, "differences")
    n, p = differences.shape
    if n <= p:
        detail = f"{n} pairs for {p} coordinates; at least {p + 1} expected"
        raise DomainError("pairs", "few", detail=detail)
    centre = np.einsum("nk->k", differences) / n
    off = differences - centre
    covariance = finite_result(np.einsum("nj,nk->jk", off, off) / (n - 1), "differences")
    _refuse_singular(covariance, np.abs(np.vstack((first, second))).max(axis=0))
    return _region(centre, covariance, n, confidence)


def _refuse_singular(covariance: Floats, size: Floats) -> None:
    """Raise DomainError "singular" where a coordinate, or a combination, does not vary."""
    deviation = np.sqrt(np.diag(covariance))
    still = deviation <= 1e-12 * np.maximum(size, 1e-300)
    if still.any():
        band = int(np.argmax(still))
        detail = "this coordinate differs by the same amount in all pairs"
        raise DomainError("differences", "singular", band=band, detail=detail)
    if np.linalg.eigvalsh(covariance / deviation / deviation[:, None])[0] < _SINGULAR:
        detail = "a combination of coordinates differs by the same amount in all pairs"
        raise DomainError("differences", "singular", detail=detail)


def _region(centre: Floats, covariance: Floats, n: int, confidence: float) -> BiasRegion:
    """The region of a mean with its covariance matrix."""
    p = len(centre)
    values, vectors = np.linalg.eigh(covariance)
    along = np.einsum("i,ij->j", centre, vectors)
    t_squared = float(n * np.einsum("j,j->", along, along / values))
    ratio = (n - p) / (p * (n - 1))
    critical = float(fdtri(p, n - p, confidence)) / ratio
    return BiasRegion(
        centre=centre,
        axes=vectors[:, ::-1],
        half_lengths=np.sqrt(values[::-1] * critical / n),
        t_squared=t_squared,
        f=ratio * t_squared,
        probability=float(fdtrc(p, n - p, ratio * t_squared)),
        critical=critical,
        precision=n * np.einsum("ij,kj->ik", vectors / values, vectors),
        pairs=n,
    )
