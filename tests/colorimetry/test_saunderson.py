"""Fresnel's formulas against their integrals, Saunderson's correction there and back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from colorimetry import DomainError
from colorimetry.saunderson import (
    diffuse_reflection,
    fresnel,
    internal,
    internal_reflection,
    measured,
    normal_reflection,
)


def plain_fresnel(n, theta):
    """Fresnel's formulas in angles, from the medium with index 1 into n; total reflection too."""
    sine = np.sin(theta) / n
    if sine >= 1:
        return 1.0
    if theta == 0:
        return ((n - 1) / (n + 1)) ** 2
    inner = np.arcsin(sine)
    across = np.sin(theta - inner) / np.sin(theta + inner)
    along = np.tan(theta - inner) / np.tan(theta + inner)
    return (across**2 + along**2) / 2


@given(st.floats(1.0001, 3), st.floats(0, 89.999))
def test_fresnel_reflectance_is_that_of_the_formulas_in_angles(n, angle):
    expected = plain_fresnel(n, np.radians(angle))
    assert fresnel(n, angle)[0] == pytest.approx(expected, rel=1e-6, abs=1e-12)


def test_fresnel_at_its_ends():
    assert fresnel(1.5, [0, 90]) == pytest.approx([0.04, 1.0], rel=1e-14)
    assert fresnel(1.0, [0, 45]).tolist() == [0.0, 0.0]
    assert fresnel(1.0, 89.0)[0] == pytest.approx(0.0, abs=1e-25)


def test_the_constants_of_a_film_of_index_1_5():
    assert normal_reflection(1.5) == pytest.approx(0.04, rel=1e-15)
    assert diffuse_reflection(1.5) == pytest.approx(0.091778, abs=5e-7)
    assert internal_reflection(1.5) == pytest.approx(0.596346, abs=5e-7)


@pytest.mark.parametrize("n", [1.05, 1.33, 1.5, 1.567, 2.0])
def test_diffuse_reflection_is_the_integral_from_outside_and_from_inside(n):
    for index, ours in ((n, diffuse_reflection(n)), (1 / n, internal_reflection(n))):
        critical = [np.arcsin(index)] if index < 1 else None
        value, _ = quad(
            lambda t, i=index: plain_fresnel(i, t) * np.sin(2 * t), 0, np.pi / 2,
            points=critical, limit=400, epsabs=1e-12,
        )  # fmt: skip
        assert ours == pytest.approx(value, abs=2e-9)


def test_a_film_of_index_1_has_no_surface():
    assert normal_reflection(1) == diffuse_reflection(1) == 0.0
    assert internal_reflection(1) == pytest.approx(0.0, abs=1e-14)


@pytest.mark.parametrize(
    ("reading", "expected"),
    [(0.05, 0.025641), (0.30, 0.481481), (0.50, 0.696970), (0.90, 0.955556)],
)
def test_saunderson_with_the_usual_constants(reading, expected):
    found = internal(reading, k1=0.04, k2=0.6, specular="included")
    assert found[0, 0] == pytest.approx(expected, abs=5e-7)
    again = measured(found, k1=0.04, k2=0.6, specular="included")
    assert again[0, 0] == pytest.approx(reading, rel=1e-14)


CONSTANTS = {"k1": st.floats(0, 0.2), "k2": st.floats(0, 0.9)}


@given(table=st.lists(st.floats(0, 1), min_size=3, max_size=3), **CONSTANTS)
def test_there_and_back_for_both_ways_of_measuring(table, k1, k2):
    readings = {}
    for specular in ("included", "excluded"):
        common = {"k1": k1, "k2": k2, "specular": specular}
        readings[specular] = measured(table, **common)
        again = internal(readings[specular], **common)
        assert again[0] == pytest.approx(table, abs=1e-12)
    # the surface's own light is the whole of the difference
    gap = readings["included"] - readings["excluded"]
    assert gap == pytest.approx(np.full((1, 3), k1), abs=1e-15)


def test_an_internal_reflectance_of_1_comes_back_in_spite_of_rounding():
    rng = np.random.default_rng(1)
    above = 0
    for k1, k2 in rng.uniform(0, (0.1, 0.9), (300, 2)):
        common = {"k1": k1, "k2": k2, "specular": "included"}
        reading = measured([[1.0]], **common)
        assert internal(reading, **common)[0, 0] == pytest.approx(1.0, rel=1e-14)
        assert internal(reading, **common)[0, 0] <= 1.0
        emerging = reading[0, 0] - k1
        above += emerging / ((1 - k1) * (1 - k2) + k2 * emerging) > 1.0
        with pytest.raises(DomainError, match="range at row 0, band 0"):
            internal(reading + 1e-11, **common)
    assert above > 0  # otherwise this test would test nothing


def test_the_saunderson_correction_is_that_of_the_published_formula():
    # Rm = k1 + (1-k1)(1-k2)R/(1-k2 R)
    found = measured([[0.2, 0.7]], k1=0.05, k2=0.5, specular="included")[0]
    assert found == pytest.approx([0.05 + 0.95 * 0.5 * r / (1 - 0.5 * r) for r in (0.2, 0.7)])


@pytest.mark.parametrize(
    ("change", "what", "problem"),
    [
        ({"k1": -0.01}, "k1", "range"),
        ({"k1": 1.0}, "k1", "range"),
        ({"k1": float("nan")}, "k1", "range"),
        ({"k2": 1.0}, "k2", "range"),
        ({"k2": -0.1}, "k2", "range"),
        ({"specular": "SPIN"}, "specular", "range"),
    ],
)
def test_constants_outside_the_domain_are_refused_by_name(change, what, problem):
    common = {"k1": 0.04, "k2": 0.6, "specular": "included"} | change
    for function in (measured, internal):
        with pytest.raises(DomainError) as caught:
            function([[0.5]], **common)
        assert (caught.value.what, caught.value.problem) == (what, problem)


def test_readings_outside_the_domain_are_named_by_row_and_band():
    common = {"k1": 0.04, "k2": 0.6}
    table = [[0.5, 0.5], [0.5, 0.03], [0.02, 0.5]]
    with pytest.raises(DomainError, match="below_surface") as caught:
        internal(table, specular="included", **common)
    assert (caught.value.row, caught.value.band) == (1, 1)
    assert np.isfinite(internal(table, specular="excluded", **common)).all()
    assert internal(0.04, specular="included", **common)[0, 0] == 0.0
    with pytest.raises(DomainError, match="below_surface"):
        internal([[-0.001]], specular="excluded", **common)
    with pytest.raises(DomainError, match="range at row 0, band 1"):
        internal([[0.5, 1.01]], specular="included", **common)
    for value in (-0.1, 1.1, float("nan"), float("inf")):
        with pytest.raises(DomainError) as caught:
            measured([[0.5], [value]], specular="included", **common)
        assert (caught.value.row, caught.value.band) == (1, 0)


def test_angles_and_indices_outside_the_domain_are_refused():
    for function in (normal_reflection, diffuse_reflection, internal_reflection):
        for n in (0.99, float("nan"), float("inf")):
            with pytest.raises(DomainError, match="refractive index"):
                function(n)
    for angle in (-1, 91, float("nan")):
        with pytest.raises(DomainError, match="angle"):
            fresnel(1.5, [0, angle])
    with pytest.raises(DomainError, match="angle: shape"):
        fresnel(1.5, [[0], [1]])
