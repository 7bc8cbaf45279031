"""Hue arrangement test (85 caps): scores in both conventions, what is refused, classes, norms."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from colorimetry import DomainError
from colorimetry.observers.arrangement import (
    ANCHORS,
    TRAYS,
    ArrangementError,
    Fault,
    arrangement_scores,
    checked_caps,
    from_trays,
)
from colorimetry.observers.norms import (
    AgeNorm,
    compared_with_age,
    mean_of_two,
    root_scores,
    score_classes,
)

PERFECT = np.concatenate(TRAYS)
# Hidayat, NZ Computer Science Research Student Conference (2008), worked example; the arrangement
# as transcribed in the CRAN package CVD.
PUBLISHED = [
    [85, 1, 2, 3, 4, 6, 5, 7, 9, 8, 10, 11, 12, 13, 15, 14, 17, 16, 19, 18, 21, 20],
    [*range(22, 29), 30, 29, *range(31, 39), 40, 39, 42, 41],
    [43, 44, 45, 47, 46, 48, 49, 51, 50, 53, 56, 55, 52, 54, 57, 59, 58, 62, 61, 63, 60],
    [66, 64, 67, 69, 71, 68, 70, 65, 72, 73, 74, 75, 77, 76, 78, 79, 80, 82, 81, 84, 83],
]
tests_of_caps = st.tuples(*(st.permutations(tray) for tray in TRAYS)).map(np.concatenate)


def exchanged(first: int, second: int) -> npt.NDArray[np.int64]:
    """The perfect order with two caps exchanged."""
    caps = PERFECT.copy()
    caps[np.isin(PERFECT, first)], caps[np.isin(PERFECT, second)] = second, first
    return caps


def totals(caps: npt.ArrayLike) -> tuple[int, int]:
    """The total of one test on the ring and with anchors."""
    ring = arrangement_scores(caps).total
    return int(ring[0]), int(arrangement_scores(caps, convention="anchors").total[0])


def naive_total(trays: list[list[int]], ends: list[tuple[int, int]]) -> int:
    """The rule written out once more, cap by cap."""

    def apart(first: int, second: int) -> int:
        return min((first - second) % 85, (second - first) % 85)

    total = 0
    for tray, (before, after) in zip(trays, ends, strict=True):
        row = [before, *tray, after]
        for i in range(1, len(row) - 1):
            total += apart(row[i], row[i - 1]) + apart(row[i], row[i + 1]) - 2
    return total


def test_the_published_example_scores_132_on_the_ring() -> None:
    # Hidayat (2008): scores per tray 24 + 12 + 44 + 52
    scores = arrangement_scores(from_trays(PUBLISHED))
    assert scores.convention == "ring"
    assert scores.tray_totals.tolist() == [[24, 12, 44, 52]]
    assert scores.total.tolist() == [132]


def test_the_published_example_scores_124_with_anchors() -> None:
    scores = arrangement_scores(from_trays(PUBLISHED), convention="anchors")
    assert scores.convention == "anchors"
    assert scores.tray_totals.tolist() == [[23, 11, 41, 49]]
    assert scores.total.tolist() == [124]


def test_the_perfect_order_scores_two_everywhere() -> None:
    for convention in ("ring", "anchors"):
        scores = arrangement_scores(PERFECT, convention=convention)
        assert (scores.scores == 2).all()
        assert (scores.errors == 0).all()
        assert scores.total.tolist() == [0]


@pytest.mark.parametrize(
    ("caps", "expected"),
    [
        (exchanged(10, 11), (4, 4)),
        (exchanged(85, 1), (4, 3)),  # first two of tray 1
        (exchanged(41, 42), (4, 3)),  # last two of tray 2
        (np.concatenate([*TRAYS[:2], TRAYS[2][::-1], TRAYS[3]]), (80, 40)),
        (np.concatenate([[85, *range(2, 21, 2), *range(21, 0, -2)], *TRAYS[1:]]), (80, 60)),
    ],
    ids=["middle pair", "first pair", "last pair", "tray 3 reversed", "tray 1 folded"],
)
def test_known_disturbances_score_as_computed_by_hand(
    caps: npt.NDArray[np.int64], expected: tuple[int, int]
) -> None:
    assert totals(caps) == expected


def test_an_exchange_in_the_middle_errs_by_one_at_four_positions() -> None:
    scores = arrangement_scores(exchanged(10, 11))
    assert np.flatnonzero(scores.errors[0]).tolist() == [9, 10, 11, 12]
    assert scores.errors[0, 9:13].tolist() == [1, 1, 1, 1]


def test_errors_belong_to_positions_or_to_cap_numbers() -> None:
    scores = arrangement_scores(from_trays(PUBLISHED))
    for position in range(85):
        cap = scores.caps[0, position]
        assert scores.errors_by_cap[0, cap - 1] == scores.errors[0, position]
    assert not np.array_equal(scores.errors, scores.errors_by_cap)


def test_random_orders_average_1120_with_anchors() -> None:
    # colour.md section 6: 2,000 draws, mean 1120, standard deviation 82
    rng = np.random.default_rng(6)
    draws = [np.concatenate([rng.permutation(tray) for tray in TRAYS]) for _ in range(2000)]
    total = arrangement_scores(np.array(draws), convention="anchors").total
    error_of_mean = 82 / np.sqrt(2000) * np.sqrt(2)  # both figures come from 2,000 draws
    assert abs(total.mean() - 1120) < 2 * error_of_mean
    assert abs(total.std() - 82) < 2 * 82 / np.sqrt(2 * 2000) * np.sqrt(2)


@pytest.mark.parametrize(
    ("swaps", "mean", "deviation"),
    [(1, 15.2, 7.4), (2, 29.3, 10.1), (4, 54.0, 13.3), (10, 112.2, 19.3)],
)
def test_random_swaps_score_as_in_the_published_table(
    swaps: int, mean: float, deviation: float
) -> None:
    # Victor, Invest. Ophthalmol. Vis. Sci. 29:476-481 (1988), table 1 (author's page): 10,000
    # arrangements, "average number of swaps per tray". How their number varies is not said; drawn
    # here as Poisson, so the standard deviation is compared within 8 % only.
    rng = np.random.default_rng(swaps)
    draws = np.tile(PERFECT, (2000, 1))
    starts = np.cumsum([0, *map(len, TRAYS)])
    for row in draws:
        for tray, start in zip(TRAYS, starts, strict=False):
            for at in start + rng.integers(len(tray) - 1, size=rng.poisson(swaps)):
                row[[at, at + 1]] = row[[at + 1, at]]
    total = arrangement_scores(draws).total
    assert abs(total.mean() - mean) < 3 * deviation * np.sqrt(1 / 2000 + 1 / 10000)
    assert abs(total.std() / deviation - 1) < 0.08
    if swaps == 1:
        assert abs(np.quantile(total, 0.975) - 33) <= 1


@settings(deadline=None)
@given(tests_of_caps)
def test_both_conventions_agree_with_the_rule_written_out(caps: npt.NDArray[np.int64]) -> None:
    cuts = np.cumsum([len(tray) for tray in TRAYS])[:-1]
    trays = [part.tolist() for part in np.split(caps, cuts)]
    ring = [(trays[i - 1][-1], trays[(i + 1) % 4][0]) for i in range(4)]
    assert totals(caps) == (naive_total(trays, ring), naive_total(trays, list(ANCHORS)))


@settings(deadline=None)
@given(tests_of_caps)
def test_on_the_ring_totals_are_multiples_of_four(caps: npt.NDArray[np.int64]) -> None:
    # the closed path winds round the circle of 85 caps exactly once
    assert totals(caps)[0] % 4 == 0


@settings(deadline=None)
@given(tests_of_caps)
def test_only_the_perfect_order_scores_zero_with_anchors(caps: npt.NDArray[np.int64]) -> None:
    scores = arrangement_scores(caps, convention="anchors")
    assert (scores.errors >= 0).all()
    assert (scores.total[0] == 0) == np.array_equal(caps, PERFECT)


@settings(deadline=None)
@given(tests_of_caps)
def test_reflecting_the_circle_changes_no_total(caps: npt.NDArray[np.int64]) -> None:
    # cap c becomes 21 - c on the ring of 85: trays 1 and 3 map to themselves, 2 and 4 exchange
    mirrored = (21 - caps - 1) % 85 + 1
    parts = np.split(mirrored, np.cumsum([len(tray) for tray in TRAYS])[:-1])
    again = np.concatenate([parts[i][::-1] for i in (0, 3, 2, 1)])
    assert totals(again) == totals(caps)


@settings(deadline=None)
@given(tests_of_caps)
def test_assignment_to_caps_is_a_rearrangement_of_the_errors(caps: npt.NDArray[np.int64]) -> None:
    scores = arrangement_scores(caps)
    assert sorted(scores.errors_by_cap[0]) == sorted(scores.errors[0])
    assert scores.tray_totals.sum() == scores.total[0] == scores.errors_by_cap.sum()


@given(st.lists(tests_of_caps, min_size=2, max_size=6))
@settings(max_examples=25, deadline=None)
def test_many_tests_score_as_one_by_one(several: list[npt.NDArray[np.int64]]) -> None:
    together = arrangement_scores(np.array(several))
    for row, caps in enumerate(several):
        assert np.array_equal(together.scores[row], arrangement_scores(caps).scores[0])
        assert np.array_equal(checked_caps(caps), together.caps[row : row + 1])


@settings(deadline=None)
@given(tests_of_caps, st.integers(0, 84), st.integers(-5, 95))
def test_a_cap_written_over_another_is_found(
    caps: npt.NDArray[np.int64], at: int, cap: int
) -> None:
    spoilt = caps.copy()
    spoilt[at] = cap
    if cap == caps[at]:
        assert np.array_equal(checked_caps(spoilt)[0], caps)
        return
    with pytest.raises(ArrangementError) as caught:
        checked_caps(spoilt)
    missing = [fault.cap for fault in caught.value.faults if fault.kind == "missing"]
    assert missing == [caps[at]]


def test_every_fault_is_named_with_tray_position_and_cap() -> None:
    trays = [list(tray) for tray in TRAYS]
    trays[1][4] = 24  # 26 is lost, 24 stands there twice
    trays[3][0] = 63  # 64 is lost, 63 belongs to tray 3
    with pytest.raises(ArrangementError) as caught:
        from_trays(trays)
    assert caught.value.faults == (
        Fault(0, 2, 5, 24, "duplicate"),
        Fault(0, 2, None, 26, "missing"),
        Fault(0, 4, 1, 63, "foreign"),
        Fault(0, 4, None, 64, "missing"),
    )
    assert (caught.value.row, caught.value.band) == (0, 26)
    assert "tray 2, position 5: cap 24 stands there a second time" in str(caught.value)
    assert "tray 2: cap 26 is missing" in str(caught.value)
    assert "tray 4, position 1: cap 63 does not belong to this tray" in str(caught.value)


def test_the_first_faulty_test_of_many_is_named() -> None:
    tests = np.tile(PERFECT, (4, 1))
    tests[2, 84] = 64
    tests[3, 0] = 22
    with pytest.raises(ArrangementError) as caught:
        arrangement_scores(tests)
    assert {fault.test for fault in caught.value.faults} == {2}
    assert (caught.value.row, caught.value.band) == (2, 84)


def test_caps_moved_between_trays_are_foreign_although_all_85_are_there() -> None:
    with pytest.raises(ArrangementError) as caught:
        checked_caps(exchanged(21, 22))
    kinds = [(fault.tray, fault.cap, fault.kind) for fault in caught.value.faults]
    assert kinds == [(1, 22, "foreign"), (1, 21, "missing"), (2, 21, "foreign"), (2, 22, "missing")]


def test_a_short_and_a_long_tray_are_named_by_their_caps() -> None:
    short = [list(TRAYS[0][:-1]), *map(list, TRAYS[1:])]
    with pytest.raises(ArrangementError, match="tray 1: cap 21 is missing"):
        from_trays(short)
    long = [[*TRAYS[0], 22], *map(list, TRAYS[1:])]
    with pytest.raises(ArrangementError, match="tray 1, position 23: cap 22 does not belong"):
        from_trays(long)
    with pytest.raises(ArrangementError, match="tray 4: cap 64 is missing") as caught:
        from_trays([*map(list, TRAYS[:3]), []])
    assert [fault.cap for fault in caught.value.faults] == list(TRAYS[3])


@pytest.mark.parametrize(
    ("value", "problem"),
    [
        (PERFECT.astype(float), "type"),
        (np.where(PERFECT == 5, np.nan, PERFECT), "nan"),
        (PERFECT.astype(str), "type"),
        (PERFECT.astype(bool), "type"),
        (PERFECT[:84], "shape"),
        (np.tile(PERFECT, (2, 2, 1)), "shape"),
        ([[1, 2], [3]], "shape"),
        (7, "shape"),
    ],
)
def test_what_is_no_table_of_cap_numbers_is_refused(value: object, problem: str) -> None:
    with pytest.raises(DomainError) as caught:
        checked_caps(value)  # type: ignore[arg-type]
    assert caught.value.problem == problem


def test_the_place_of_a_nan_is_named() -> None:
    tests = np.tile(PERFECT, (3, 1)).astype(float)
    tests[1, 40] = tests[1, 50] = tests[2, 0] = np.nan
    with pytest.raises(DomainError) as caught:
        arrangement_scores(tests)
    assert (caught.value.row, caught.value.band) == (1, 40)


def test_trays_that_are_no_rows_are_refused() -> None:
    for trays in ([list(PERFECT)], [*map(list, TRAYS[:3]), [[64]]], [*map(list, TRAYS[:3]), 64]):
        with pytest.raises(DomainError) as caught:
            from_trays(trays)  # type: ignore[arg-type]
        assert caught.value.problem == "shape"
    with pytest.raises(DomainError) as caught:
        from_trays([*map(list, TRAYS[:3]), [64.5] * 21])  # type: ignore[list-item]
    assert caught.value.what == "tray 4"


def test_an_unknown_convention_is_refused() -> None:
    with pytest.raises(DomainError, match="ring or anchors"):
        arrangement_scores(PERFECT, convention="both")  # type: ignore[arg-type]


def test_classes_and_their_gap() -> None:
    # the manual's classes as quoted by a public page: 0-16, 20-100, above 100
    scores = [0, 16, 16.5, 17, 19, 19.5, 20, 100, 100.5, 101, 1120]
    assert score_classes(scores) == [
        *["superior"] * 2,
        *["between"] * 4,
        *["average"] * 2,
        *["low"] * 3,
    ]
    assert score_classes(18) == ["between"]
    assert score_classes([]) == []


def test_roots_and_means_of_two_tests() -> None:
    assert root_scores([0, 16, 100, 2]).tolist() == pytest.approx([0, 4, 10, 2**0.5])
    assert mean_of_two([16, 40], [17, 20]).tolist() == [16.5, 30.0]
    with pytest.raises(DomainError) as caught:
        mean_of_two([16, 40], [17])
    assert caught.value.problem == "shape"


def test_the_place_of_an_impossible_total_is_named() -> None:
    with pytest.raises(DomainError) as caught:
        root_scores([4, -1, np.nan])
    assert (caught.value.row, caught.value.problem) == (2, "nan")


@pytest.mark.parametrize("value", [[-1], [np.nan], [np.inf], [[1, 2]]])
def test_impossible_totals_are_refused(value: list[float]) -> None:
    for function in (score_classes, root_scores):
        with pytest.raises(DomainError):
            function(value)


def test_an_age_norm_is_what_the_user_entered() -> None:
    young = AgeNorm(20, 29, 5.5, 9.0, "invented figures for this test")
    older = AgeNorm(30, 39, 6.5, 10.0, "invented figures for this test")
    beside = compared_with_age(100, 29, [young, older])
    assert (beside.root_score, beside.above_mean, beside.above_percentile_95) == (10.0, 4.5, True)
    assert beside.norm is young
    assert not compared_with_age(100, 30, [young, older]).above_percentile_95
    for norms in ([], [young, AgeNorm(25, 29, 5.0, 8.0, "another")]):
        with pytest.raises(DomainError, match="norms cover the age 29"):
            compared_with_age(100, 29, norms)


def test_norms_at_the_ends_of_what_is_possible_are_taken() -> None:
    newborn = AgeNorm(0, 0, 0.0, 0.0, "invented figures for this test")
    oldest = AgeNorm(130, 130, 9.0, 9.0, "invented figures for this test")
    beside = compared_with_age(0, 0, [newborn, oldest])
    assert (beside.above_mean, beside.above_percentile_95) == (0.0, False)
    assert compared_with_age(81, 130, [newborn, oldest]).norm is oldest


@pytest.mark.parametrize(
    "figures",
    [
        (30, 20, 5.0, 9.0, "s"),
        (-1, 20, 5.0, 9.0, "s"),
        (20, 131, 5.0, 9.0, "s"),
        (20, 29, 9.1, 9.0, "s"),
        (20, 29, -0.1, 9.0, "s"),
        (20, 29, np.nan, 9.0, "s"),
        (20, 29, 5.0, np.inf, "s"),
        (20, 29, 5.0, 9.0, "  "),
    ],
)
def test_impossible_age_norms_are_refused(figures: tuple[int, int, float, float, str]) -> None:
    with pytest.raises(DomainError):
        AgeNorm(*figures)
