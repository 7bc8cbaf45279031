"""Write ``weights.json`` and ``observers.json``: weighting factors, colour-matching functions.

Run from the top folder, with the development packages installed:

    python -m colorimetry.make_weights

The factors are built from the 1 nm products of illuminant and colour-matching functions over
360 to 780 nm by the method of ASTM E2022 (Lagrange coefficients: cubic inside, quadratic in the
end intervals), normalised so that the Y column sums to 100. Illuminants are taken to 1 nm before:
D65 and D50 linearly (so they are defined between 5 nm points), A from its formula, the others by
Sprague interpolation (ASTM E2022; CIE 167). The general default of the library used here is linear
for every illuminant and is off by up to 0.11 in Z: hence the explicit choice below.
F and LED illuminants are tabulated from 380 nm on: zero below.

The 1 nm colour-matching functions (360 to 780 nm) serve weights of measured lamps and the
computations on light.

Only this script needs the library; the package itself reads the file with NumPy alone.
"""

from __future__ import annotations

import json
import pathlib
import warnings

import numpy as np

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # the library warns about plotting packages that it lacks
    import colour
    from colour.colorimetry.tristimulus_values import (
        SPECTRAL_SHAPE_ASTME308,
        tristimulus_weighting_factors_ASTME2022,
    )

# published tables first, in the order in which the file grew: verdicts depend on their bytes
ILLUMINANTS = {
    "A": "A",
    "C": "C",
    "D50": "D50",
    "D65": "D65",
    "F2": "FL2",
    "F11": "FL11",
    "F7": "FL7",
    "FL3.15": "FL3.15",
    "LED-B3": "LED-B3",
}
OBSERVERS = {
    2: "CIE 1931 2 Degree Standard Observer",
    10: "CIE 1964 10 Degree Standard Observer",
}
STEPS = (5, 10, 20)
TARGET = pathlib.Path(__file__).with_name("weights.json")
OBSERVERS_TARGET = pathlib.Path(__file__).with_name("observers.json")


def illuminant_1nm(name: str) -> colour.SpectralDistribution:
    """Return the illuminant's relative power at 1 nm, 360 to 780 nm."""
    span = SPECTRAL_SHAPE_ASTME308
    if name == "A":
        formula: colour.SpectralDistribution = colour.sd_CIE_standard_illuminant_A(span)
        return formula
    tabulated: colour.SpectralDistribution = colour.SDS_ILLUMINANTS[ILLUMINANTS[name]].copy()
    if name.startswith("D"):
        return tabulated.align(span)
    start = max(span.start, tabulated.shape.start)
    tabulated = tabulated.interpolate(
        colour.SpectralShape(start, span.end, 1), interpolator=colour.SpragueInterpolator
    )
    outside_is_zero = {"method": "Constant", "left": 0, "right": 0}
    return tabulated.extrapolate(span, extrapolator_kwargs=outside_is_zero)


def table(illuminant: str, observer: int, step: int) -> list[list[float]]:
    """Return the rows [X, Y, Z] of one table, one per wavelength from 360 to 780 nm."""
    functions = colour.MSDS_CMFS[OBSERVERS[observer]].copy().align(SPECTRAL_SHAPE_ASTME308)
    shape = colour.SpectralShape(360, 780, step)
    factors = tristimulus_weighting_factors_ASTME2022(functions, illuminant_1nm(illuminant), shape)
    return [[float(value) for value in row] for row in factors]


def document() -> dict[str, object]:
    """Return the whole data file as plain values."""
    return {
        "about": "weighting factors, ASTM E308 / E2022, bandpass-corrected data, Y sums to 100",
        "made_by": f"colorimetry/make_weights.py with colour-science {colour.__version__}",
        "start": 360,
        "stop": 780,
        "tables": {
            f"{illuminant}/{observer}/{step}": table(illuminant, observer, step)
            for illuminant in ILLUMINANTS
            for observer in OBSERVERS
            for step in STEPS
        },
    }


def colour_matching() -> dict[str, object]:
    """Return the 1 nm colour-matching functions as plain values, rows [x, y, z]."""
    functions = {str(observer): colour.MSDS_CMFS[name] for observer, name in OBSERVERS.items()}
    return {
        "about": "CIE colour-matching functions, ISO/CIE 11664-1 (CIE 1931 2 deg, CIE 1964 10 deg)",
        "made_by": f"colorimetry/make_weights.py with colour-science {colour.__version__}",
        "start": 360,
        "stop": 780,
        "tables": {
            observer: table.values[np.isin(table.wavelengths, np.arange(360, 781))].tolist()
            for observer, table in functions.items()
        },
    }


def written(value: dict[str, object]) -> str:
    """Return the document as JSON text with one wavelength per line, for readable changes."""
    text = json.dumps(value, separators=(",", ":"))
    return text.replace("],[", "],\n[").replace(',"', ',\n"').replace(":[[", ":[\n[") + "\n"


if __name__ == "__main__":
    TARGET.write_text(written(document()), encoding="ascii")
    OBSERVERS_TARGET.write_text(written(colour_matching()), encoding="ascii")
