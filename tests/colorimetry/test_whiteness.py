"""Whiteness, tint and yellowness against published coefficients, a library and their limits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, Grid, white
from colorimetry.whiteness import (
    LIMITS_2004,
    LIMITS_OLDER,
    YELLOWNESS,
    Limits,
    NotApplicable,
    Whiteness,
    cie_whiteness,
    yellowness,
)
from tests.colorimetry.references import OBSERVERS, colour

# wide enough for every number below; the tests of the limits come after
OPEN = Limits(-1e9, 0.0, -1e9, -1e9, 1e9, "none: these tests are of the formulas")
FULL = Grid(360, 780, 5)


def of(xyz, observer, limits=OPEN):
    """Whiteness of one colour under D65."""
    (found,) = cie_whiteness(xyz, illuminant="D65", observer=observer, limits=limits)
    return found


@pytest.mark.parametrize(
    ("xyz", "observer", "whiteness", "tint"),
    [
        # the white of ASTM E308, D65/10: not exactly 100, as x and y of the white are rounded
        ((94.811, 100, 107.304), 10, 99.981, -0.022),
        ((84, 88, 101), 10, 107.6008, -0.1293),
        ((84, 88, 101), 2, 103.3208, 0.6815),
        ((82.5, 87.2, 88.1), 10, 69.9082, -0.8836),
    ],
)
def test_whiteness_and_tint_of_the_checks(xyz, observer, whiteness, tint):
    for limits in (OPEN, LIMITS_2004, LIMITS_OLDER):
        found = of(xyz, observer, limits)
        assert found.whiteness == pytest.approx(whiteness, abs=6e-4 if xyz[1] == 100 else 6e-5)
        assert found.tint == pytest.approx(tint, abs=6e-4 if xyz[1] == 100 else 6e-5)


@pytest.mark.parametrize(
    ("illuminant", "observer", "expected"),
    [("C", 2, -0.00064), ("D65", 2, -0.00035), ("C", 10, -0.00040), ("D65", 10, -0.00058)],
)
def test_the_perfect_diffuser_is_not_yellow_under_any_condition(illuminant, observer, expected):
    # validates the four pairs of coefficients of ASTM E313 against the whites of ASTM E308
    published = {
        ("C", 2): (98.074, 100, 118.232), ("D65", 2): (95.047, 100, 108.883),
        ("C", 10): (97.285, 100, 116.145), ("D65", 10): (94.811, 100, 107.304),
    }  # fmt: skip
    found = yellowness(published[illuminant, observer], illuminant=illuminant, observer=observer)
    assert found[0] == pytest.approx(expected, abs=1e-5)
    # our own white of illuminant C departs from the printed one by 0.001
    found = yellowness(white(illuminant, observer, FULL), illuminant=illuminant, observer=observer)
    assert found[0] == pytest.approx(0, abs=3e-3)


@pytest.mark.parametrize(
    ("xyz", "illuminant", "observer", "expected"),
    [
        ((84, 88, 101), "D65", 10, -7.7507),
        ((84, 88, 101), "D65", 2, -6.1472),
        ((82.5, 87.2, 88.1), "D65", 10, 6.9494),
        ((95, 100, 105), "D65", 2, 4.34),  # the documentation of colour, yellowness_ASTME313
    ],
)
def test_yellowness_of_the_checks(xyz, illuminant, observer, expected):
    found = yellowness(xyz, illuminant=illuminant, observer=observer)[0]
    assert found == pytest.approx(expected, abs=6e-5)


def whites(count, seed):
    """Random near-whites."""
    rng = np.random.default_rng(seed)
    return rng.uniform((70, 75, 75), (95, 100, 120), (count, 3))


@pytest.mark.parametrize("observer", [2, 10])
def test_a_library_agrees_on_whiteness_and_tint(observer):
    table = whites(2_000, 1)
    neutral = {2: (0.3127, 0.3290), 10: (0.3138, 0.3310)}[observer]
    theirs = colour.colorimetry.whiteness_CIE2004(
        colour.XYZ_to_xy(table), table[:, 1], np.array(neutral), OBSERVERS[observer]
    )
    ours = cie_whiteness(table, illuminant="D65", observer=observer, limits=OPEN)
    pairs = np.array([(one.whiteness, one.tint) for one in ours])
    assert np.abs(pairs - theirs).max() < 1e-10


@pytest.mark.parametrize("condition", YELLOWNESS)
def test_a_library_agrees_on_yellowness(condition):
    table = whites(2_000, 2)
    illuminant, observer = condition
    theirs = colour.colorimetry.yellowness_ASTME313(table, C_XZ=np.array(YELLOWNESS[condition]))
    ours = yellowness(table, illuminant=illuminant, observer=observer)
    assert np.abs(ours - theirs).max() < 1e-11


def at(y, whiteness, tint, observer=10):
    """XYZ with a luminance, whiteness and tint: the two linear formulas solved for x and y."""
    white_x, white_y, factor = {2: (0.3127, 0.3290, 1000), 10: (0.3138, 0.3310, 900)}[observer]
    x, y_small = np.linalg.solve([[-800, -1700], [-factor, 650]], [whiteness - y, tint])
    x, y_small = x + white_x, y_small + white_y
    return x / y_small * y, y, (1 - x - y_small) / y_small * y


@pytest.mark.parametrize(
    ("whiteness", "tint", "reasons"),
    [
        (41, 0, ()),
        (39, 0, ("whiteness_low",)),
        (158, 0, ()),
        (162, 0, ("whiteness_high",)),
        (100, 1.9, ()),
        (100, 2.1, ("tint_outside",)),
        (100, -3.9, ()),
        (100, -4.1, ("tint_outside",)),
        (39, 2.1, ("whiteness_low", "tint_outside")),
    ],
)
@pytest.mark.parametrize("observer", [2, 10])
def test_outside_the_limits_there_are_no_numbers(whiteness, tint, reasons, observer):
    # W between 40 and 5 Y - 280 = 160, T between -4 and 2 (from memory: CIE 15:2004)
    found = of(at(88, whiteness, tint, observer), observer, LIMITS_2004)
    if reasons:
        assert found == NotApplicable(reasons)
        assert not hasattr(found, "whiteness")
    else:
        assert isinstance(found, Whiteness)
        assert (found.whiteness, found.tint) == pytest.approx((whiteness, tint), abs=1e-9)


@pytest.mark.parametrize(("limits", "least", "most"), [(LIMITS_2004, -4, 2), (LIMITS_OLDER, -3, 3)])
def test_the_limits_from_memory_are_those_of_the_formula(limits, least, most):
    # 40 < W < 5 Y - 280 and the tint's interval, at two luminances
    for y in (88.0, 92.0):
        edges = [(40, 0), (5 * y - 280, 0), (100, least), (100, most)]
        inwards = [(0.1, 0), (-0.1, 0), (0, 0.1), (0, -0.1)]
        for (whiteness, tint), (dw, dt) in zip(edges, inwards, strict=True):
            assert isinstance(of(at(y, whiteness + dw, tint + dt), 10, limits), Whiteness)
            assert isinstance(of(at(y, whiteness - dw, tint - dt), 10, limits), NotApplicable)


def test_the_older_limits_allow_other_tints():
    assert of(at(88, 100, 2.5), 10, LIMITS_OLDER).tint == pytest.approx(2.5)
    assert of(at(88, 100, -3.5), 10, LIMITS_OLDER) == NotApplicable(("tint_outside",))
    for limits in (LIMITS_2004, LIMITS_OLDER):
        assert "from memory" in limits.source


def test_the_limits_themselves_lie_outside():
    # an exact case: the formulas give W = Y and T = 0 at the white's own chromaticity
    y = 88.0
    exact = of((0.3138 / 0.3310 * y, y, 0.3552 / 0.3310 * y), 10)
    for change in (
        {"lowest": exact.whiteness},
        {"slope": 0.0, "offset": -exact.whiteness},
        {"least_tint": exact.tint},
        {"most_tint": exact.tint},
    ):
        limits = Limits(**(vars(OPEN) | change))
        found = of((0.3138 / 0.3310 * y, y, 0.3552 / 0.3310 * y), 10, limits)
        assert isinstance(found, NotApplicable)


@given(st.integers(0, 2**32 - 1))
def test_order_and_batch_size_change_nothing(seed):
    table = whites(20, seed)
    common = {"illuminant": "D65", "observer": 10}
    together = cie_whiteness(table, limits=LIMITS_2004, **common)
    assert together == [of(row, 10, LIMITS_2004) for row in table]
    yellow = yellowness(table, **common)
    assert yellow.tolist() == [yellowness(row, **common)[0] for row in table]


@pytest.mark.parametrize(
    ("illuminant", "observer"), [("A", 2), ("D50", 2), ("D65", 5), ("d65", 10)]
)
def test_other_conditions_are_refused(illuminant, observer):
    with pytest.raises(DomainError):
        cie_whiteness((84, 88, 101), illuminant=illuminant, observer=observer, limits=OPEN)
    with pytest.raises(DomainError, match="none of C/2, D65/2, C/10, D65/10"):
        yellowness((84, 88, 101), illuminant=illuminant, observer=observer)


def test_whiteness_is_not_for_illuminant_c():
    with pytest.raises(DomainError, match="defined for D65") as caught:
        cie_whiteness((84, 88, 101), illuminant="C", observer=2, limits=OPEN)
    assert caught.value.what == "illuminant"
    with pytest.raises(DomainError) as caught:
        cie_whiteness((84, 88, 101), illuminant="D65", observer=5, limits=OPEN)
    assert caught.value.what == "observer"


@pytest.mark.parametrize(
    ("row", "problem", "band"),
    [
        ((84, 0, 101), "range", 1),
        ((84, -1, 101), "range", 1),
        ((84, float("nan"), 101), "nan", 1),
        ((84, 88, float("inf")), "inf", 2),
    ],
)
def test_colours_outside_the_domain_are_named_by_row_and_band(row, problem, band):
    table = [(84, 88, 101), row]
    for function in (
        lambda: cie_whiteness(table, illuminant="D65", observer=10, limits=OPEN),
        lambda: yellowness(table, illuminant="D65", observer=10),
    ):
        with pytest.raises(DomainError) as caught:
            function()
        error = caught.value
        assert (error.what, error.problem, error.row, error.band) == ("XYZ", problem, 1, band)
    with pytest.raises(DomainError, match="shape"):
        yellowness((84, 88), illuminant="D65", observer=10)


def test_a_colour_without_chromaticity_is_named_by_its_row():
    with pytest.raises(DomainError, match=r"X \+ Y \+ Z above 0") as caught:
        cie_whiteness([(84, 88, 101), (-1, 1, 0)], illuminant="D65", observer=10, limits=OPEN)
    assert caught.value.row == 1
