"""What the tests compare with: published numbers, and two general-purpose libraries."""

from __future__ import annotations

import csv
import warnings
from pathlib import Path

import numpy as np

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # the library warns about plotting packages that it lacks
    import colour
    from colour.colorimetry.tristimulus_values import (
        SPECTRAL_SHAPE_ASTME308,
        adjust_tristimulus_weighting_factors_ASTME308,
        tristimulus_weighting_factors_ASTME2022,
    )


DATA = Path(__file__).parent.parent / "data"
OBSERVERS = {
    2: "CIE 1931 2 Degree Standard Observer",
    10: "CIE 1964 10 Degree Standard Observer",
}


def pairs():
    """The 34 published pairs as (34, 7): two Lab triples and the printed difference."""
    lines = (DATA / "ciede2000_pairs.csv").read_text().splitlines()
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    return np.array([[float(cell) for cell in row] for row in rows[1:]])


def reference_weights(illuminant, observer, grid):
    """The library's own builder for illuminants whose 1 nm form needs no choice (D65, A)."""
    shape = SPECTRAL_SHAPE_ASTME308
    functions = colour.MSDS_CMFS[OBSERVERS[observer]].copy().align(shape)
    if illuminant == "A":
        source = colour.sd_CIE_standard_illuminant_A(shape)
    else:
        source = colour.SDS_ILLUMINANTS[illuminant].copy().align(shape)
    step = grid.step
    table = tristimulus_weighting_factors_ASTME2022(
        functions, source, colour.SpectralShape(360, 780, step)
    )
    return adjust_tristimulus_weighting_factors_ASTME308(
        table,
        colour.SpectralShape(360, 780, step),
        colour.SpectralShape(grid.start, grid.stop, step),
    ).T


def open_reflectances():
    """24 open reflectances (380-780/5 nm, 24 x 81) from a file inside an installed package."""
    folder = Path(colour.__file__).parent / "io" / "tests" / "resources"
    (path,) = folder.glob("*_n_ohta.csv")
    return np.loadtxt(path, delimiter=",", skiprows=1)[:, 1:].T
