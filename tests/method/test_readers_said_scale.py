"""Percent or factor: only words on the scale of the values declare it, and zeros prove nothing."""

import numpy as np
import pytest

from method.readers import read
from method.readers.questions import declared
from method.readers.values import scale_of
from tests.method.odd_files import framed, named

NM = range(400, 701, 10)
RNG = np.random.default_rng(11)
BLACK = RNG.uniform(0.6, 1.9, (4, 31)).round(3)


def by_row(values, above="", more=()):
    """A text by row, with lines above and further columns of one number each."""
    head = "\t".join(["SAMPLE_ID", *map(str, NM), *more])
    rows = [
        "\t".join([f"S{i}", *(f"{x:.3f}" for x in row), *("5" for _ in more)])
        for i, row in enumerate(values)
    ]
    return "\n".join([*filter(None, [above]), head, *rows, ""]).encode()


@pytest.mark.parametrize(
    ("above", "more"),
    [
        ("Relative humidity: 45 %", ()),
        ("Humidity (%)\t45", ()),
        ("white at 45 percent RH", ()),
        ("Dilution factor 2", ()),
        ("K-factor\t1.3", ()),
        ("", ("Opacity %",)),
        ("", ("Conc. %",)),
        ("Reflectance at 45 % RH", ()),
        ("Reflectance spectra, humidity 45 %", ()),
    ],
)
def test_other_percentages_and_factors_declare_no_scale(above, more):
    assert [one.id for one in read(by_row(BLACK, above, more), "a").questions] == ["scale"]


def test_a_framed_descriptor_of_something_else_declares_no_scale():
    names = named("nm{}", NM)
    rows = [[f"S{i}", *row] for i, row in enumerate(BLACK)]
    data = framed(names, rows, keywords=['DESCRIPTOR "white at 45% RH"']).encode()
    assert [one.id for one in read(data, "a").questions] == ["scale"]


@pytest.mark.parametrize(
    "words",
    [
        "Reflectance (%)", "reflectance [%]", "%R", "R%", "% R", "R (%)", "SPECTRAL_PCT",
        "Spectral data in percent", "Percent reflectance", "Scale: percent", "Units\t%",
        "Reflectance in per cent", "Reflectance, %", "% reflectance", "Values in percent",
    ],
)  # fmt: skip
def test_words_on_the_values_declare_percent(words):
    reading = read(by_row(BLACK, words), "a")
    assert reading.scale.scale == "percent"
    assert reading.scale.evidence[0] == "declared-percent"


@pytest.mark.parametrize(
    "words",
    [
        "Reflectance factor", "Spectral reflectance factors", "radiance factors", "Scale: factor",
        "SPECTRAL_DEC", "Values as factors", "Units: factor",
    ],
)  # fmt: skip
def test_words_on_the_values_declare_factors(words):
    assert declared(words) == "factor"


def test_both_words_declare_nothing():
    assert declared("Reflectance factor, percent reflectance") is None


@pytest.mark.parametrize(("low", "high"), [(0.6, 1.9), (0.05, 1.9), (0.02, 1.5)])
@pytest.mark.parametrize("zero", [True, False])
def test_black_in_percent_is_asked_about(low, high, zero):
    table = RNG.uniform(low, high, (5, 31))
    if zero:
        table[:, 0] = 0.0
    assert scale_of(table, None).scale is None


def test_ordinary_factors_with_a_little_above_one_are_factors():
    table = RNG.uniform(0.03, 0.95, (20, 31))
    table[0, 10:16] = 1.2
    assert scale_of(table, None).scale == "factor"
    table[:, 0] = 0.0
    assert scale_of(table, None).scale == "factor"
