"""Contrast ratio and the thickness from which a film hides."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, Grid, weights
from colorimetry.film import Film, over_backing
from colorimetry.opacity import contrast_ratio, contrast_ratio_of_spectra, hiding_thickness

FILM = Film([[0.004]], [[0.12]])
ONE = {"luminance": [1.0], "black_backing": [0.0], "white_backing": [0.8]}


def seen(film, thickness, backing):
    """Reflectances of a film over a backing."""
    return over_backing(film, thickness=thickness, backing=backing)


def test_the_contrast_ratio_of_the_example_film():
    # dR/dX integrated for K = 0.004, S = 0.12 per µm, 20 µm over 0.04 and 0.80
    black, white = (seen(FILM, 20, [backing])[0] for backing in (0.04, 0.80))
    assert contrast_ratio(over_black=black, over_white=white)[0] == pytest.approx(85.551, abs=5e-4)


def test_contrast_from_spectra_is_that_of_their_luminance():
    # ISO 6504-3: CR = Y over black / Y over white x 100 %
    y = weights("D65", 10, Grid(400, 700, 10))[1]
    rng = np.random.default_rng(1)
    black, white = rng.uniform(0.1, 0.4, (5, 31)), rng.uniform(0.4, 0.8, (5, 31))
    found = contrast_ratio_of_spectra(over_black=black, over_white=white, luminance=y)
    assert found == pytest.approx(100 * (black @ y) / (white @ y), rel=1e-13)
    same = contrast_ratio_of_spectra(over_black=white, over_white=white, luminance=y)
    assert (same == 100).all()
    assert contrast_ratio(over_black=[3, 0], over_white=[2, 5]).tolist() == [150, 0]


def test_hiding_of_98_percent_is_reached_at_the_thickness_of_the_example():
    found = hiding_thickness(FILM, **ONE)[0]
    assert found == pytest.approx(49.8129, abs=5e-5)
    white, black = seen(FILM, found, [0.8])[0, 0], seen(FILM, found, [0.0])[0, 0]
    assert black / white == pytest.approx(0.98, rel=1e-12)


@given(st.floats(0, 0.1), st.floats(0.005, 0.5), st.floats(1, 99.9), st.floats(0, 0.05))
def test_the_thickness_found_has_the_contrast_asked_for(k, s, contrast, black):
    film = Film([[k]], [[s]])
    bare = 100 * black / 0.8
    common = ONE | {"black_backing": [black]}
    if contrast <= bare:
        with pytest.raises(DomainError, match="bare backings"):
            hiding_thickness(film, contrast=contrast, **common)
        return
    found = hiding_thickness(film, contrast=contrast, **common)
    sides = [seen(film, found, [g])[0, 0] for g in (black, 0.8)]
    assert 100 * sides[0] / sides[1] == pytest.approx(contrast, rel=1e-9)
    thinner = [seen(film, found * 0.99, [g])[0, 0] for g in (black, 0.8)]
    assert 100 * thinner[0] / thinner[1] < contrast


@pytest.mark.parametrize("unit", [1e-9, 1e-3, 1.0, 1e3, 1e9])
@pytest.mark.parametrize("contrast", [50.0, 98.0, 99.5])
def test_the_unit_of_thickness_cancels(unit, contrast):
    two = Film([[0.004, 0.9], [0.05, 0.0001]], [[0.12, 0.3], [0.1, 0.01]])
    other = Film(*(np.array(part) * unit for part in two))
    common = {"luminance": [0.7, 0.3], "black_backing": [0.02, 0.02], "white_backing": [0.8, 0.8]}
    found = hiding_thickness(two, contrast=contrast, **common)
    again = hiding_thickness(other, contrast=contrast, **common)
    assert again * unit == pytest.approx(found, rel=1e-9)


def test_films_of_many_bands_are_weighted_by_luminance():
    rng = np.random.default_rng(2)
    film = Film(rng.uniform(0, 0.02, (4, 31)), rng.uniform(0.02, 0.2, (4, 31)))
    y = weights("D65", 10, Grid(400, 700, 10))[1]
    common = {"luminance": y, "black_backing": np.full(31, 0.02), "white_backing": np.full(31, 0.8)}
    found = hiding_thickness(film, **common)
    black = seen(film, found, common["black_backing"])
    white = seen(film, found, common["white_backing"])
    ratio = contrast_ratio_of_spectra(over_black=black, over_white=white, luminance=y)
    assert ratio == pytest.approx(np.full(4, 98), rel=1e-11)
    each = [hiding_thickness(Film(k, s), **common)[0] for k, s in zip(*film, strict=True)]
    assert found.tolist() == each


def test_where_the_contrast_dips_the_last_crossing_counts():
    # coloured backings: band 0, then band 1 is absorbed, band 2 hides late by scattering
    film = Film([[3.0, 0.1, 0.0]], [[0.01, 0.001, 0.001]])
    backings = {"black_backing": [0.06, 0.75, 0.03], "white_backing": [0.9, 0.8, 0.9]}
    thickness = np.geomspace(0.005, 3000, 40_000)
    many = Film(*(np.tile(part, (len(thickness), 1)) for part in film))
    black, white = (seen(many, thickness, table).sum(axis=1) for table in backings.values())
    shown = 100 * black / white
    short = shown < 40.0
    assert short[0] and (np.diff(short.astype(int)) != 0).sum() == 3  # reached, lost, reached
    found = hiding_thickness(film, luminance=[1, 1, 1], contrast=40.0, **backings)[0]
    assert found == pytest.approx(thickness[np.flatnonzero(short)[-1]], rel=1e-3)


def test_a_contrast_just_above_the_bare_backings_is_reached_at_once():
    found = hiding_thickness(FILM, contrast=5.0001, **(ONE | {"black_backing": [0.04]}))
    assert 0 < found[0] < 1e-4


@pytest.mark.parametrize("film", [Film([[0.3]], [[0.0]]), Film([[0.0]], [[0.0]])])
def test_a_film_that_does_not_scatter_never_hides(film):
    both = Film(np.vstack((FILM.absorption, film.absorption)),
                np.vstack((FILM.scattering, film.scattering)))  # fmt: skip
    with pytest.raises(DomainError, match="never_hides at row 1") as caught:
        hiding_thickness(both, **(ONE | {"black_backing": [0.04]}))
    assert (caught.value.what, caught.value.row) == ("film", 1)


@pytest.mark.parametrize(
    ("change", "what", "problem"),
    [
        ({"contrast": 100.0}, "contrast", "range"),
        ({"contrast": 0.0}, "contrast", "range"),
        ({"contrast": float("nan")}, "contrast", "range"),
        ({"luminance": [-1.0]}, "luminance weights", "range"),
        ({"luminance": [1.0, 1.0]}, "black backing", "shape"),
        ({"luminance": [[1.0], [1.0]]}, "luminance weights", "shape"),
        ({"black_backing": [[0.0], [0.0]]}, "backing", "shape"),
        ({"white_backing": [0.0]}, "Y over white", "range"),
        ({"white_backing": [1.5]}, "backing", "range"),
        ({"black_backing": [float("nan")]}, "black backing", "nan"),
    ],
)
def test_what_does_not_fit_is_refused_by_name(change, what, problem):
    with pytest.raises(DomainError) as caught:
        hiding_thickness(FILM, **(ONE | change))
    assert (caught.value.what, caught.value.problem) == (what, problem)


@pytest.mark.parametrize(
    ("black", "white", "what", "problem"),
    [
        ([1, -1], [2, 2], "Y over black", "range"),
        ([1, 1], [2, 0], "Y over white", "range"),
        ([1, float("nan")], [2, 2], "Y over black", "nan"),
        ([1, 1], [2, float("inf")], "Y over white", "inf"),
        ([1, 1], [2, 2, 2], "Y over black", "shape"),
        ([[1], [1]], [2, 2], "Y over black", "shape"),
    ],
)
def test_luminances_outside_the_domain_are_refused_by_name(black, white, what, problem):
    with pytest.raises(DomainError) as caught:
        contrast_ratio(over_black=black, over_white=white)
    assert (caught.value.what, caught.value.problem) == (what, problem)


def test_spectra_that_do_not_fit_are_refused_by_name():
    for black, white, what in (([0.1], [0.1, 0.2], "black"), ([0.1, 0.2], [0.1], "white")):
        with pytest.raises(DomainError, match=f"film over {what}: shape"):
            contrast_ratio_of_spectra(over_black=black, over_white=white, luminance=[1, 1])


def test_the_luminance_rows_of_the_package_serve_for_hiding_with_their_small_negative_weights():
    y = weights("D65", 10, Grid(360, 780, 10))[1]
    assert y.min() < 0
    film = Film(np.full((1, 43), 0.01), np.full((1, 43), 0.2))
    backings = {"black_backing": np.full(43, 0.02), "white_backing": np.full(43, 0.8)}
    grey = Film([[0.01]], [[0.2]])
    alone = {"luminance": [1.0], "black_backing": [0.02], "white_backing": [0.8]}
    found = hiding_thickness(film, luminance=y, **backings)
    assert found == pytest.approx(hiding_thickness(grey, **alone), rel=1e-9)
    assert found == pytest.approx(26.229, abs=1e-3)


@pytest.mark.parametrize("row", [[0.0, 0.0], [1.0, -1.0], [-1.0, 0.5]])
def test_luminance_without_a_positive_sum_is_refused_by_both(row):
    film = Film([[0.01, 0.01]], [[0.2, 0.2]])
    backings = {"black_backing": [0.02, 0.02], "white_backing": [0.8, 0.8]}
    with pytest.raises(DomainError, match="luminance"):
        hiding_thickness(film, luminance=row, **backings)
    with pytest.raises(DomainError, match="luminance"):
        contrast_ratio_of_spectra(over_black=[[0.1, 0.1]], over_white=[[0.5, 0.5]], luminance=row)
