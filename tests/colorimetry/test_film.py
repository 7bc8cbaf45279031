"""Kubelka-Munk: closed form against the differential equation, there and back, and refusals.

No published numeric example was found; the figures are the differential equation of Kubelka (1948)
integrated by SciPy, which the first tests do again.
"""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from colorimetry import DomainError
from colorimetry.film import (
    Film,
    absorption_per_scattering,
    at_full_hiding,
    over_backing,
    reasons,
    two_backings,
)

COEFFICIENT = st.just(0.0) | st.floats(1e-6, 0.5)  # SciPy's first step fails on 1e-173
PLAIN = st.just(0.0) | st.floats(1e-6, 1.0)
FILM = Film([[0.004]], [[0.12]])  # per µm, at 20 µm


def integrated(absorption, scattering, thickness, backing):
    """R of the film by dR/dX = S R² - 2(K + S) R + S, R(0) = backing."""
    found = solve_ivp(
        lambda _, r: scattering * r * r - 2 * (absorption + scattering) * r + scattering,
        (0, thickness), [backing], method="DOP853", rtol=1e-13, atol=1e-14,
    )  # fmt: skip
    return found.y[0, -1]


def one(backing, thickness=20.0, film=FILM):
    """The reflectance of a single film in a single band."""
    return over_backing(film, thickness=thickness, backing=[backing])[0, 0]


def back(over_white, over_black, white, black, thickness=20.0, **options):
    """K and S from two readings in one band."""
    return two_backings(
        over_white=[over_white], over_black=[over_black],
        white_backing=[white], black_backing=[black], thickness=thickness, **options,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("backing", "thickness", "expected", "digits"),
    [
        (0.0, 20, 0.665397311, 9),
        (0.04, 20, 0.668175213, 9),
        (0.80, 20, 0.781029928, 9),
        (0.85, 20, 0.797666286, 9),
        (0.50, 12, 0.671956, 6),
        (0.04, 40, 0.746723, 6),
        (0.80, 40, 0.775321, 6),
    ],
)
def test_the_closed_form_is_what_the_differential_equation_gives(
    backing, thickness, expected, digits
):
    found = one(backing, thickness)
    assert found == pytest.approx(expected, abs=0.51 * 10**-digits)
    assert found == pytest.approx(integrated(0.004, 0.12, thickness, backing), abs=1e-11)


@given(st.floats(0, 0.5), COEFFICIENT, st.floats(0, 30), PLAIN)
def test_any_film_follows_the_differential_equation(absorption, scattering, thickness, backing):
    film = Film([[absorption]], [[scattering]])
    expected = integrated(absorption, scattering, thickness, backing)
    assert one(backing, thickness, film) == pytest.approx(expected, abs=1e-10)


def test_an_infinitely_thick_film_has_its_own_reflectance():
    hiding = at_full_hiding(FILM)
    assert hiding[0, 0] == pytest.approx(0.772992, abs=5e-7)
    assert absorption_per_scattering(hiding)[0, 0] == pytest.approx(0.0333333, abs=5e-8)
    assert one(0.0, 1e4) == pytest.approx(hiding[0, 0], rel=1e-14)
    # R = Rg: over a backing of its own reflectance a film is invisible
    assert one(hiding[0, 0], 7) == pytest.approx(hiding[0, 0], rel=1e-14)
    assert at_full_hiding(Film([[0.1, 0.0]], [[0.0, 0.1]])).tolist() == [[0.0, 1.0]]
    assert absorption_per_scattering([[1.0]])[0, 0] == 0.0


@given(st.floats(1e-6, 1.0))
def test_k_over_s_and_full_hiding_are_inverses(ratio):
    film = Film([[ratio]], [[1.0]])
    assert absorption_per_scattering(at_full_hiding(film))[0, 0] == pytest.approx(ratio, rel=1e-8)


def test_special_films_need_no_case_of_their_own():
    # only scattering: R = [(1 - Rg) S X + Rg] / [(1 - Rg) S X + 1]
    scatters = Film([[0.0]], [[0.12]])
    assert one(0.0, 20, scatters) == pytest.approx(0.705882353, abs=5e-10)
    assert one(0.8, 20, scatters) == pytest.approx(0.864864865, abs=5e-10)
    assert one(0.0, 20, scatters) == pytest.approx(2.4 / 3.4, rel=1e-14)
    # only absorption: R = Rg exp(-2 K X), digits kept however thick
    absorbs = Film([[0.3]], [[0.0]])
    for thickness in (0.1, 20, 60):
        expected = 0.8 * np.exp(-0.6 * thickness)
        assert one(0.8, thickness, absorbs) == pytest.approx(expected, rel=1e-12)
    # neither, or no thickness: the backing as it is
    assert one(0.37, 20, Film([[0.0]], [[0.0]])) == 0.37
    assert one(0.37, 0.0) == 0.37


def test_two_readings_give_back_the_film():
    white, black = one(0.8), one(0.04)
    found = back(white, black, 0.8, 0.04)
    assert found.absorption[0, 0] == pytest.approx(0.004, rel=1e-11)
    assert found.scattering[0, 0] == pytest.approx(0.12, rel=1e-11)
    # from readings of four decimals
    found = back(round(white, 4), round(black, 4), 0.8, 0.04)
    assert found.absorption[0, 0] == pytest.approx(0.0040025, abs=5e-8)
    assert found.scattering[0, 0] == pytest.approx(0.1200299, abs=5e-8)


def test_over_an_ideal_black_the_short_formula_holds():
    # a = (Rw + (R0 - Rw + Rgw)/(R0 Rgw))/2, Kubelka (1948)
    white, black = one(0.8), one(0.0)
    a = (white + (black - white + 0.8) / (black * 0.8)) / 2
    found = back(white, black, 0.8, 0.0)
    assert 1 + found.absorption[0, 0] / found.scattering[0, 0] == pytest.approx(a, rel=1e-12)
    # a real black of 4 % taken for an ideal one biases the scattering
    biased = back(one(0.8), one(0.04), 0.8, 0.0)
    assert abs(biased.scattering[0, 0] / 0.12 - 1) > 0.005


@given(
    st.floats(0, 0.2), st.floats(0.001, 0.3), st.floats(0.5, 40),
    st.floats(0, 0.1), st.floats(0.5, 0.98),
)  # fmt: skip
def test_every_film_whose_backing_shows_is_found_back(k, s, thickness, black, white):
    film = Film([[k]], [[s]])
    dark, light = one(black, thickness, film), one(white, thickness, film)
    assume(light - dark > 0.02)
    found = back(light, dark, white, black, thickness)
    # S X is what the readings can tell; rounding of 1e-16 in R is all that is lost
    assert found.scattering[0, 0] == pytest.approx(s, rel=1e-7, abs=1e-10 / thickness)
    assert found.absorption[0, 0] == pytest.approx(k, rel=1e-7, abs=1e-9 / thickness)


@given(st.floats(0, 0.1), st.floats(0.5, 40), st.floats(0.005, 0.1), st.floats(0.5, 0.98))
def test_films_that_only_absorb_are_found_back(k, thickness, black, white):
    film = Film([[k]], [[0.0]])
    dark, light = one(black, thickness, film), one(white, thickness, film)
    assume(light - dark > 0.002)
    found = back(light, dark, white, black, thickness)
    assert found.scattering[0, 0] * thickness == pytest.approx(0.0, abs=1e-9)
    assert found.absorption[0, 0] == pytest.approx(k, rel=1e-9, abs=1e-13)


@pytest.mark.parametrize("film", [(0.0, 0.12), (0.02, 0.0), (0.0, 0.0), (0.004, 0.12)])
@pytest.mark.parametrize("black", [0.0, 0.04])
def test_films_of_one_kind_alone_come_back_exactly(film, black):
    k, s = film
    made = Film([[k]], [[s]])
    light, dark = one(0.8, 9, made), one(black, 9, made)
    found = back(light, dark, 0.8, black, 9)
    assert found.absorption[0, 0] == pytest.approx(k, abs=1e-13)
    assert found.scattering[0, 0] == pytest.approx(s, abs=1e-13)


def test_a_film_of_its_backings_reflectance_is_found_through_the_other_one():
    hiding = float(at_full_hiding(FILM)[0, 0])
    found = back(one(hiding), one(0.04), hiding, 0.04)
    assert found.scattering[0, 0] == pytest.approx(0.12, rel=1e-9)
    found = back(one(0.9), one(hiding), 0.9, hiding)
    assert found.scattering[0, 0] == pytest.approx(0.12, rel=1e-8)


def test_films_bands_and_thicknesses_are_computed_together():
    rng = np.random.default_rng(3)
    film = Film(rng.uniform(0, 0.05, (7, 5)), rng.uniform(0.01, 0.1, (7, 5)))
    thickness = rng.uniform(5, 20, 7)
    white, black = rng.uniform(0.7, 0.9, 5), rng.uniform(0.01, 0.05, 5)
    light, dark = (over_backing(film, thickness=thickness, backing=b) for b in (white, black))
    pair = {"white_backing": white, "black_backing": black}
    found = two_backings(over_white=light, over_black=dark, thickness=thickness, **pair)
    assert found.absorption == pytest.approx(film.absorption, abs=1e-12)
    assert found.scattering == pytest.approx(film.scattering, rel=1e-10)
    for row in range(7):
        alone = two_backings(
            over_white=light[row], over_black=dark[row], thickness=thickness[row], **pair
        )
        assert np.array_equal(alone.absorption[0], found.absorption[row])
        assert np.array_equal(alone.scattering[0], found.scattering[row])
    each = {name: np.tile(table, (7, 1)) for name, table in pair.items()}
    again = two_backings(over_white=light, over_black=dark, thickness=thickness, **each)
    assert np.array_equal(again.scattering, found.scattering)


@given(st.floats(0.1, 10))
def test_the_unit_of_thickness_cancels(unit):
    white, black = one(0.8), one(0.04)
    found = back(white, black, 0.8, 0.04, 20 * unit)
    assert found.scattering[0, 0] * unit == pytest.approx(0.12, rel=1e-10)
    assert found.absorption[0, 0] * unit == pytest.approx(0.004, rel=1e-9)


REFUSED = [
    # over white, over black, white, black, reason
    (0.60, 0.61, 0.8, 0.04, "darker_over_white"),
    (0.60, 0.6011, 0.8, 0.04, "darker_over_white"),
    (0.60, 0.6009, 0.8, 0.04, "hidden"),
    (0.60, 0.60, 0.8, 0.04, "hidden"),
    (0.6009, 0.60, 0.8, 0.04, "hidden"),
    (0.0, 0.0, 0.8, 0.0, "hidden"),
    # lighter over white than any film without absorption
    (0.95, 0.30, 0.8, 0.04, "a_below_one"),
    (0.865, 0.7058, 0.8, 0.0, "a_below_one"),
    # darker over black than the black backing itself, yet hardly darker over white
    (0.79, 0.02, 0.8, 0.04, "a_below_one"),
    # lighter over both than any film over them: both dimmed by less than nothing
    (0.84, 0.042, 0.8, 0.04, "no_scattering"),
]


@pytest.mark.parametrize(("white", "black", "g_white", "g_black", "reason"), REFUSED)
def test_what_has_no_answer_is_refused_with_row_band_and_reason(
    white, black, g_white, g_black, reason
):
    light, dark = (np.array([[one(g)] * 2] * 3) for g in (0.8, 0.04))
    behind = np.array([[0.8, 0.8]] * 3), np.array([[0.04, 0.04]] * 3)
    for table, value in zip((light, dark, *behind), (white, black, g_white, g_black), strict=True):
        table[2, 1] = value
    arguments = {
        "over_white": light, "over_black": dark,
        "white_backing": behind[0], "black_backing": behind[1], "thickness": 20,
    }  # fmt: skip
    with pytest.raises(DomainError, match=f"film: {reason} at row 2, band 1") as caught:
        two_backings(**arguments)
    assert (caught.value.problem, caught.value.row, caught.value.band) == (reason, 2, 1)
    expected = [["", ""], ["", ""], ["", reason]]
    assert reasons(**arguments).tolist() == expected


def test_the_first_of_several_faults_is_named():
    light, dark = np.full((3, 2), 0.7), np.full((3, 2), 0.6)
    dark[1, 0], dark[1, 1], dark[2, 0] = 0.7, 0.9, 0.7
    with pytest.raises(DomainError, match="hidden at row 1, band 0"):
        two_backings(
            over_white=light, over_black=dark, white_backing=[0.8, 0.8],
            black_backing=[0.0, 0.0], thickness=20,
        )  # fmt: skip
    with pytest.raises(DomainError, match="at row 1, band 0"):
        at_full_hiding(Film([[0.1, 0.1], [0.0, 0.0]], [[0.1, 0.1], [0.0, 0.0]]))


@pytest.mark.parametrize("excess", [3e-11, 3e-10, 1e-6])
def test_only_rounding_may_bring_k_below_zero(excess):
    scatters = Film([[0.0]], [[0.12]])
    white, black = one(0.8, 20, scatters), one(0.04, 20, scatters)
    assert back(white, black, 0.8, 0.04).absorption[0, 0] == pytest.approx(0.0, abs=1e-13)
    with pytest.raises(DomainError, match="a_below_one"):
        back(white + excess, black, 0.8, 0.04)


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 0.2), st.floats(0.3, 1))
def test_no_reading_is_answered_with_a_film_that_does_not_explain_it(white, black, g_b, g_w):
    arguments = {
        "over_white": [white], "over_black": [black],
        "white_backing": [g_w], "black_backing": [g_b], "thickness": 20,
    }  # fmt: skip
    reason = reasons(**arguments)[0, 0]
    if reason:
        with pytest.raises(DomainError, match=reason):
            two_backings(**arguments)
        return
    found = two_backings(**arguments)
    assert (found.absorption >= 0).all() and (found.scattering >= 0).all()
    assert one(g_w, 20, found) == pytest.approx(white, abs=1e-6)
    assert one(g_b, 20, found) == pytest.approx(black, abs=1e-6)


def test_the_contrast_asked_for_is_the_callers():
    white, black = one(0.8, 70), one(0.04, 70)
    assert 0.0005 < white - black < 0.01
    found = back(white, black, 0.8, 0.04, 70, least_contrast=0.0)
    assert found.scattering[0, 0] == pytest.approx(0.12, rel=1e-7)
    with pytest.raises(DomainError, match="hidden"):
        back(white, black, 0.8, 0.04, 70, least_contrast=0.01)
    for wrong in (-0.1, float("nan"), float("inf")):
        with pytest.raises(DomainError, match="least contrast"):
            back(white, black, 0.8, 0.04, 70, least_contrast=wrong)


GOOD = {
    "over_white": [[0.7, 0.7]] * 2,
    "over_black": [[0.6, 0.6]] * 2,
    "white_backing": [0.8, 0.8],
    "black_backing": [0.0, 0.04],
    "thickness": [20, 20],
}


@pytest.mark.parametrize(
    ("name", "value", "what", "problem", "row", "band"),
    [
        ("over_white", [[0.7, 0.7], [0.7, np.nan]], "film over white", "nan", 1, 1),
        ("over_black", [[0.6, np.inf]] * 2, "film over black", "inf", 0, 1),
        ("over_white", [[0.7, 0.7], [1.01, 0.7]], "film over white", "range", 1, 0),
        ("over_black", [[0.6, 0.6], [-0.01, 0.7]], "film over black", "range", 1, 0),
        ("over_black", [[0.6, 0.6]], "film over black", "shape", None, None),
        ("over_black", [[0.6, 0.6]] * 3, "film over black", "shape", None, None),
        ("over_black", [[0.6]] * 2, "film over black", "shape", None, None),
        ("white_backing", [0.8, 1.2], "white backing", "range", 0, 1),
        ("white_backing", [[0.8, 0.8]] * 3, "white backing", "shape", None, None),
        ("white_backing", [0.8, 0.04], "white backing", "range", 0, 1),
        ("black_backing", [0.0, -0.1], "black backing", "range", 0, 1),
        ("black_backing", [0.9, 0.0], "white backing", "range", 0, 0),
        ("thickness", [20, 0], "thickness", "range", 1, 0),
        ("thickness", [20, -1], "thickness", "range", 1, 0),
        ("thickness", [20, np.nan], "thickness", "nan", 1, 0),
        ("thickness", [20, 20, 20], "thickness", "shape", None, None),
        ("thickness", [[20, 20]], "thickness", "shape", None, None),
        ("thickness", "thick", "thickness", "type", None, None),
    ],
)
def test_readings_outside_the_domain_are_named(name, value, what, problem, row, band):
    assert two_backings(**GOOD).scattering.shape == (2, 2)
    for function in (two_backings, reasons):
        with pytest.raises(DomainError) as caught:
            function(**(GOOD | {name: value}))
        error = caught.value
        assert (error.what, error.problem, error.row, error.band) == (what, problem, row, band)


@pytest.mark.parametrize(
    ("film", "thickness", "backing", "what", "problem"),
    [
        (([[-0.1]], [[0.1]]), 20, [0.5], "absorption", "range"),
        (([[0.1]], [[-0.1]]), 20, [0.5], "scattering", "range"),
        (([[np.nan]], [[0.1]]), 20, [0.5], "absorption", "nan"),
        (([[0.1]], [[np.inf]]), 20, [0.5], "scattering", "inf"),
        (([[0.1]], [[0.1, 0.1]]), 20, [0.5], "scattering", "shape"),
        (([[0.1]], [[0.1]] * 2), 20, [0.5], "scattering", "shape"),
        (([[0.1]], [[0.1]]), -1, [0.5], "thickness", "range"),
        (([[0.1]], [[0.1]]), 20, [1.5], "backing", "range"),
        (([[0.1]], [[0.1]]), 20, [0.5, 0.5], "backing", "shape"),
    ],
)
def test_films_and_backings_outside_the_domain_are_named(film, thickness, backing, what, problem):
    with pytest.raises(DomainError) as caught:
        over_backing(Film(*film), thickness=thickness, backing=backing)
    assert (caught.value.what, caught.value.problem) == (what, problem)


def test_a_film_of_nothing_never_hides():
    with pytest.raises(DomainError, match="neither absorption nor scattering") as caught:
        at_full_hiding(Film([[0.1, 0.1], [0.1, 0.0]], [[0.1, 0.0], [0.0, 0.0]]))
    assert (caught.value.row, caught.value.band) == (1, 1)
    with pytest.raises(DomainError, match="full hiding"):
        absorption_per_scattering([[0.5, 0.0]])
    with pytest.raises(DomainError, match="full hiding"):
        absorption_per_scattering([[0.5, 1.1]])
