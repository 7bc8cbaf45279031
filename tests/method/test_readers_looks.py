"""The first readings as the page shows them, against a general library."""

from __future__ import annotations

import colour
import numpy as np
import pytest

from method.readers import read
from method.readers.looks import looks

NM = list(range(400, 701, 10))
CURVES = [[10 + (nm - 400) / 5 for nm in NM], [80 - (nm - 400) / 5 for nm in NM], [50.0] * 31]


def table(curves, scale=1.0):
    rows = [",".join(["Name", *map(str, NM)])]
    rows += [
        ",".join([f"s{at}", *(f"{value * scale:.5f}" for value in one)])
        for at, one in enumerate([*curves, curves[0]])
    ]
    return "\n".join(rows).encode()


def test_colours_are_those_of_a_general_library():
    """colour-science 0.4.7: ASTM E308 tables of the same weights, D65, 10 degrees."""
    cmfs = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"]
    found = looks(read(table(CURVES), "a.csv"))
    assert [one.label for one in found] == ["s0", "s1", "s2"]
    assert (found[0].first, found[0].last) == (10.0, 70.0)
    for one, curve in zip(found, CURVES, strict=True):
        spectrum = colour.SpectralDistribution(dict(zip(NM, np.array(curve) / 100, strict=True)))
        tristimulus = colour.sd_to_XYZ(
            spectrum, cmfs, colour.SDS_ILLUMINANTS["D65"], method="ASTM E308"
        )
        white = colour.CCS_ILLUMINANTS["CIE 1964 10 Degree Standard Observer"]["D65"]
        expected = colour.XYZ_to_Lab(tristimulus / 100, white)
        assert one.colour == pytest.approx(expected, abs=0.1)


def test_while_the_scale_is_open_no_colour_is_shown():
    reading = read(table(CURVES, 0.01), "a.csv")
    assert [one.id for one in reading.questions] == ["scale"]
    assert {one.colour for one in looks(reading)} == {None}
    answered = looks(reading.again({"scale": "factor"}))
    percent = looks(read(table(CURVES), "a.csv"))
    assert answered[0].colour == pytest.approx(percent[0].colour) and answered[0].first == 0.1


def test_without_spectra_or_weights_nothing_is_made_up():
    assert looks(read(b"Name,L*,a*,b*\n1,50,1,2\n", "lab.csv")) == []
    short = b"Name," + b",".join(b"%d" % nm for nm in range(450, 651, 10))
    reading = read(short + b"\n1" + b",50" * 21 + b"\n", "short.csv")
    assert [one.colour for one in looks(reading)] == [None]
