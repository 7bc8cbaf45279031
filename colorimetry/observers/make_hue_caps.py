"""Write ``hue_caps.json``, the u*, v* coordinates of the 85 caps.

Run from the top folder with the path of the R source file of the CRAN package CVD (1.0.2, GPL-3)
that defines ``Color.Vision.VingrysAndKingSmith``:

    python -m colorimetry.observers.make_hue_caps path/to/CVD/R/file.R

The coordinates are those of Vingrys & King-Smith, Invest. Ophthalmol. Vis. Sci. 29:50-63 (1988),
as transcribed in that function (its matrix of 86 rows: cap 85, then caps 1 to 85). Only the numbers
are taken. Another copy in the same package is shifted by one row, hence the check: the perfect
order must give the published major radius 2.525249 before anything is written.
"""

from __future__ import annotations

import json
import pathlib
import re
import sys

import numpy as np

from colorimetry.arrays import Floats
from colorimetry.observers.moments import PERFECT_MAJOR, moments

CAPS = 85
TARGET = pathlib.Path(__file__).with_name("hue_caps.json")
# found by its shape: the function holds one matrix of 86 rows and two columns
_MATRIX = re.compile(r"matrix\(c\(([^()]*)\),\s*86,\s*2\s*,\s*byrow\s*=\s*T(?:RUE)?\)")


def transcribed(source: str) -> Floats:
    """Return caps 1 to 85 as (85, 2) from the R source; ValueError if it is not the right table."""
    body = source.partition("Color.Vision.VingrysAndKingSmith <-")[2]
    found = _MATRIX.search(body)
    if found is None:
        raise ValueError("the function and its matrix of 86 rows are not in this file")
    rows = np.array([float(value) for value in found[1].split(",")]).reshape(CAPS + 1, 2)
    if not np.array_equal(rows[0], rows[-1]):
        raise ValueError("first and last row are not both cap 85")
    steps = np.diff(rows, axis=0)[np.newaxis]
    major = float(moments(steps, perfect_major=PERFECT_MAJOR).major[0])
    if abs(major - PERFECT_MAJOR) > 2e-6:
        raise ValueError(f"the perfect order gives {major:.6f}, not {PERFECT_MAJOR}")
    return rows[1:]


def document(coordinates: Floats) -> str:
    """Return the data file as JSON text, one cap a line in the order of their numbers."""
    about = {
        "about": "u*, v* of caps 1 to 85 of the hue arrangement test",
        "source": "Vingrys & King-Smith, Invest. Ophthalmol. Vis. Sci. 29:50-63 (1988), as "
        "transcribed in the function Color.Vision.VingrysAndKingSmith of the CRAN package CVD",
        "made_by": "colorimetry/observers/make_hue_caps.py",
        "uv": [[float(value) for value in row] for row in coordinates],
    }
    text = json.dumps(about, separators=(",", ":"))
    return text.replace("],[", "],\n[").replace(',"', ',\n"').replace(":[[", ":[\n[") + "\n"


if __name__ == "__main__":
    table = transcribed(pathlib.Path(sys.argv[1]).read_text(encoding="utf-8", errors="replace"))
    TARGET.write_text(document(table), encoding="ascii")
