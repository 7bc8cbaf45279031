"""Weighting factors of any measured lamp, made by the method of ASTM E2022.

The products of power and colour-matching functions at every nanometre from 360 to 780 nm are
redistributed to the specimen's wavelengths with Lagrange coefficients (cubic inside, quadratic in
the first and last interval) and scaled to a Y sum of 100. The published illuminants have shipped
tables, made in the same way: ``colorimetry.weights``.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from colorimetry.arrays import Floats
from colorimetry.errors import DomainError
from colorimetry.spectral_power import Interpolation, SpectralPower, colour_matching
from colorimetry.weights import START, STOP, Grid, check_grid, folded


def lamp_weights(
    lamp: SpectralPower, observer: int, grid: Grid, *, interpolation: Interpolation
) -> Floats:
    """Return the weighting factors (3, n) of a measured lamp for specimens measured on ``grid``.

    observer: 2 or 10 (degrees); grid: as for ``weights``; interpolation: how the lamp's readings
    are taken to 1 nm (``SpectralPower.per_nanometre``, which also says what range they must have).
    White is ``diffuser(lamp_weights(...))``. Sums by einsum: the bits do not depend on BLAS.
    Raises GridError where grid, range or observer do not serve.
    Source: ASTM E2022; ASTM E308 for ranges shorter than 360 to 780 nm.
    """
    check_grid(observer, grid)
    power = lamp.scaled().per_nanometre(interpolation)
    products = power * colour_matching(observer)
    table = np.einsum("kw,cw->kc", lagrange(grid.step), products)
    luminous = float(np.einsum("k->", table[:, 1].copy()))
    if luminous <= 0:
        raise DomainError("spectral power", "range", detail="no light: Y is not positive")
    return folded(table * (100.0 / luminous), grid)


@cache
def lagrange(step: int) -> Floats:
    """Return the matrix (k, 421) that takes 1 nm products to every ``step`` nm from 360 to 780.

    Column w holds the Lagrange coefficients by which a reflectance at w nm is interpolated from
    the k measured ones; read-only. Source: ASTM E2022.
    """
    last = (STOP - START) // step
    matrix = np.zeros((last + 1, STOP - START + 1))
    for column in range(matrix.shape[1]):
        interval = min(column // step, last - 1)
        nodes = range(max(interval - 1, 0), min(interval + 2, last) + 1)
        at = column / step
        for node in nodes:
            others = [other for other in nodes if other != node]
            ratios = [(at - other) / (node - other) for other in others]
            matrix[node, column] = np.prod(ratios)
    matrix.setflags(write=False)
    return matrix
