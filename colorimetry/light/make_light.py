"""Write ``light.json``: daylight and the test-colour samples of the colour rendering index.

Run from the top folder, with the development packages installed:

    python -m colorimetry.light.make_light

Sources, as they stand in the library: the daylight illuminants D50, D55, D65 and D75 and the
components S0, S1, S2 from which a daylight illuminant of any temperature is made (CIE 15:2018;
ISO/CIE 11664-2), 300 to 780 nm; the fourteen test-colour samples of CIE 13.3-1995, 360 to
780 nm; all at 5 nm. Only this script needs the library.
"""

from __future__ import annotations

import json
import pathlib
import warnings

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # the library warns about plotting packages that it lacks
    import colour
    from colour.colorimetry import SDS_BASIS_FUNCTIONS_CIE_ILLUMINANT_D_SERIES
    from colour.quality.datasets import SDS_TCS

DAYLIGHT = ("D50", "D55", "D65", "D75")
TARGET = pathlib.Path(__file__).with_name("light.json")


def cut(distribution: colour.SpectralDistribution, start: int) -> list[float]:
    """Return the distribution's own values from ``start`` to 780 nm at 5 nm."""
    return [float(distribution[nm]) for nm in range(start, 781, 5)]


def document() -> dict[str, object]:
    """Return the whole data file as plain values."""
    components = SDS_BASIS_FUNCTIONS_CIE_ILLUMINANT_D_SERIES
    samples = SDS_TCS["CIE 1995"]
    return {
        "about": "daylight: CIE 15:2018, 300-780 nm; samples: CIE 13.3-1995, 360-780 nm; all 5 nm",
        "made_by": f"colorimetry/light/make_light.py with colour-science {colour.__version__}",
        "daylight": {name: cut(colour.SDS_ILLUMINANTS[name], 300) for name in DAYLIGHT},
        "components": [cut(components[name], 300) for name in ("S0", "S1", "S2")],
        "samples": [cut(samples[f"TCS{number:02d}"], 360) for number in range(1, 15)],
    }


def written(value: dict[str, object]) -> str:
    """Return the document as JSON text with one spectrum per line, for readable changes."""
    text = json.dumps(value, separators=(",", ":"))
    return text.replace("],[", "],\n[").replace(',"', ',\n"').replace(":[[", ":[\n[") + "\n"


if __name__ == "__main__":
    TARGET.write_text(written(document()), encoding="ascii")
