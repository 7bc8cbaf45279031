"""CCT, Duv, daylight and chromaticity of light: against published values and the library."""

import json
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, Grid, GridError
from colorimetry.light import chromaticity, daylight, temperature
from colorimetry.spectral_power import SpectralPower
from tests.colorimetry.references import OBSERVERS as NAMES
from tests.colorimetry.references import SPECTRAL_SHAPE_ASTME308, colour

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from colorimetry.light import make_light
    from colorimetry.make_weights import illuminant_1nm

D65_XY = (0.3127, 0.3290)


def uv_of_xy(x, y):
    """CIE 1960 u, v of x, y."""
    return chromaticity.uv_1960([x / y, 1.0, (1.0 - x - y) / y])


def lamp(name):
    """An illuminant of the library as a lamp."""
    source = colour.SDS_ILLUMINANTS[name]
    return SpectralPower.of(source.wavelengths.tolist(), source.values)


@pytest.mark.parametrize(
    ("uv", "cct", "duv"),
    [
        # Y. Ohno, Leukos 10(1) (2014), method as in colour-science 0.4.7, and brute-force
        # minimisation over Planckian spectra
        ([0.1978, 0.3122], 6507.475, 0.003223),
        ([0.1978, 0.3122], 6507.502, 0.003224),
        (uv_of_xy(*D65_XY), 6504.31, 0.003207),
        (uv_of_xy(*D65_XY), 6504.35, 0.003207),
        # x, y of FL2 and FL11 as CIE 15 prints them
        (uv_of_xy(0.3721, 0.3751), 4223.39, 0.001768),
        (uv_of_xy(0.3721, 0.3751), 4223.43, 0.001768),
        (uv_of_xy(0.3805, 0.3769), 3999.52, 0.000054),
        (uv_of_xy(0.3805, 0.3769), 3999.55, 0.000054),
    ],
)
def test_colour_temperature_and_duv_agree_with_two_other_computations(uv, cct, duv):
    found = temperature.correlated_temperature(uv)
    assert found.cct == pytest.approx([cct], abs=1.0)
    assert found.duv == pytest.approx([duv], abs=1e-5)


@given(st.integers(0, 2**32 - 1))
def test_the_library_agrees_over_the_whole_field(seed):
    rng = np.random.default_rng(seed)
    kelvin, duv = rng.uniform(1500, 20_000, 3), rng.uniform(-0.03, 0.03, 3)
    uv = temperature.uv_of_temperature(kelvin, duv)
    found = temperature.correlated_temperature(uv)
    theirs = colour.temperature.uv_to_CCT_Ohno2013(uv)
    assert found.cct == pytest.approx(theirs[:, 0], rel=2e-4)
    assert found.duv == pytest.approx(theirs[:, 1], abs=1e-5)


@given(
    st.lists(
        st.tuples(st.floats(1000.001, 99_990), st.floats(-0.0499, 0.0499)), min_size=1, max_size=8
    )
)
def test_temperature_and_duv_come_back_from_their_chromaticity(points):
    kelvin, duv = np.array(points).T
    uv = temperature.uv_of_temperature(kelvin, duv)
    found = temperature.nearest_temperature(uv)
    assert found.cct == pytest.approx(kelvin, rel=1e-6)
    assert found.duv == pytest.approx(duv, abs=1e-9)
    assert np.array_equal(temperature.nearest_temperature(uv[:1]).cct, found.cct[:1])


@pytest.mark.parametrize(("kelvin", "duv"), [(4000, 0.003), (5000, 0.01), (3000, -0.02)])
def test_three_round_trips_that_the_library_makes_too(kelvin, duv):
    uv = temperature.uv_of_temperature(kelvin, duv)
    found = temperature.correlated_temperature(uv)
    assert found.cct == pytest.approx([kelvin], abs=0.004)
    assert found.duv == pytest.approx([duv], abs=1e-7)
    theirs = colour.temperature.CCT_to_uv_Ohno2013([kelvin, duv])
    assert uv[0] == pytest.approx(theirs, abs=2e-7)


def test_duv_is_positive_above_the_locus():
    (on,) = temperature.planckian_uv(5000.0)
    found = temperature.correlated_temperature(on + np.array([[0, 0.004], [0, 0], [0, -0.004]]))
    assert found.duv[0] > 0.0025 and found.duv[2] < -0.0025
    assert found.duv[1] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("duv", [0.05001, -0.0501, 0.08])
def test_far_from_the_locus_a_colour_temperature_has_no_meaning(duv):
    (near,) = temperature.uv_of_temperature(5000.0, 0.04999 * np.sign(duv))
    (on,) = temperature.planckian_uv(5000.0)
    far = on + (near - on) * abs(duv) / 0.04999
    with pytest.raises(DomainError) as caught:
        temperature.correlated_temperature([near, far])
    assert (caught.value.problem, caught.value.row) == ("range", 1)
    assert "not meaningful" in str(caught.value)
    with pytest.raises(DomainError, match="Duv"):
        temperature.uv_of_temperature([5000.0, 5000.0], [0.0, duv])
    with pytest.raises(DomainError, match="one for each"):
        temperature.uv_of_temperature([4000.0, 5000.0, 6000.0], [0.0, 0.01])
    one_for_all = temperature.uv_of_temperature([4000.0, 5000.0, 6000.0], 0.01)
    assert temperature.nearest_temperature(one_for_all).duv == pytest.approx([0.01] * 3)


def test_the_locus_passes_through_illuminant_a():
    # x, y of illuminant A as CIE 15 prints them; 2856 K with c2 = 1.4388e-2 m K, rounded
    (found,) = temperature.planckian_uv(2855.5)
    assert found == pytest.approx(uv_of_xy(0.44758, 0.40745)[0], abs=2e-5)


def test_a_lamp_that_shines_only_outside_360_to_780_nm_is_no_light():
    values = np.zeros(121)
    values[:8] = values[-3:] = 1.0
    with pytest.raises(DomainError, match="no light"):
        chromaticity.lamp_xyz(SpectralPower(Grid(300, 900, 5), values), 2, interpolation="linear")


def test_chromaticities_beyond_the_ends_of_the_locus_are_refused():
    for beyond in ([0.175, 0.26], [0.47, 0.35]):
        with pytest.raises(DomainError) as caught:
            temperature.nearest_temperature([[0.1978, 0.3122], beyond])
        assert (caught.value.problem, caught.value.row) == ("range", 1)


@pytest.mark.parametrize("wrong", [999.0, 100_001.0, np.nan, np.inf])
def test_temperatures_outside_the_domain_are_named_by_row(wrong):
    with pytest.raises(DomainError) as caught:
        temperature.planck([5000.0, wrong])
    assert caught.value.row == 1


@pytest.mark.parametrize("kelvin", [1000.0, 2856.0, 6504.0, 100_000.0])
def test_planckian_power_has_the_librarys_shape(kelvin):
    theirs = colour.sd_blackbody(kelvin, colour.SpectralShape(360, 780, 1)).values
    ours = temperature.planck(kelvin)[0]
    assert ours / ours[200] == pytest.approx(theirs / theirs[200], rel=1e-4)


@pytest.mark.parametrize("kelvin", [4000.0, 5003.0, 6504.0, 7000.0, 7001.0, 25_000.0])
def test_daylight_equals_the_librarys(kelvin):
    x, y = daylight.daylight_xy(kelvin)
    assert [x, y] == pytest.approx(colour.temperature.CCT_to_xy_CIE_D(kelvin), abs=1e-12)
    theirs = colour.sd_CIE_illuminant_D_series((x, y), M1_M2_rounding=False)
    ours = daylight.daylight(kelvin)
    assert ours.values == pytest.approx([theirs[nm] for nm in ours.grid.wavelengths()], abs=1e-9)


def test_daylight_of_6504_kelvin_is_close_to_the_table_of_d65():
    made, table = daylight.daylight(6503.6).values, daylight.named_daylight("D65").values
    assert np.abs(made - table).max() < 0.06


@pytest.mark.parametrize("kelvin", [3999.0, 25_001.0, float("nan")])
def test_daylight_is_defined_from_4000_to_25000_kelvin(kelvin):
    with pytest.raises(DomainError, match="daylight"):
        daylight.daylight(kelvin)


def test_only_the_named_daylight_illuminants_have_tables():
    with pytest.raises(GridError, match="D60"):
        daylight.named_daylight("D60")


@pytest.mark.parametrize("observer", [2, 10])
@pytest.mark.parametrize("name", ["A", "D50", "D65", "F2", "F11", "LED-B3"])
def test_light_has_the_librarys_chromaticity(name, observer):
    source = illuminant_1nm(name)
    ours = chromaticity.lamp_xyz(
        SpectralPower.of(source.wavelengths.tolist(), source.values),
        observer,
        interpolation="sprague",
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        functions = colour.MSDS_CMFS[NAMES[observer]].copy().align(SPECTRAL_SHAPE_ASTME308)
        theirs = colour.sd_to_XYZ(source, functions, method="Integration")
    assert ours == pytest.approx(theirs * 100.0 / theirs[1], abs=1e-9)
    # CIE 15 prints x, y of the illuminants to five decimals
    x, y = ours[:2] / ours.sum()
    assert [x, y] == pytest.approx(colour.CCS_ILLUMINANTS[NAMES[observer]][_key(name)], abs=1.5e-4)
    ((u, v),) = chromaticity.uv_1976(ours)
    assert [u, v] == pytest.approx(colour.Luv_to_uv(colour.XYZ_to_Luv(ours / 100)), abs=1e-9)
    assert chromaticity.uv_1960(ours)[0] == pytest.approx([u, v * 2 / 3], abs=1e-15)


def _key(name):
    """The library's key of an illuminant."""
    return "FL" + name[1:] if name[0] == "F" else name


def test_distances_are_symmetric_and_refuse_what_does_not_fit():
    first, second = [[0.2, 0.47], [0.21, 0.46]], [[0.203, 0.474], [0.21, 0.46]]
    there = chromaticity.chromaticity_distance(first, second)
    assert there == pytest.approx([0.005, 0.0], abs=1e-15)
    assert np.array_equal(chromaticity.chromaticity_distance(second, first), there)
    with pytest.raises(DomainError, match="shape"):
        chromaticity.chromaticity_distance(first, [*second, [0.2, 0.4]])
    for wrong in ([[0.0, 0.0, 0.0]], [[95.0, 100.0, np.nan]]):
        with pytest.raises(DomainError) as caught:
            chromaticity.uv_1976([[95.0, 100.0, 108.0], *wrong])
        assert caught.value.row == 1


def test_the_committed_data_file_is_what_the_script_makes():
    committed = json.loads(make_light.TARGET.read_text(encoding="ascii"))
    assert committed == make_light.document()
    assert [len(committed["samples"]), len(committed["samples"][0])] == [14, 85]
