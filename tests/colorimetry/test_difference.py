"""CIEDE2000 and CIELAB components against published pairs, libraries and their own laws."""

import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, ciede2000, components, lab
from tests.colorimetry.references import colour, pairs

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from skimage.color import deltaE_ciede2000

PAIRS = pairs()
LAB = st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128))


@pytest.mark.parametrize("row", range(34))
def test_the_published_pair_is_reproduced(row):
    # Sharma, Wu & Dalal (2005), table 1, printed to four decimals
    pair = PAIRS[row]
    assert ciede2000(pair[:3], pair[3:6])[0] == pytest.approx(pair[6], abs=5e-5)


def test_all_34_pairs_in_one_call_and_with_the_arguments_exchanged():
    assert len(PAIRS) == 34
    forth = ciede2000(PAIRS[:, :3], PAIRS[:, 3:6])
    assert np.array_equal(forth, ciede2000(PAIRS[:, 3:6], PAIRS[:, :3]))
    assert np.abs(forth - PAIRS[:, 6]).max() < 5e-5


def sample(size, seed):
    """Random Lab colours and near, far and opposite partners."""
    rng = np.random.default_rng(seed)
    first = rng.uniform((0, -100, -100), (100, 100, 100), (size, 3))
    near = first + rng.normal(0, 0.5, first.shape)
    far = rng.uniform((0, -100, -100), (100, 100, 100), (size, 3))
    return np.vstack((first, first)), np.vstack((near, far))


def test_two_general_purpose_libraries_agree():
    first, second = sample(20_000, 3)
    ours = ciede2000(first, second)
    assert np.abs(ours - colour.delta_E(first, second, method="CIE 2000")).max() < 1e-11
    assert np.abs(ours - deltaE_ciede2000(first, second)).max() < 1e-11


@pytest.mark.parametrize("factors", [(2, 1, 1), (1, 2, 1), (1, 1, 2), (2.5, 1.3, 0.7)])
def test_the_parametric_factors_agree_with_a_library(factors):
    k_l, k_c, k_h = factors
    first, second = sample(2_000, 4)
    ours = ciede2000(first, second, k_l=k_l, k_c=k_c, k_h=k_h)
    theirs = deltaE_ciede2000(first, second, kL=k_l, kC=k_c, kH=k_h)
    assert np.abs(ours - theirs).max() < 1e-11


@given(LAB, LAB)
def test_it_is_symmetric_to_the_bit_and_never_negative(first, second):
    forth, back = ciede2000(first, second), ciede2000(second, first)
    assert forth[0] == back[0] >= 0


@given(LAB)
def test_a_colour_does_not_differ_from_itself(colour_):
    assert ciede2000(colour_, colour_)[0] == 0.0
    assert all(part[0] == 0.0 for part in components(colour_, colour_))


@given(st.floats(0, 100), st.floats(0, 100))
def test_neutral_colours_differ_by_lightness_alone(one, other):
    found = ciede2000((one, 0, 0), (other, -0.0, 0))[0]
    middle = (one + other) / 2
    weight = 1 + 0.015 * (middle - 50) ** 2 / (20 + (middle - 50) ** 2) ** 0.5
    assert found == pytest.approx(abs(one - other) / weight, abs=1e-12)


@given(st.integers(0, 2**32 - 1), st.integers(1, 40))
def test_order_and_batch_size_do_not_change_a_bit(seed, cut):
    first, second = sample(40, seed)
    whole = ciede2000(first, second)
    order = np.random.default_rng(seed).permutation(len(first))
    assert np.array_equal(ciede2000(first[order], second[order]), whole[order])
    parts = [ciede2000(first[i : i + cut], second[i : i + cut]) for i in range(0, len(first), cut)]
    assert np.array_equal(np.concatenate(parts), whole)


def test_one_reference_serves_all_specimens():
    _, specimens = sample(50, 5)
    reference = specimens[7]
    each = [ciede2000(reference, specimen)[0] for specimen in specimens]
    assert ciede2000(reference, specimens).tolist() == each


@pytest.mark.parametrize("angle", range(0, 360, 5))
def test_exactly_opposite_hues_do_not_hang_on_the_last_bit_of_an_angle(angle):
    # the published rule: at a hue difference of exactly 180 degrees the mean hue is the plain mean
    a, b = (
        np.round(2.5 * np.cos(np.radians(angle)), 12),
        np.round(2.5 * np.sin(np.radians(angle)), 12),
    )
    root = np.hypot(a, b) ** 7
    a_stretched = a * (1.5 - 0.5 * (root / (root + 25.0**7)) ** 0.5)
    chroma = np.hypot(a_stretched, b)
    hue = np.degrees(np.arctan2(b, a_stretched)) % 180 + 90
    t = (
        1
        - 0.17 * np.cos(np.radians(hue - 30))
        + 0.24 * np.cos(np.radians(2 * hue))
        + 0.32 * np.cos(np.radians(3 * hue + 6))
        - 0.20 * np.cos(np.radians(4 * hue - 63))
    )
    expected = 2 * chroma / (1 + 0.015 * chroma * t)
    assert ciede2000((50, a, b), (50, -a, -b))[0] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("turn", [1e-3, 1e-9])
def test_just_beside_opposite_the_shorter_way_round_decides(turn):
    # the mean hue is 90 degrees on one side and 270 on the other, however near to opposite
    short = [ciede2000((50, 2.5, 0), (50, -2.5, side * turn))[0] for side in (1, -1)]
    root = 2.5**7
    stretched = 2.5 * (1.5 - 0.5 * (root / (root + 25.0**7)) ** 0.5)
    for found, hue in zip(short, (90, 270), strict=True):
        t = (
            1
            - 0.17 * np.cos(np.radians(hue - 30))
            + 0.24 * np.cos(np.radians(2 * hue))
            + 0.32 * np.cos(np.radians(3 * hue + 6))
            - 0.20 * np.cos(np.radians(4 * hue - 63))
        )
        assert found == pytest.approx(2 * stretched / (1 + 0.015 * stretched * t), abs=2e-4)
    assert abs(short[0] - short[1]) > 0.01


@pytest.mark.parametrize("zeros", [(0.0, 0.0), (0.0, -0.0), (-0.0, 0.0), (-0.0, -0.0)])
@pytest.mark.parametrize("a", [-1.0, 1.0])
def test_of_exactly_opposite_hues_the_hue_difference_is_positive(a, zeros):
    # whatever the sign of zero: atan2(-0.0, -1) would turn it round
    assert components((50, a, zeros[0]), (50, -a, zeros[1])).d_h[0] == 2.0
    assert components((50, zeros[0], a), (50, zeros[1], -a)).d_h[0] == 2.0
    assert components((50, 3 * a, -4 * a), (50, -3 * a, 4 * a)).d_h[0] == 10.0


def test_component_signs_are_those_of_the_specimen_against_the_reference():
    # reference on the +a axis; specimen lighter, turned counter-clockwise and more chromatic
    found = components((50, 20, 0), (52, 20, 5))
    assert [float(part[0]) for part in found[:3]] == [2, 0, 5]
    assert found.d_c[0] > 0 and found.d_h[0] > 0
    back = components((52, 20, 5), (50, 20, 0))
    assert [-float(part[0]) for part in back] == [float(part[0]) for part in found]


def test_components_add_up_to_the_cielab_difference():
    first, second = sample(5_000, 6)
    found = components(first, second)
    total = ((second - first) ** 2).sum(axis=1)
    assert found.d_l**2 + found.d_c**2 + found.d_h**2 == pytest.approx(total, rel=1e-9)
    assert np.abs(found.d_c - (np.hypot(*second.T[1:]) - np.hypot(*first.T[1:]))).max() < 1e-12


@given(st.floats(-180, 180), st.floats(1e-9, 1e-3), st.floats(0.1, 100))
def test_small_hue_differences_keep_their_digits(hue, turn, chroma):
    def at(degrees):
        radians = np.radians(degrees)
        return 50, chroma * np.cos(radians), chroma * np.sin(radians)

    found = components(at(hue), at(hue + turn)).d_h[0]
    assert found == pytest.approx(chroma * np.radians(turn), rel=1e-4, abs=2e-13 * chroma)


def test_lab_agrees_with_a_library_on_both_branches():
    rng = np.random.default_rng(8)
    values = np.vstack((rng.uniform(0, 110, (2_000, 3)), rng.uniform(0, 1.5, (2_000, 3))))
    reference = np.array([94.811, 100.0, 107.304])
    theirs = colour.XYZ_to_Lab(values / 100, colour.XYZ_to_xy(reference))
    assert np.abs(lab(values, reference) - theirs).max() < 1e-9


@pytest.mark.parametrize(
    ("first", "second", "problem", "row", "band"),
    [
        ((50, 0, 0), [(50, 0, 0), (50, float("nan"), 0)], "nan", 1, 1),
        ([(50, 0, float("inf"))], (50, 0, 0), "inf", 0, 2),
        ((50, 0), (50, 0, 0), "shape", None, None),
        ([(50, 0, 0)] * 2, [(50, 0, 0)] * 3, "shape", None, None),
        ((50, 0, 1e9), (50, 0, 0), "range", 0, 2),
        ((50, 0, 0), (50, -10_000.1, 0), "range", 0, 1),
        (("grey", 0, 0), (50, 0, 0), "type", None, None),
    ],
)
def test_values_outside_the_domain_are_named_by_row_and_band(first, second, problem, row, band):
    for formula in (ciede2000, components):
        with pytest.raises(DomainError) as caught:
            formula(first, second)
        assert (caught.value.problem, caught.value.row, caught.value.band) == (problem, row, band)


def test_the_largest_values_of_the_domain_are_computed():
    for formula in (ciede2000, components):
        assert np.isfinite(formula((0, -10_000, 10_000), (10_000, 10_000, 0))).all()


@pytest.mark.parametrize("factor", [0, -1, float("nan"), float("inf")])
def test_parametric_factors_must_be_positive(factor):
    with pytest.raises(DomainError, match="k-factors"):
        ciede2000((50, 0, 0), (51, 0, 0), k_c=factor)
