"""Kappa and alpha against published tables, two independent libraries, and their own symmetries."""

from __future__ import annotations

import warnings
from collections.abc import Callable

import krippendorff
import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats import inter_rater
from statsmodels.stats.tests import test_inter_rater as published

from colorimetry import DomainError
from colorimetry.panels.alpha import alpha_interval, krippendorff_alpha
from colorimetry.panels.kappa import (
    category_weights,
    cohen_interval,
    cohen_kappa,
    cross_table,
    fleiss_interval,
    fleiss_kappa,
)

NAN = np.nan
LEVELS = ("nominal", "ordinal", "interval", "ratio")
# Krippendorff's two published examples: 3 coders x 15 units, 4 observers x 12 units
THREE_CODERS = np.array(
    [
        [NAN, NAN, NAN, NAN, NAN, 3, 4, 1, 2, 1, 1, 3, 3, NAN, 3],
        [1, NAN, 2, 1, 3, 3, 4, 3, *[NAN] * 7],
        [NAN, NAN, 2, 1, 3, 4, 4, NAN, 2, 1, 1, 3, 3, NAN, 4],
    ]
)
FOUR_OBSERVERS = np.array(
    [
        [1, 2, 3, 3, 2, 1, 4, 1, 2, NAN, NAN, NAN],
        [1, 2, 3, 3, 2, 2, 4, 1, 2, 5, NAN, 3],
        [NAN, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, NAN],
        [1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, NAN],
    ]
)
cross_tables = st.integers(2, 5).flatmap(
    lambda k: st.lists(
        st.lists(st.integers(0, 9), min_size=k, max_size=k), min_size=k, max_size=k
    ).map(lambda rows: np.array(rows) + np.eye(k, dtype=int))
)
rated = st.lists(
    st.lists(st.sampled_from([NAN, 0.0, 1.0, 2.0, 5.0]), min_size=3, max_size=3),
    min_size=2,
    max_size=12,
).map(lambda columns: np.array(columns).T)


def test_cohen_kappa_of_a_known_table() -> None:
    # 35 of 50 agree, 25 by chance: (0.7 - 0.5) / (1 - 0.5)
    kappa = cohen_kappa([[20, 5], [10, 15]])
    assert kappa.value == pytest.approx(0.4, abs=1e-15)
    assert (kappa.observed, kappa.expected, kappa.weighting) == (0.7, 0.5, "none")
    assert kappa.undefined == ""


@settings(deadline=None)
@given(cross_tables, st.sampled_from(["none", "linear", "quadratic"]))
def test_cohen_kappa_agrees_with_an_independent_library(
    table: npt.NDArray[np.int64], weighting: str
) -> None:
    wt = {"none": None, "linear": "linear", "quadratic": "quadratic"}[weighting]
    expected = inter_rater.cohens_kappa(table, wt=wt, return_results=False)
    ours = cohen_kappa(table, weighting=weighting)  # type: ignore[arg-type]
    assert ours.value == pytest.approx(float(expected), abs=1e-12)


@settings(deadline=None)
@given(cross_tables, st.randoms(use_true_random=False))
def test_cohen_kappa_knows_no_first_rater_and_no_names(
    table: npt.NDArray[np.int64], random: object
) -> None:
    order = list(range(len(table)))
    random.shuffle(order)  # type: ignore[attr-defined]
    value = cohen_kappa(table).value
    assert cohen_kappa(table[np.ix_(order, order)]).value == pytest.approx(value, abs=1e-12)
    for weighting in ("none", "linear", "quadratic"):
        first = cohen_kappa(table, weighting=weighting)  # type: ignore[arg-type]
        turned = cohen_kappa(table.T, weighting=weighting)  # type: ignore[arg-type]
        reversed_scale = cohen_kappa(table[::-1, ::-1], weighting=weighting)  # type: ignore[arg-type]
        assert turned.value == pytest.approx(first.value, abs=1e-12)
        assert reversed_scale.value == pytest.approx(first.value, abs=1e-12)


def test_of_two_categories_all_weightings_agree() -> None:
    for weighting in ("linear", "quadratic"):
        value = cohen_kappa([[20, 5], [10, 15]], weighting=weighting).value  # type: ignore[arg-type]
        assert value == pytest.approx(0.4, abs=1e-15)


def test_weights_fall_as_stated() -> None:
    assert category_weights(3, "none").tolist() == np.eye(3).tolist()
    assert category_weights(3, "linear")[0].tolist() == [1.0, 0.5, 0.0]
    assert category_weights(3, "quadratic")[0].tolist() == [1.0, 0.75, 0.0]
    assert category_weights(1, "linear").tolist() == [[1.0]]
    with pytest.raises(DomainError, match="none, linear or quadratic"):
        category_weights(3, "cubic")  # type: ignore[arg-type]


def test_one_category_alone_leaves_kappa_undefined() -> None:
    kappa = cohen_kappa([[7, 0], [0, 0]])
    assert (kappa.value, kappa.undefined, kappa.observed) == (None, "one_category", 1.0)
    kappa = fleiss_kappa([[0, 4], [0, 4]])
    assert (kappa.value, kappa.undefined, kappa.expected) == (None, "one_category", 1.0)


def test_raters_who_never_meet_have_a_kappa_of_zero_or_less() -> None:
    assert cohen_kappa([[0, 7], [0, 0]]).value == 0.0
    assert cohen_kappa([[0, 5], [5, 0]]).value == -1.0


def test_ratings_are_counted_into_a_cross_table() -> None:
    table = cross_table([0, 1, 1, 2], [0, 2, 2, 2], 3)
    assert table.tolist() == [[1, 0, 0], [0, 0, 2], [0, 0, 1]]


@pytest.mark.parametrize(
    ("first", "second"),
    [([0, 3], [0, 1]), ([0, -1], [0, 1]), ([0, 1], [0]), ([0, NAN], [0, 1]), ([0, 0.5], [0, 1])],
)
def test_ratings_that_are_no_codes_are_refused(first: list[float], second: list[float]) -> None:
    with pytest.raises(DomainError):
        cross_table(first, second, 3)


@pytest.mark.parametrize(
    "table",
    [[[1, 2]], [[0, 0], [0, 0]], [[1, -1], [0, 2]], [[1, 0.5], [0, 2]], [[1, NAN], [0, 2]]],
)
def test_what_is_no_cross_table_is_refused(table: list[list[float]]) -> None:
    with pytest.raises(DomainError):
        cohen_kappa(table)


def test_fleiss_kappa_of_his_diagnoses() -> None:
    # Fleiss, Psychol. Bull. 76:378-382 (1971): 30 patients, 6 raters, 5 categories
    counts, _ = inter_rater.aggregate_raters(published.diagnoses)
    assert counts.sum(axis=0).tolist() == [26, 26, 30, 55, 43]
    kappa = fleiss_kappa(counts)
    assert kappa.value == pytest.approx(0.4302445, abs=5e-8)


def test_the_kappa_of_his_diagnoses_has_the_published_distance_from_chance() -> None:
    # z as Fleiss, Nee & Landis, Psychol. Bull. 86:974-977 (1979) give its variance without
    # agreement; 17.65183 is what the R package irr prints for these data
    counts, _ = inter_rater.aggregate_raters(published.diagnoses)
    units, raters = len(counts), int(counts[0].sum())
    p = counts.sum(axis=0) / counts.sum()
    chance = p * (1 - p)
    spread = chance.sum() ** 2 - (chance * (1 - 2 * p)).sum()
    error = np.sqrt(2 * spread / (units * raters * (raters - 1))) / chance.sum()
    assert fleiss_kappa(counts).value / error == pytest.approx(17.65183, abs=5e-6)


def test_fleiss_kappa_of_a_second_published_table() -> None:
    counts = np.asarray(published.table1)
    assert counts.shape == (10, 5)
    assert fleiss_kappa(counts).value == pytest.approx(0.20993, abs=5e-6)


@settings(deadline=None)
@given(
    st.lists(st.lists(st.integers(0, 3), min_size=5, max_size=5), min_size=2, max_size=10).filter(
        lambda rows: len({code for row in rows for code in row}) > 1
    ),
    st.permutations(range(4)),
)
def test_fleiss_kappa_agrees_with_a_library_and_knows_no_order(
    ratings: list[list[int]], names: list[int]
) -> None:
    counts = np.array([np.bincount(row, minlength=4) for row in ratings])
    value = fleiss_kappa(counts).value
    assert value == pytest.approx(float(inter_rater.fleiss_kappa(counts)), abs=1e-12)
    assert fleiss_kappa(counts[::-1, names]).value == pytest.approx(value, abs=1e-12)


def test_units_with_unlike_numbers_of_ratings_are_named() -> None:
    with pytest.raises(DomainError, match="use alpha") as caught:
        fleiss_kappa([[2, 1], [1, 2], [2, 2]])
    assert caught.value.row == 2
    with pytest.raises(DomainError, match="two or more"):
        fleiss_kappa([[1, 0], [0, 1]])


@pytest.mark.parametrize(
    ("ratings", "level", "expected"),
    [
        (FOUR_OBSERVERS, "nominal", 0.743421),
        (FOUR_OBSERVERS, "ordinal", 0.815388),
        (FOUR_OBSERVERS, "interval", 0.849107),
        (FOUR_OBSERVERS, "ratio", 0.797403),
        (THREE_CODERS, "nominal", 0.691358),
        (THREE_CODERS, "interval", 0.810845),
    ],
)
def test_alpha_of_the_published_examples(
    ratings: npt.NDArray[np.float64], level: str, expected: float
) -> None:
    # Krippendorff's published examples; figures with package krippendorff 0.9.0 to six decimals
    # (published with three, from memory: .743 .815 .849 .797; .691 .811)
    alpha = krippendorff_alpha(ratings, level=level)  # type: ignore[arg-type]
    assert alpha.value == pytest.approx(expected, abs=5e-7)
    assert alpha.level == level


def test_alpha_counts_pairable_ratings_only() -> None:
    alpha = krippendorff_alpha(THREE_CODERS, level="nominal")
    assert (alpha.units, alpha.ratings) == (12, 26)


@given(rated, st.sampled_from(LEVELS))
@settings(max_examples=150, deadline=None)
def test_alpha_agrees_with_an_independent_library(
    ratings: npt.NDArray[np.float64], level: str
) -> None:
    ours = krippendorff_alpha(ratings, level=level)  # type: ignore[arg-type]
    pairable = ratings[:, np.isfinite(ratings).sum(axis=0) > 1]
    distinct = np.unique(pairable[np.isfinite(pairable)]).size
    if distinct < 2:
        assert ours.value is None
        assert ours.undefined == ("one_category" if distinct else "no_pairs")
        return
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library divides 0 by 0 for the pair (0, 0) of ratios
        theirs = krippendorff.alpha(reliability_data=pairable, level_of_measurement=level)
    assert ours.value == pytest.approx(theirs, abs=1e-9)


@settings(deadline=None)
@given(rated, st.sampled_from(LEVELS), st.permutations(range(3)), st.integers(1, 11))
def test_alpha_knows_no_order_of_raters_and_units(
    ratings: npt.NDArray[np.float64], level: str, raters: list[int], turn: int
) -> None:
    first = krippendorff_alpha(ratings, level=level)  # type: ignore[arg-type]
    again = krippendorff_alpha(np.roll(ratings[raters], turn, axis=1), level=level)  # type: ignore[arg-type]
    assert (again.units, again.ratings, again.undefined) == (
        first.units,
        first.ratings,
        first.undefined,
    )
    assert again.value == pytest.approx(first.value, abs=1e-12)


@settings(deadline=None)
@given(rated, st.permutations([0.0, 1.0, 2.0, 5.0]))
def test_nominal_alpha_knows_no_names(ratings: npt.NDArray[np.float64], names: list[float]) -> None:
    renamed = ratings.copy()
    for old, new in zip([0.0, 1.0, 2.0, 5.0], names, strict=True):
        renamed[ratings == old] = new
    value = krippendorff_alpha(ratings, level="nominal").value
    assert krippendorff_alpha(renamed, level="nominal").value == pytest.approx(value, abs=1e-12)


@settings(deadline=None)
@given(rated, st.floats(0.1, 1000.0), st.floats(-1000.0, 1000.0))
def test_levels_ignore_what_they_should(
    ratings: npt.NDArray[np.float64], scale: float, shift: float
) -> None:
    def alpha(values: npt.NDArray[np.float64], level: str) -> float | None:
        return krippendorff_alpha(values, level=level).value  # type: ignore[arg-type]

    assert alpha(ratings**3, "ordinal") == pytest.approx(alpha(ratings, "ordinal"), abs=1e-12)
    moved = scale * ratings + shift
    assert alpha(moved, "interval") == pytest.approx(alpha(ratings, "interval"), abs=1e-6)
    assert alpha(scale * ratings, "ratio") == pytest.approx(alpha(ratings, "ratio"), abs=1e-9)


def test_perfect_agreement_is_one_and_enormous_values_do_not_overflow() -> None:
    for level in LEVELS:
        assert krippendorff_alpha([[1, 2, 3], [1, 2, 3]], level=level).value == 1.0
        large = [[1e300, 2e300, 3e300], [1e300, 2e300, 2e300]]
        small = [[1, 2, 3], [1, 2, 2]]
        assert krippendorff_alpha(large, level=level).value == pytest.approx(
            krippendorff_alpha(small, level=level).value
        )


@pytest.mark.parametrize(
    ("ratings", "level", "problem"),
    [
        ([[1, np.inf], [1, 2]], "interval", "inf"),
        ([[1, -1], [1, 2]], "ratio", "range"),
        ([1, 2, 3], "nominal", "shape"),
        ([["a", "b"], ["a", "b"]], "nominal", "type"),
        ([[1, 2], [1, 2]], "cardinal", "range"),
        ([np.arange(2001), np.arange(2001)], "interval", "range"),
    ],
)
def test_what_alpha_is_not_defined_for_is_refused(
    ratings: npt.ArrayLike, level: str, problem: str
) -> None:
    with pytest.raises(DomainError) as caught:
        krippendorff_alpha(ratings, level=level)  # type: ignore[arg-type]
    assert caught.value.problem == problem


def test_the_place_of_a_negative_ratio_is_named() -> None:
    with pytest.raises(DomainError) as caught:
        krippendorff_alpha([[1, 2, 3], [1, 2, -3]], level="ratio")
    assert (caught.value.row, caught.value.band) == (1, 2)


def library_interval(
    statistic: Callable[[npt.NDArray[np.intp]], float], units: int
) -> tuple[float, float]:
    """The BCa interval of a statistic of drawn unit numbers, by an independent library."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = stats.bootstrap(
            (np.arange(units),),
            lambda drawn: statistic(drawn.astype(np.intp)),
            n_resamples=4000,
            method="BCa",
            vectorized=False,
            random_state=np.random.default_rng(8),
        )
    return found.confidence_interval


@pytest.mark.parametrize("level", LEVELS)
def test_the_interval_of_alpha_is_that_of_an_independent_library(level: str) -> None:
    rng = np.random.default_rng(4)
    truth = rng.integers(1, 5, 40)
    ratings = np.clip(truth + rng.integers(-1, 2, (3, 40)) * (rng.random((3, 40)) < 0.5), 1, 5)

    def alpha(drawn: npt.NDArray[np.intp]) -> float:
        return krippendorff_alpha(ratings[:, drawn], level=level).value or 0.0  # type: ignore[arg-type]

    low, high = library_interval(alpha, 40)
    found = alpha_interval(ratings, level=level, seed=3, resamples=20_000)  # type: ignore[arg-type]
    assert found.low == pytest.approx(low, abs=0.1 * (high - low))
    assert found.high == pytest.approx(high, abs=0.1 * (high - low))
    assert (found.seed, found.resamples, found.confidence) == (3, 20_000, 0.95)
    assert "units resampled" in found.method


def test_intervals_of_kappa_are_those_of_an_independent_library() -> None:
    counts, _ = inter_rater.aggregate_raters(published.diagnoses)
    low, high = library_interval(lambda drawn: float(inter_rater.fleiss_kappa(counts[drawn])), 30)
    found = fleiss_interval(counts, seed=3, resamples=20_000)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.1 * (high - low))
    table = np.array([[12, 4, 1], [2, 15, 3], [0, 5, 8]])
    pairs = np.repeat(np.argwhere(table >= 0), table.ravel(), axis=0)

    def kappa(drawn: npt.NDArray[np.intp]) -> float:
        again = np.zeros((3, 3))
        np.add.at(again, tuple(pairs[drawn].T), 1)
        return float(inter_rater.cohens_kappa(again, wt="linear", return_results=False))

    low, high = library_interval(kappa, 50)
    found = cohen_interval(table, weighting="linear", seed=3, resamples=20_000)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.1 * (high - low))


@pytest.mark.parametrize("level", ["nominal", "ordinal"])
def test_the_interval_of_alpha_covers_for_few_units_too(level: str) -> None:
    # 15 units, four raters: 500 invented panels, seeds 0 to 499; plain percentiles hold alpha in
    # about 88 % (nominal) and 93 % (ordinal) of them, these in 94 %
    def rated_by_four(units: int, seed: int) -> npt.NDArray[np.float64]:
        rng = np.random.default_rng(seed)
        truth = rng.integers(0, 5, units)
        if level == "ordinal":
            return np.clip(np.round(truth + rng.normal(0, 1, (4, units))), 0, 4)
        seen = rng.random((4, units)) < 0.6
        return np.where(seen, truth, rng.integers(0, 5, (4, units))).astype(float)

    true = krippendorff_alpha(rated_by_four(200_000, 9999), level=level).value  # type: ignore[arg-type]
    held = 0
    for seed in range(500):
        found = alpha_interval(rated_by_four(15, seed), level=level, seed=seed, resamples=1000)  # type: ignore[arg-type]
        assert found.low is not None and found.high is not None and true is not None
        held += found.low <= true <= found.high
    assert 0.92 <= held / 500 <= 0.975


def test_intervals_repeat_with_their_seed_and_hold_the_value() -> None:
    counts, _ = inter_rater.aggregate_raters(published.diagnoses)
    first = fleiss_interval(counts, seed=1)
    assert first == fleiss_interval(counts, seed=1)
    assert first != fleiss_interval(counts, seed=2)
    assert first.low is not None and first.high is not None
    assert first.low < 0.4302445 < first.high
    wide = fleiss_interval(counts, seed=1, confidence=0.99)
    assert wide.low is not None and wide.high is not None
    assert wide.low < first.low < first.high < wide.high


def test_the_interval_of_cohen_kappa_has_the_width_of_its_standard_error() -> None:
    # large-sample standard error by an independent library
    table = np.array([[40, 9, 3], [6, 50, 8], [2, 7, 45]])
    # (BCa ends lie askew, their distance hardly changes)
    for weighting, wt in (("none", None), ("linear", "linear"), ("quadratic", "quadratic")):
        reference = inter_rater.cohens_kappa(table, wt=wt)
        found = cohen_interval(table, seed=5, weighting=weighting, resamples=20000)  # type: ignore[arg-type]
        assert found.low is not None and found.high is not None
        width = (found.high - found.low) / (2 * 1.959964)
        assert width == pytest.approx(reference.std_kappa, rel=0.05)


def test_an_interval_has_no_ends_where_many_resamples_have_no_value() -> None:
    ratings = np.array([[1, 1, 1, 2], [1, 1, 1, 1]])
    found = alpha_interval(ratings, level="nominal", seed=1, resamples=500)
    # three of four units hold one category: (3/4)^4 of the resamples hold nothing else
    assert found.undefined == pytest.approx(500 * 0.75**4, abs=40)
    assert (found.low, found.high) == (None, None)
    nothing = alpha_interval([[1, NAN], [NAN, 1]], level="nominal", seed=1)
    assert (nothing.undefined, nothing.low) == (2000, None)
    one = cohen_interval([[9, 0], [0, 0]], seed=1)
    assert (one.undefined, one.high) == (2000, None)


@pytest.mark.parametrize(
    "options",
    [
        {"seed": -1},
        {"seed": 1.5},
        {"seed": True},
        {"seed": 1, "resamples": 199},
        {"seed": 1, "resamples": 20_001},
        {"seed": 1, "confidence": 1.0},
        {"seed": 1, "confidence": 0.5},
        {"seed": 1, "confidence": NAN},
    ],
)
def test_draws_that_cannot_be_stated_are_refused(options: dict[str, float]) -> None:
    for interval, data in (
        (cohen_interval, [[5, 1], [1, 5]]),
        (fleiss_interval, [[2, 1], [1, 2]]),
    ):
        with pytest.raises(DomainError):
            interval(data, **options)  # type: ignore[operator]
    with pytest.raises(DomainError):
        alpha_interval([[1, 2], [1, 2]], level="nominal", **options)  # type: ignore[arg-type]


def test_more_units_than_can_be_resampled_are_refused() -> None:
    many = np.tile([1.0, 2.0], (2, 2501))
    assert krippendorff_alpha(many, level="nominal").value == 1.0
    with pytest.raises(DomainError, match="5000"):
        alpha_interval(many, level="nominal", seed=1)
    with pytest.raises(DomainError, match="5000"):
        fleiss_interval(np.tile([1, 1], (5001, 1)), seed=1)


def test_one_unit_drawn_again_gives_no_interval_instead_of_one_without_width() -> None:
    nan = float("nan")
    alone = [[1, 2, nan, 3], [2, nan, 1, nan], [2, nan, nan, nan]]
    found = [
        alpha_interval(alone, level="nominal", seed=1),
        fleiss_interval([[2, 1]], seed=1),
        cohen_interval([[0, 1], [0, 0]], seed=1),
    ]
    assert [(one.low, one.high) for one in found] == [(None, None)] * 3
    two = fleiss_interval([[2, 1], [1, 2]], seed=1)
    assert two.low is not None and two.high is not None and two.low < two.high
