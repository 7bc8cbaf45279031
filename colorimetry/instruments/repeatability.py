"""Repeatability of an instrument: the mean colour difference from the mean (MCDM)."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats
from colorimetry.difference import checked_pair
from colorimetry.difference_formulas import difference
from colorimetry.errors import DomainError


class Repeatability(NamedTuple):
    """Mean colour (3,), each reading's difference from it (n,), and the mean of these."""

    mean: Floats
    differences: Floats
    mcdm: float


def repeatability(
    readings: npt.ArrayLike, *, formula: str, **parameters: float | str
) -> Repeatability:
    """Return the MCDM of repeated readings (n, 3) of one specimen, CIELAB, n at least 2.

    Colours are averaged first, never differences; the mean is the reference, which matters to
    asymmetric formulas. formula, parameters: as ``difference`` takes them; values of different
    formulas are not comparable.
    Raises DomainError ("few" below two readings) and as ``difference`` does.
    Source: ASTM E2214 (mean colour difference from the mean).
    """
    table, _ = checked_pair(readings, readings)
    if len(table) < 2:
        raise DomainError("readings", "few", detail="two at least expected")
    mean = np.einsum("nk->k", table) / len(table)
    differences = difference(formula, reference=mean, specimen=table, **parameters)
    return Repeatability(mean, differences, float(np.einsum("n->", differences) / len(table)))
