"""CMC, CIE94, dE*ab and DIN99o against three libraries, their own branches and their laws."""

import math
import warnings

import numpy as np
import pytest
from coloraide.everything import ColorAll as Color
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, ciede2000
from colorimetry.difference_formulas import (
    FORMULAS,
    cie94,
    cielab,
    cmc,
    difference,
    din99o,
    din99o_coordinates,
)
from tests.colorimetry.references import colour
from tests.colorimetry.test_difference import LAB, PAIRS, sample

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from skimage.color import deltaE_cie76, deltaE_ciede94, deltaE_cmc

# Standards and samples: rows 26, 30, 31, 28 and 1 of Sharma, Wu & Dalal (2005). The differences
# are those on which colour 0.4.7, scikit-image 0.26 and coloraide 8.13 agree to six decimals
# (DIN99o: coloraide): the printed annex of ISO 105-J03 was not at hand.
# standard, sample, CIE94 graphic arts, textiles, CMC 1:1, 2:1, 2:1 exchanged, DIN99o
TABLE = """
63.0109 -31.0961 -5.8663 62.8187 -29.7946 -4.0864
    1.248089 1.244090 1.254814 1.247404 1.279218 1.476531
36.4612 47.8580 18.3852 36.2715 50.5065 21.2231
    1.424913 1.399092 1.748935 1.739572 1.700933 1.567722
90.8027 -2.0831 1.4410 91.1528 -1.6435 0.0447
    1.419453 1.385811 1.900952 1.889083 1.999428 1.960191
35.0831 -44.1164 3.7933 35.0232 -40.0716 1.5901
    1.820451 1.795793 2.025834 2.024991 2.119694 2.079081
50 2.6772 -79.7751 50 0 -82.7485
    1.395039 1.423046 1.738736 1.738736 1.701406 1.767769
"""
CALLS = [
    ("CIELAB", {}),
    ("CIEDE2000", {"k_l": 2.0}),
    ("CMC", {"l_weight": 2, "c_weight": 1}),
    ("CMC", {"l_weight": 1.0, "c_weight": 1.5}),
    ("CIE94", {"application": "graphic_arts"}),
    ("CIE94", {"application": "textiles"}),
    ("DIN99o", {}),
    ("DIN99o", {"k_e": 2.0, "k_ch": 0.5}),
]


@pytest.mark.parametrize("row", np.array(TABLE.split(), dtype=float).reshape(5, 12))
def test_the_table_of_checks_is_reproduced_to_six_decimals(row):
    first, second, (*expected, din) = row[:3], row[3:6], row[6:]
    pair = {"reference": first, "specimen": second}
    swapped = {"reference": second, "specimen": first}
    weights = {"l_weight": 2, "c_weight": 1}
    found = [
        difference("CIE94", application="graphic_arts", **pair),
        difference("CIE94", application="textiles", **pair),
        difference("CMC", l_weight=1, c_weight=1, **pair),
        difference("CMC", **weights, **pair),
        difference("CMC", **weights, **swapped),
        difference("DIN99o", **pair),
    ]
    assert [value[0] for value in found[:5]] == pytest.approx(expected, abs=5.1e-7)
    # the library takes 100/ln(1.39) where DIN 6176 prints 303.67: 3e-6 of the lightness part
    assert found[5][0] == pytest.approx(din, abs=1e-6)


def test_din99o_coordinates_of_a_published_pair_are_reproduced():
    # coloraide 8.13.1, whose 303.671 lifts L99o by 3e-6 of itself
    found = din99o_coordinates((63.0109, -31.0961, -5.8663))[0]
    assert found == pytest.approx((66.72616, -27.04158, -6.33909), abs=(2.3e-4))
    assert found[0] * (100 / math.log(1.39)) / 303.67 == pytest.approx(66.72616, abs=5e-6)
    assert found[1:] == pytest.approx((-27.04158, -6.33909), abs=5e-6)


def test_din99o_agrees_with_a_library_over_random_pairs():
    first, second = sample(300, 11)
    stretch = np.array([100 / math.log(1.39) / 303.67, 1, 1])
    for one, other in zip(first, second, strict=True):
        colours = [Color("lab-d65", tuple(lab)) for lab in (one, other)]
        theirs = np.array([c.convert("din99o").coords() for c in colours])
        ours = din99o_coordinates((one, other))
        assert np.abs(ours * stretch - theirs).max() < 1e-9
        distance = np.linalg.norm((ours[1] - ours[0]) * stretch)
        assert distance == pytest.approx(colours[0].delta_e(colours[1], method="99o"), abs=1e-9)


def test_two_array_libraries_agree_over_random_pairs():
    first, second = sample(20_000, 12)
    pair = {"reference": first, "specimen": second}
    ours = difference("CIELAB", **pair)
    assert np.abs(ours - colour.delta_E(first, second, method="CIE 1976")).max() < 1e-11
    assert np.abs(ours - deltaE_cie76(first, second)).max() < 1e-11
    for l_weight, c_weight in ((1, 1), (2, 1), (1.4, 0.8)):
        ours = difference("CMC", l_weight=l_weight, c_weight=c_weight, **pair)
        one = colour.delta_E(first, second, method="CMC", l=l_weight, c=c_weight)
        other = deltaE_cmc(first, second, kL=l_weight, kC=c_weight)
        # theirs take dH² as a difference of squares: some digits are lost there
        assert np.abs(ours - one).max() < 1e-9
        assert np.abs(ours - other).max() < 1e-9
    for application, (k_l, k_1, k_2) in {
        "graphic_arts": (1, 0.045, 0.015),
        "textiles": (2, 0.048, 0.014),
    }.items():
        ours = difference("CIE94", application=application, **pair)
        textiles = application == "textiles"
        one = colour.delta_E(first, second, method="CIE 1994", textiles=textiles)
        other = deltaE_ciede94(first, second, kL=k_l, k1=k_1, k2=k_2)
        assert np.abs(ours - one).max() < 1e-9
        assert np.abs(ours - other).max() < 1e-9


def test_a_third_library_agrees_over_random_pairs():
    first, second = sample(200, 13)
    for one, other in zip(first, second, strict=True):
        a, b = (Color("lab-d65", tuple(lab)) for lab in (one, other))
        pair = {"reference": one, "specimen": other}
        near = {"abs": 1e-9}
        assert cielab(**pair)[0] == pytest.approx(a.delta_e(b, method="76"), **near)
        assert cmc(l_weight=2, c_weight=1, **pair)[0] == pytest.approx(
            a.delta_e(b, method="cmc", l=2, c=1), **near
        )
        assert cie94(application="textiles", **pair)[0] == pytest.approx(
            a.delta_e(b, method="94", kl=2, k1=0.048, k2=0.014), **near
        )


def test_the_entry_point_gives_ciede2000_to_the_bit_and_its_34_pairs():
    # Sharma, Wu & Dalal (2005), table 1
    pair = {"reference": PAIRS[:, :3], "specimen": PAIRS[:, 3:6]}
    found = difference("CIEDE2000", **pair)
    assert np.abs(found - PAIRS[:, 6]).max() < 5e-5
    assert np.array_equal(found, ciede2000(PAIRS[:, :3], PAIRS[:, 3:6]))
    weighted = difference("CIEDE2000", k_l=2, k_c=1.5, k_h=0.7, **pair)
    assert np.array_equal(weighted, ciede2000(PAIRS[:, :3], PAIRS[:, 3:6], k_l=2, k_c=1.5, k_h=0.7))


def cmc_s_l(lightness):
    """S_L as CMC's lightness difference shows it."""
    return 1 / cmc(
        reference=(lightness, 0, 0), specimen=(lightness + 1, 0, 0), l_weight=1, c_weight=1
    )


def test_cmc_changes_its_lightness_weight_at_16():
    # ISO 105-J03: 0.511 below 16, else 0.040975 L / (1 + 0.01765 L), which is 0.511234 at 16
    assert cmc_s_l(np.nextafter(16, 0))[0] == pytest.approx(0.511, abs=1e-12)
    assert cmc_s_l(16)[0] == pytest.approx(0.040975 * 16 / (1 + 0.01765 * 16), abs=1e-12)
    assert cmc_s_l(0)[0] == cmc_s_l(-3)[0] == pytest.approx(0.511, abs=1e-12)
    assert cmc_s_l(100)[0] == pytest.approx(4.0975 / 2.765, abs=1e-12)


def cmc_t(hue, chroma=40.0):
    """CMC's T, found back from the difference of a small turn of hue."""
    radians, turn = math.radians(hue), 1e-3
    first = (50, chroma * math.cos(radians), chroma * math.sin(radians))
    second = (50, chroma * math.cos(radians + turn), chroma * math.sin(radians + turn))
    s_h = (
        2
        * chroma
        * math.sin(turn / 2)
        / difference("CMC", reference=first, specimen=second, l_weight=1, c_weight=1)
    )
    s_c = 0.0638 * chroma / (1 + 0.0131 * chroma) + 0.638
    f = math.sqrt(chroma**4 / (chroma**4 + 1900))
    return (s_h[0] / s_c - 1 + f) / f


@pytest.mark.parametrize("hue", [163.999, 164.001, 250, 344.999, 345.001, 0, 20, 90, 359.9])
def test_cmc_changes_its_hue_weight_at_164_and_345_degrees(hue):
    inside = 164 <= hue <= 345
    turn, least, swing = (168, 0.56, 0.2) if inside else (35, 0.36, 0.4)
    expected = least + abs(swing * math.cos(math.radians(hue + turn)))
    assert cmc_t(hue) == pytest.approx(expected, abs=1e-8)
    # the branches differ there by more than the tolerance: the wrong one would be seen
    if abs(hue - 164) < 0.01 or abs(hue - 345) < 0.01:
        other = (35, 0.36, 0.4) if inside else (168, 0.56, 0.2)
        wrong = other[1] + abs(other[2] * math.cos(math.radians(hue + other[0])))
        assert abs(wrong - expected) > 1e-3


def test_a_neutral_reference_leaves_cmc_and_cie94_without_hue():
    # S_H = S_C = 0.638 at C* = 0 (ISO 105-J03); CIE 116: S_C = S_H = 1
    pair = {"reference": (50, 0, -0.0), "specimen": (50, -3, 4)}
    assert cmc(l_weight=1, c_weight=1, **pair)[0] == pytest.approx(5 / 0.638, rel=1e-14)
    assert cie94(application="graphic_arts", **pair)[0] == pytest.approx(5, rel=1e-14)


def test_parametric_factors_of_din99o_divide_as_the_standard_says():
    # DIN 6176: k_E divides lightness and chroma, k_CH chroma alone
    plain = din99o_coordinates((60, 20, -30))[0]
    found = din99o_coordinates((60, 20, -30), k_e=2, k_ch=0.5)[0]
    assert found == pytest.approx(plain / (2, 1, 1), rel=1e-14)
    light = {"reference": (50, 0, 0), "specimen": (60, 0, 0)}
    assert din99o(k_e=2, **light)[0] == pytest.approx(din99o(**light)[0] / 2, rel=1e-14)
    red = {"reference": (50, 0, 0), "specimen": (50, 9, 0)}
    assert din99o(k_ch=2, **red)[0] == pytest.approx(din99o(**red)[0] / 2, rel=1e-14)


@pytest.mark.parametrize(("name", "parameters"), CALLS)
@given(first=LAB, second=LAB)
def test_a_colour_does_not_differ_from_itself_and_no_difference_is_negative(
    name, parameters, first, second
):
    assert difference(name, reference=first, specimen=first, **parameters)[0] == 0.0
    assert difference(name, reference=first, specimen=second, **parameters)[0] >= 0.0


@pytest.mark.parametrize(("name", "parameters"), CALLS)
def test_symmetry_is_what_the_registry_says(name, parameters):
    first, second = sample(500, 14)
    forth = difference(name, reference=first, specimen=second, **parameters)
    back = difference(name, reference=second, specimen=first, **parameters)
    if FORMULAS[name].symmetric:
        assert np.array_equal(forth, back)
    else:
        assert (np.abs(forth - back) > 1e-6).mean() > 0.9


@pytest.mark.parametrize(("name", "parameters"), CALLS)
@given(seed=st.integers(0, 2**32 - 1), cut=st.integers(1, 40))
def test_order_and_batch_size_do_not_change_a_bit(name, parameters, seed, cut):
    first, second = sample(40, seed)

    def of(rows):
        return difference(name, reference=first[rows], specimen=second[rows], **parameters)

    whole = of(slice(None))
    order = np.random.default_rng(seed).permutation(len(first))
    assert np.array_equal(of(order), whole[order])
    parts = [of(slice(start, start + cut)) for start in range(0, len(first), cut)]
    assert np.array_equal(np.concatenate(parts), whole)


@pytest.mark.parametrize(("name", "parameters"), CALLS)
def test_one_reference_serves_all_specimens(name, parameters):
    _, specimens = sample(50, 15)
    one = difference(name, reference=specimens[7], specimen=specimens, **parameters)
    each = [
        difference(name, reference=specimens[7], specimen=specimen, **parameters)[0]
        for specimen in specimens
    ]
    assert one.tolist() == each


@pytest.mark.parametrize(("name", "parameters"), CALLS)
@pytest.mark.parametrize(
    ("first", "second", "what", "problem", "row", "band"),
    [
        ((50, 0, 0), [(50, 0, 0), (50, float("nan"), 0)], "specimen", "nan", 1, 1),
        ([(50, 0, float("inf"))], (50, 0, 0), "reference", "inf", 0, 2),
        ((50, 0), (50, 0, 0), "reference", "shape", None, None),
        ([(50, 0, 0)] * 2, [(50, 0, 0)] * 3, "reference", "shape", None, None),
        ((50, 0, 0), (50, 0, -1e9), "specimen", "range", 0, 2),
        (("grey", 0, 0), (50, 0, 0), "reference", "type", None, None),
    ],
)
def test_values_outside_the_domain_are_named_by_row_and_band(
    name, parameters, first, second, what, problem, row, band
):
    with pytest.raises(DomainError) as caught:
        difference(name, reference=first, specimen=second, **parameters)
    error = caught.value
    assert (error.problem, error.row, error.band) == (problem, row, band)
    assert error.what.startswith(what)


@pytest.mark.parametrize(
    ("name", "parameters", "what", "problem"),
    [
        ("CIE 2000", {}, "formula", "range"),
        ("cmc", {"l_weight": 2, "c_weight": 1}, "formula", "range"),
        ("CIELAB", {"k_l": 1}, "k_l", "range"),
        ("CMC", {"l_weight": 2}, "c_weight", "missing"),
        ("CMC", {}, "l_weight", "missing"),
        ("CMC", {"l_weight": 2, "c_weight": 0}, "c_weight", "range"),
        ("CMC", {"l_weight": float("inf"), "c_weight": 1}, "l_weight", "range"),
        ("CMC", {"l_weight": "2", "c_weight": 1}, "l_weight", "type"),
        ("CMC", {"l_weight": True, "c_weight": 1}, "l_weight", "type"),
        ("CIE94", {}, "application", "missing"),
        ("CIE94", {"application": "paint"}, "application", "range"),
        ("DIN99o", {"k_e": -1}, "k_e", "range"),
        ("DIN99o", {"k_ch": float("nan")}, "k_ch", "range"),
        ("CIEDE2000", {"k_c": 0}, "k_c", "range"),
        ("CIEDE2000", {"k_h": "1"}, "k_h", "type"),
    ],
)
def test_formulas_and_parameters_that_do_not_exist_are_refused_by_name(
    name, parameters, what, problem
):
    with pytest.raises(DomainError) as caught:
        difference(name, reference=(50, 0, 0), specimen=(51, 0, 0), **parameters)
    assert (caught.value.what, caught.value.problem) == (what, problem)


@pytest.mark.parametrize("wrong", [0, -1.0, float("nan"), float("inf"), "2", True])
def test_factors_that_are_not_positive_are_refused_without_the_entry_point_too(wrong):
    pair = {"reference": (50, 0, 0), "specimen": (51, 0, 0)}
    for what, call in (
        ("l_weight", lambda: cmc(**pair, l_weight=wrong, c_weight=1)),
        ("c_weight", lambda: cmc(**pair, l_weight=1, c_weight=wrong)),
        ("k_e", lambda: din99o_coordinates((50, 0, 0), k_e=wrong)),
        ("k_ch", lambda: din99o(**pair, k_ch=wrong)),
    ):
        with pytest.raises(DomainError) as caught:
            call()
        assert caught.value.what == what


@pytest.mark.parametrize("name", FORMULAS)
def test_the_defaults_listed_are_those_that_are_used(name):
    first, second = sample(20, 16)
    pair = {"reference": first, "specimen": second}
    listed = {key: value for key, value in FORMULAS[name].parameters.items() if value is not None}
    stated = {"CMC": {"l_weight": 2, "c_weight": 1}, "CIE94": {"application": "textiles"}}
    needed = stated.get(name, {})
    assert set(FORMULAS[name].parameters) == {*listed, *needed}
    plain = difference(name, **pair, **needed)
    assert np.array_equal(difference(name, **pair, **needed, **listed), plain)
    for parameter in listed:
        changed = difference(name, **pair, **needed, **{parameter: 1.5})
        assert not np.array_equal(changed, plain)
    with pytest.raises(DomainError, match="none" if name == "CIELAB" else "has the parameters"):
        difference(name, **pair, **needed, unknown=1)


def test_reference_and_specimen_have_no_order_to_confuse():
    for formula in (cielab, cmc, cie94, din99o, lambda *two: difference("CIELAB", *two)):
        with pytest.raises(TypeError):
            formula((50, 0, 0), (51, 0, 0))


def test_lightness_where_the_logarithm_of_din99o_ends_is_refused_with_its_row():
    assert np.isfinite(din99o_coordinates((-256.4, 0, 0))).all()
    for lightness in (-1 / 0.0039, -257, -9999):
        with pytest.raises(DomainError, match="logarithm") as caught:
            din99o_coordinates([(50, 0, 0), (lightness, 0, 0)])
        assert (caught.value.problem, caught.value.row, caught.value.band) == ("range", 1, 0)
