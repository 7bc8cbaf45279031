"""Metamerism indices against the bundled examples of a library, a constructed pair and laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, Grid, GridError, lab, weights, xyz
from colorimetry.difference_formulas import difference
from colorimetry.measured_lamp import lamp_weights
from colorimetry.metamerism import (
    Condition,
    UnderBoth,
    condition,
    index_from_lab,
    index_from_xyz,
    metamerism,
    refuse_fluorescence,
)
from colorimetry.spectral_power import SpectralPower
from tests.colorimetry.references import (
    OBSERVERS,
    SPECTRAL_SHAPE_ASTME308,
    colour,
    open_reflectances,
    tristimulus_weighting_factors_ASTME2022,
)

GRID = Grid(400, 700, 10)
D65, A, F11 = (condition(name, 10, GRID) for name in ("D65", "A", "F11"))

# Checks A and B: the pair in the documentation of colour 0.4.7, difference/metamerism_index.py,
# which cites ISO 18314-4; recomputed by hand.
STD_LAB = UnderBoth((39.0908, -21.3269, 22.6657), (38.17781, -17.4939, 21.0618))
SPL_LAB = UnderBoth((38.83253, -19.8787, 20.0453), (37.9013, -19.56327, 16.9346))
STD_XYZ = UnderBoth((7.6576, 10.7116, 5.0731), (8.96442, 10.1878, 1.6663))
SPL_XYZ = UnderBoth((7.6933, 10.5616, 5.54474), (8.56438, 10.0324, 1.9315))
A_WHITE = (111.144, 100.0, 35.200)  # ASTM E308, A/10
A_WHITES = UnderBoth((94.811, 100, 107.304), A_WHITE)

# Check D: constructed, a flat 30 % against a pair that matches it under D65/10
FLAT = np.full(31, 0.30)
WAVY = """
0.3001 0.359 0.3957 0.396 0.3598 0.3008 0.2414 0.2041 0.203 0.2386 0.2966 0.3547 0.3907 0.3908
0.355 0.2972 0.2397 0.2049 0.2064 0.2438 0.3034 0.3623 0.3982 0.3974 0.3604 0.301 0.2418 0.2052
0.205 0.2413 0.3001
"""
WAVY = np.array(WAVY.split(), dtype=float)


@pytest.mark.parametrize(
    ("correction", "expected"), [("additive", 3.826758), ("multiplicative", 3.984222)]
)
def test_check_a_is_reproduced_in_cielab(correction, expected):
    found = index_from_lab(reference=STD_LAB, specimen=SPL_LAB, correction=correction)
    assert found.index[0] == pytest.approx(expected, abs=5e-7)
    mismatch = np.linalg.norm(np.subtract(STD_LAB.agreed, SPL_LAB.agreed))
    assert found.agreed_difference[0] == pytest.approx(mismatch, rel=1e-12)
    assert (found.formula, found.correction) == ("CIELAB", correction)


@pytest.mark.parametrize(
    ("correction", "rounded_white", "fine"),
    [("multiplicative", 3.7907, 3.790699), ("additive", 4.6910, 4.691065)],
)
def test_check_b_is_reproduced_in_xyz(correction, rounded_white, fine):
    pair = {"reference": STD_XYZ, "specimen": SPL_XYZ, "correction": correction}
    found = index_from_xyz(whites=A_WHITES, **pair)
    assert found.index[0] == pytest.approx(rounded_white, abs=1e-4)
    x, y = 0.45117, 0.40594
    white = (100 * x / y, 100, 100 * (1 - x - y) / y)
    found = index_from_xyz(whites=UnderBoth(A_WHITES.agreed, white), **pair)
    assert found.index[0] == pytest.approx(fine, abs=1e-6)


def library_weights(illuminant, grid, sprague=False):
    """10 degree weights by the library's builder; its own linear form of the illuminant or not."""
    shape = SPECTRAL_SHAPE_ASTME308
    functions = colour.MSDS_CMFS[OBSERVERS[10]].copy().align(shape)
    source = colour.SDS_ILLUMINANTS[illuminant].copy()
    if sprague:
        source = source.interpolate(
            colour.SpectralShape(380, 780, 1), interpolator=colour.SpragueInterpolator
        ).extrapolate(shape, extrapolator_kwargs={"method": "Constant", "left": 0, "right": 0})
    else:
        source = source.align(shape)
    table = tristimulus_weighting_factors_ASTME2022(
        functions, source, colour.SpectralShape(360, 780, grid.step)
    )
    adjust = colour.colorimetry.adjust_tristimulus_weighting_factors_ASTME308
    wide = colour.SpectralShape(360, 780, grid.step)
    return adjust(table, wide, colour.SpectralShape(grid.start, grid.stop, grid.step)).T


@pytest.mark.parametrize(
    ("lamp", "expected"), [("A", 1.9034), ("FL11", 4.4058), ("LED-B3", 0.4734)]
)
def test_check_d_is_reproduced_under_three_lights(lamp, expected):
    agreed = Condition("D65/10", library_weights("D65", GRID))
    test = Condition(lamp, library_weights(lamp, GRID))
    found = metamerism(reference=FLAT, specimen=WAVY, agreed=agreed, test=test, fluorescent=False)
    assert found.index[0] == pytest.approx(expected, abs=2e-4)
    assert found.agreed_difference[0] == pytest.approx(0.0021, abs=5e-5)


@pytest.mark.parametrize(
    ("name", "lamp", "expected"),
    [("A", "A", 1.9034), ("F11", "FL11", 4.4058), ("LED-B3", "LED-B3", 0.4734)],
)
def test_our_own_weights_give_check_d_with_the_right_interpolation(name, lamp, expected):
    common = {"reference": FLAT, "specimen": WAVY, "agreed": D65, "fluorescent": None}
    found = metamerism(test=condition(name, 10, GRID), **common).index[0]
    # the check's linear interpolation of a line spectrum costs up to 0.11, of A next to nothing
    assert found == pytest.approx(expected, abs=1e-3 if name == "A" else 0.11)
    if name != "A":
        same = Condition(lamp, library_weights(lamp, GRID, sprague=True))
        assert found == pytest.approx(metamerism(test=same, **common).index[0], abs=1e-9)


def test_a_measured_lamp_is_a_condition_like_any_other():
    # the lamp's readings are those of a published illuminant: the index must be that of its table
    published = colour.SDS_ILLUMINANTS["FL11"]
    lamp = SpectralPower.of(published.wavelengths.tolist(), 7.3 * published.values)
    table = lamp_weights(lamp, 10, GRID, interpolation="sprague")
    common = {"reference": FLAT, "specimen": WAVY, "agreed": D65, "fluorescent": False}
    found = metamerism(test=Condition("booth 2, lamps of March", table), **common)
    assert found.index[0] == pytest.approx(metamerism(test=F11, **common).index[0], abs=1e-9)


METHODS = {"CIELAB": "CIE 1976", "CIEDE2000": "CIE 2000"}


@pytest.mark.parametrize("formula", METHODS)
@pytest.mark.parametrize("correction", ["additive", "multiplicative"])
def test_a_library_agrees_over_open_spectra(formula, correction):
    from_lab = colour.difference.metamerism_index.Lab_to_metamerism_index
    from_xyz = colour.difference.metamerism_index.XYZ_to_metamerism_index
    rows = open_reflectances()[:, 4:65:2]  # 400 to 700 nm by 10
    pairs = [(rows[i], rows[i] * np.linspace(0.9, 1.08, 31)) for i in range(24)]
    whites = UnderBoth(*(xyz(np.ones(31), c.weights)[0] for c in (D65, F11)))
    method = METHODS[formula]
    for first, second in pairs:
        std, spl = (
            UnderBoth(*(xyz(table, c.weights)[0] for c in (D65, F11))) for table in (first, second)
        )
        std_lab, spl_lab = (
            UnderBoth(*(lab(value, w)[0] for value, w in zip(part, whites, strict=True)))
            for part in (std, spl)
        )
        if correction == "additive" or np.abs(spl_lab.agreed).min() > 0.5:
            ours = index_from_lab(
                reference=std_lab, specimen=spl_lab, correction=correction, formula=formula
            )
            theirs = from_lab(
                spl_lab.test, std_lab.test, spl_lab.agreed, std_lab.agreed,
                correction=correction.title(), method=method,
            )  # fmt: skip
            assert ours.index[0] == pytest.approx(float(theirs), abs=1e-9)
        ours = index_from_xyz(
            reference=std, specimen=spl, whites=whites, correction=correction, formula=formula
        )
        theirs = from_xyz(
            spl.test / 100, std.test / 100, spl.agreed / 100, std.agreed / 100,
            correction=correction.title(), method=method,
            illuminant=colour.XYZ_to_xy(whites.test),
        )  # fmt: skip
        assert ours.index[0] == pytest.approx(float(theirs), abs=1e-9)


def test_spectra_take_the_recommended_space_of_each_correction():
    pair = {"reference": FLAT, "specimen": WAVY * 1.03, "agreed": D65, "test": F11}
    whites = UnderBoth(*(xyz(np.ones(31), c.weights)[0] for c in (D65, F11)))
    std, spl = (
        UnderBoth(*(xyz(table, c.weights) for c in (D65, F11)))
        for table in (pair["reference"], pair["specimen"])
    )
    found = metamerism(**pair, fluorescent=False, correction="multiplicative")
    assert found.index == index_from_xyz(reference=std, specimen=spl, whites=whites).index
    found = metamerism(**pair, fluorescent=False, correction="additive")
    labs = [
        UnderBoth(*(lab(value, w) for value, w in zip(part, whites, strict=True)))
        for part in (std, spl)
    ]
    assert found.index == index_from_lab(reference=labs[0], specimen=labs[1]).index
    assert found.index[0] != metamerism(**pair, fluorescent=False).index[0]


def test_a_change_of_colorimetric_observer_is_a_change_of_condition():
    two = condition("D65", 2, GRID)
    found = metamerism(reference=FLAT, specimen=WAVY, agreed=D65, test=two, fluorescent=False)
    white = xyz(np.ones(31), two.weights)[0]
    corrected = xyz(WAVY, two.weights) * xyz(FLAT, D65.weights) / xyz(WAVY, D65.weights)
    first, second = lab(xyz(FLAT, two.weights), white), lab(corrected, white)
    expected = difference("CIELAB", reference=first, specimen=second)[0]
    assert found.index[0] == pytest.approx(expected, rel=1e-12)
    assert found.index[0] > 0.1


def test_the_formula_is_named_and_used_for_both_differences():
    found = metamerism(
        reference=FLAT, specimen=WAVY * 1.02, agreed=D65, test=F11, fluorescent=False,
        formula="CMC", l_weight=2, c_weight=1,
    )  # fmt: skip
    assert (found.formula, found.parameters) == ("CMC", {"l_weight": 2, "c_weight": 1})
    first, second = (lab(xyz(r, D65.weights), xyz(np.ones(31), D65.weights)[0])
                     for r in (FLAT, WAVY * 1.02))  # fmt: skip
    expected = difference("CMC", reference=first, specimen=second, l_weight=2, c_weight=1)
    assert found.agreed_difference == pytest.approx(expected, rel=1e-14)


SPECTRA = st.integers(0, 2**32 - 1)


def spectra(seed, count=6):
    """Smooth invented reflectances between 0.05 and 0.95."""
    rng = np.random.default_rng(seed)
    nodes = rng.uniform(0.05, 0.95, (count, 5))
    return np.array([np.interp(np.arange(31), np.linspace(0, 30, 5), row) for row in nodes])


@given(SPECTRA, st.sampled_from(["additive", "multiplicative"]))
def test_equal_spectra_are_no_metamers_and_equal_conditions_show_none(seed, correction):
    table = spectra(seed)
    common = {"fluorescent": None, "correction": correction}
    same = metamerism(reference=table, specimen=table, agreed=D65, test=F11, **common)
    assert same.index == pytest.approx(np.zeros(6), abs=1e-12)
    assert (same.agreed_difference == 0).all()
    still = metamerism(reference=table, specimen=table[::-1], agreed=D65, test=D65, **common)
    assert still.index == pytest.approx(np.zeros(6), abs=1e-10)
    assert (still.agreed_difference[[0, 1, 4, 5]] > 0).all()


@given(SPECTRA, st.floats(0.8, 1.2))
def test_a_specimen_that_is_the_reference_times_a_factor_has_no_multiplicative_index(seed, factor):
    table = spectra(seed) * 0.8
    found = metamerism(
        reference=table, specimen=table * factor, agreed=D65, test=F11, fluorescent=None
    )
    assert found.index == pytest.approx(np.zeros(6), abs=1e-10)


@given(SPECTRA, st.integers(1, 6))
def test_order_and_batch_size_do_not_change_a_bit(seed, cut):
    first, second = spectra(seed), spectra(seed + 1)

    def of(rows):
        found = metamerism(
            reference=first[rows], specimen=second[rows], agreed=D65, test=A, fluorescent=None
        )
        return np.column_stack((found.index, found.agreed_difference))

    whole = of(slice(None))
    order = np.random.default_rng(seed).permutation(6)
    assert np.array_equal(of(order), whole[order])
    parts = [of(slice(start, start + cut)) for start in range(0, 6, cut)]
    assert np.array_equal(np.concatenate(parts), whole)


def test_one_reference_serves_all_specimens():
    table = spectra(5)
    common = {"agreed": D65, "test": A, "fluorescent": None}
    for correction in ("additive", "multiplicative"):
        found = metamerism(reference=FLAT, specimen=table, correction=correction, **common)
        each = [
            metamerism(reference=FLAT, specimen=row, correction=correction, **common).index[0]
            for row in table
        ]
        assert found.index.tolist() == each


def test_fluorescent_readings_are_refused_and_hints_of_them_named():
    common = {"reference": FLAT, "agreed": D65, "test": A}
    with pytest.raises(DomainError) as caught:
        metamerism(specimen=WAVY, fluorescent=True, **common)
    assert caught.value.problem == "fluorescent"
    bright = np.vstack((WAVY, WAVY))
    bright[1, 7] = bright[1, 9] = 1.02
    with pytest.raises(DomainError, match="specimen") as caught:
        metamerism(specimen=bright, fluorescent=None, **common)
    assert (caught.value.problem, caught.value.row, caught.value.band) == ("fluorescent", 1, 7)
    assert np.isfinite(metamerism(specimen=bright, fluorescent=False, **common).index).all()
    with pytest.raises(DomainError, match="reference"):
        metamerism(**(common | {"reference": bright}), specimen=bright, fluorescent=None)
    assert refuse_fluorescence([1.0, 0.5], "reading", None) is None


def test_near_black_is_refused_by_name_and_only_where_it_is_divided_by():
    dark = np.vstack((WAVY, np.full(31, 0.004)))
    common = {"reference": FLAT, "specimen": dark, "agreed": D65, "test": A, "fluorescent": None}
    with pytest.raises(DomainError, match="XYZ under the agreed condition") as caught:
        metamerism(**common)
    assert (caught.value.problem, caught.value.row, caught.value.band) == ("near_zero", 1, 0)
    assert np.isfinite(metamerism(correction="additive", **common).index).all()
    assert np.isfinite(metamerism(smallest_divisor=0.1, **common).index).all()
    # X = 0.5 is not below 0.5
    pair = {"reference": STD_XYZ, "whites": A_WHITES}
    edge = UnderBoth((0.5, 0.6, 0.7), (0.5, 0.6, 0.7))
    assert np.isfinite(index_from_xyz(specimen=edge, **pair).index).all()
    with pytest.raises(DomainError, match=r"near_zero at row 0, band 2"):
        index_from_xyz(specimen=UnderBoth((0.5, 0.6, 0.49), (1, 1, 1)), **pair)
    negative = UnderBoth((5, -0.9, 0.7), (5, 0.6, 0.7))
    with pytest.raises(DomainError, match=r"near_zero at row 0, band 1"):
        index_from_xyz(specimen=negative, **pair)


def test_a_multiplicative_correction_in_cielab_is_refused_near_the_neutral_axis():
    grey = UnderBoth((50, 0.2, -3), (50, 1, -3))
    with pytest.raises(DomainError, match=r"specimen Lab .* near_zero at row 0, band 1"):
        index_from_lab(reference=STD_LAB, specimen=grey, correction="multiplicative")
    found = index_from_lab(reference=STD_LAB, specimen=grey, correction="additive")
    assert np.isfinite(found.index).all()
    minus = UnderBoth((50, -4, -3), (50, -4, -3))
    found = index_from_lab(reference=STD_LAB, specimen=minus, correction="multiplicative")
    assert np.isfinite(found.index).all()


@pytest.mark.parametrize(
    ("change", "what", "problem"),
    [
        ({"correction": "none"}, "correction", "range"),
        ({"smallest_divisor": 0}, "smallest divisor", "range"),
        ({"smallest_divisor": float("nan")}, "smallest divisor", "range"),
        ({"formula": "CIE"}, "formula", "range"),
        ({"formula": "CMC"}, "l_weight", "missing"),
        ({"specimen": WAVY[:30]}, "specimen reflectance", "shape"),
        ({"reference": FLAT[:30]}, "reference reflectance", "shape"),
        (
            {"reference": np.vstack((FLAT, FLAT, FLAT)), "specimen": [WAVY] * 2},
            "reference",
            "shape",
        ),
        (
            {"test": Condition("short", weights("A", 10, Grid(400, 700, 20)))},
            "weights of short",
            "shape",
        ),
    ],
)
def test_what_does_not_fit_is_refused_by_name(change, what, problem):
    common = {"reference": FLAT, "specimen": WAVY, "agreed": D65, "test": A, "fluorescent": None}
    with pytest.raises(DomainError) as caught:
        metamerism(**(common | change))
    assert (caught.value.what, caught.value.problem) == (what, problem)


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_values_that_are_no_numbers_are_named_by_row_and_band(value):
    faulty = np.vstack((WAVY, WAVY))
    faulty[1, 3] = value
    common = {"agreed": D65, "test": A, "fluorescent": False}
    for name in ("reference", "specimen"):
        tables = {"reference": FLAT, "specimen": WAVY} | {name: faulty}
        with pytest.raises(DomainError) as caught:
            metamerism(**tables, **common)
        assert caught.value.what == f"{name} reflectance"
        assert (caught.value.row, caught.value.band) == (1, 3)


def test_one_thing_has_as_many_rows_under_both_conditions():
    two = UnderBoth([SPL_LAB.agreed] * 2, SPL_LAB.test)
    with pytest.raises(DomainError, match="specimen: shape"):
        index_from_lab(reference=STD_LAB, specimen=two)
    with pytest.raises(DomainError, match="reference: shape"):
        index_from_xyz(reference=two, specimen=SPL_XYZ, whites=A_WHITES)
    with pytest.raises(DomainError, match="reference Lab: shape"):
        index_from_lab(
            reference=UnderBoth([STD_LAB.agreed] * 2, [STD_LAB.test] * 2), specimen=SPL_LAB
        )


def test_a_condition_without_weights_is_refused():
    with pytest.raises(GridError):
        condition("D93", 10, GRID)
    assert condition("A", 2, GRID).name == "A/2"
