"""Colour rendering index of the CIE's F lamps: against three programs and the printed integers."""

import numpy as np
import pytest

from colorimetry import Grid, GridError
from colorimetry.light import rendering
from colorimetry.light.daylight import DAYLIGHT, named_daylight
from colorimetry.light.temperature import planck
from colorimetry.spectral_power import SpectralPower
from tests.colorimetry.references import colour
from tests.colorimetry.test_light_temperature import lamp

# F: CCT and Ra as printed in CIE 15 (from memory); CCT, Duv and Ra by colour-science 0.4.7 (Ohno;
# Duv of luxpy 1.12.5 the same to 1e-5); Ra in the documentation of the R package colorSpec (NA
# for F5 and F6); Ra by luxpy
TABLE = [
    (1, 6430, 76, 6428.3, 0.00712, 75.85, 75.82257, 75.88),
    (2, 4230, 64, 4224.5, 0.00179, 64.23, 64.15195, 64.12),
    (3, 3450, 57, 3446.1, 0.00067, 56.79, 56.68144, 56.62),
    (4, 2940, 51, 2937.9, -0.00082, 51.48, 51.36348, 51.50),
    (5, 6350, 72, 6345.3, 0.01075, 71.71, None, 71.62),
    (6, 4150, 59, 4148.5, 0.00604, 59.11, None, 59.00),
    (7, 6500, 90, 6495.0, 0.00322, 90.21, 90.18452, 90.25),
    (8, 5000, 95, 4997.3, 0.00321, 95.53, 95.50431, 95.50),
    (9, 4150, 90, 4149.0, -0.00001, 90.32, 90.29347, 90.25),
    (10, 5000, 81, 4998.4, 0.00328, 80.98, 81.03585, 80.88),
    (11, 4000, 83, 3998.6, 0.00005, 82.86, 82.83362, 82.62),
    (12, 3000, 83, 2999.6, 0.00004, 83.06, 83.06373, 83.00),
]
IDS = [f"F{row[0]}" for row in TABLE]


@pytest.mark.parametrize("row", TABLE, ids=IDS)
def test_temperature_duv_and_index_of_the_f_lamps(row, monkeypatch):
    number, printed_cct, printed_ra, cct, duv, *indices = row
    found = rendering.colour_rendering(lamp(f"FL{number}"), interpolation="sprague")
    assert found.cct == pytest.approx(cct, abs=1.0)
    assert found.cct == pytest.approx(printed_cct, abs=6.0)
    assert found.duv == pytest.approx(duv, abs=1e-5)
    if number in (5, 6):
        assert (found.meaning, found.general, found.special) == ("chromaticity", None, ())
        assert found.distance > 5.4e-3
        monkeypatch.setattr(rendering, "TOLERANCE", 1.0)
        found = rendering.colour_rendering(lamp(f"FL{number}"), interpolation="sprague")
    else:
        assert found.meaning == "meaningful" and found.distance < 5.4e-3
    for other in filter(None, indices):
        assert found.general == pytest.approx(other, abs=0.25)
    assert found.general == pytest.approx(printed_ra, abs=1.0)


def test_linear_interpolation_of_lamps_with_lines_shifts_temperature_and_index():
    for number in (1, 2, 7, 11, 12):
        sprague, linear = (
            rendering.colour_rendering(lamp(f"FL{number}"), interpolation=kind)
            for kind in ("sprague", "linear")
        )
        assert 0.2 < abs(linear.cct - sprague.cct) < 6.0
        assert 0.005 < abs(linear.general - sprague.general) < 0.15


@pytest.mark.parametrize("number", [1, 2, 4, 7, 11])
def test_the_fourteen_special_indices_are_close_to_the_librarys(number):
    # the library takes the lamp linearly, holds its first value below 380 nm and finds the
    # temperature by Robertson's method, which is off by about 1 K
    theirs = colour.colour_rendering_index(
        colour.SDS_ILLUMINANTS[f"FL{number}"], additional_data=True
    )
    ours = rendering.colour_rendering(lamp(f"FL{number}"), interpolation="linear")
    special = [theirs.Q_as[i].Q_a for i in range(1, 15)]
    assert ours.special == pytest.approx(special, abs=0.3)
    assert ours.general == pytest.approx(np.mean(ours.special[:8]), abs=1e-12)


@pytest.mark.parametrize("name", DAYLIGHT)
def test_daylight_renders_as_daylight(name):
    found = rendering.colour_rendering(named_daylight(name), interpolation="linear")
    assert found.general == pytest.approx(100.0, abs=0.02)


@pytest.mark.parametrize("kelvin", [1500.0, 2856.0, 4900.0])
def test_a_planckian_radiator_renders_as_itself(kelvin):
    radiator = SpectralPower(Grid(360, 780, 1), planck(kelvin)[0])
    found = rendering.colour_rendering(radiator, interpolation="sprague")
    assert found.general == pytest.approx(100.0, abs=1e-6)
    assert found.cct == pytest.approx(kelvin, rel=1e-6)


def band(centre, width):
    """A lamp of one band."""
    nm = np.arange(380, 781, 5)
    return SpectralPower.of(nm.tolist(), np.exp(-(((nm - centre) / width) ** 2)))


def test_a_green_lamp_has_neither_temperature_nor_index():
    found = rendering.colour_rendering(band(530, 30), interpolation="sprague")
    assert found.meaning == "colour temperature" and found.general is None
    assert abs(found.duv) >= 0.05


def test_a_magenta_lamp_has_neither():
    nm = np.arange(380, 781, 5)
    values = 0.3 * np.exp(-(((nm - 450) / 20) ** 2)) + np.exp(-(((nm - 620) / 20) ** 2))
    found = rendering.colour_rendering(
        SpectralPower.of(nm.tolist(), values), interpolation="linear"
    )
    assert found.meaning == "colour temperature" and found.general is None
    assert found.duv <= -0.05


def test_the_index_ends_where_lamp_and_reference_differ_by_5_4e_3():
    nm = np.arange(360, 781)
    green = np.exp(-(((nm - 530) / 40) ** 2))

    def greenish(share):
        values = planck(4000.0)[0] / planck(4000.0)[0].max() + share * green
        return rendering.colour_rendering(
            SpectralPower(Grid(360, 780, 1), values), interpolation="sprague"
        )

    low, high = 0.0, 0.5
    for _ in range(40):
        middle = (low + high) / 2
        meaningful = greenish(middle).meaning == "meaningful"
        low, high = (middle, high) if meaningful else (low, middle)
    assert greenish(low).distance == pytest.approx(0.0054, abs=1e-9)
    assert greenish(high).meaning == "chromaticity"
    # below 5000 K the reference is Planckian: its distance is the lamp's Duv
    assert greenish(low).duv == pytest.approx(greenish(low).distance, rel=1e-6)


def test_light_bluer_than_25000_kelvin_has_no_reference():
    radiator = SpectralPower(Grid(360, 780, 1), planck(40_000.0)[0])
    found = rendering.colour_rendering(radiator, interpolation="sprague")
    assert (found.meaning, found.general) == ("colour temperature", None)
    assert found.duv == pytest.approx(0.0, abs=1e-9)


def test_a_lamp_measured_over_too_short_a_range_is_refused():
    short = SpectralPower(Grid(400, 700, 5), np.ones(61))
    with pytest.raises(GridError, match="range"):
        rendering.colour_rendering(short, interpolation="sprague")


def test_a_violet_lamp_beyond_the_end_of_the_locus_has_neither():
    found = rendering.colour_rendering(band(430, 15), interpolation="sprague")
    assert (found.meaning, found.cct, found.duv, found.general) == (
        "colour temperature",
        None,
        None,
        None,
    )
