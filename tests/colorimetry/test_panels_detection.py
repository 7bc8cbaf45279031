"""Effectiveness, misses and false alarms; intervals of proportions."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from colorimetry import DomainError
from colorimetry.panels.detection import Detection, Proportion, against_reference, proportion

NAN = np.nan


def counted(found: Detection) -> tuple[tuple[int, int], ...]:
    """Counts of effectiveness, misses and false alarms."""
    return tuple(
        (part.count, part.of) for part in (found.effectiveness, found.misses, found.false_alarms)
    )


@settings(deadline=None)
@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_intervals_agree_with_an_independent_library(counts: tuple[int, int]) -> None:
    count, of = counts
    for ours, theirs in (("wilson", "wilson"), ("exact", "beta")):
        for confidence in (0.8, 0.95, 0.99):
            found = proportion(count, of, confidence=confidence, method=ours)  # type: ignore[arg-type]
            expected = proportion_confint(count, of, alpha=1 - confidence, method=theirs)
            assert (found.low, found.high) == pytest.approx(expected, abs=1e-9)
            assert found.low is not None and found.high is not None
            assert 0.0 <= found.low <= count / of <= found.high <= 1.0


def test_exact_limits_have_the_tails_they_should() -> None:
    found = proportion(3, 50, method="exact")
    assert stats.binom.sf(2, 50, found.low) == pytest.approx(0.025, abs=1e-12)
    assert stats.binom.cdf(3, 50, found.high) == pytest.approx(0.025, abs=1e-12)


def test_the_exact_interval_holds_the_wilson_centre_and_is_wider() -> None:
    exact, wilson = proportion(3, 50, method="exact"), proportion(3, 50)
    assert exact.low is not None and wilson.low is not None
    assert exact.high is not None and wilson.high is not None
    assert exact.high - exact.low > wilson.high - wilson.low
    assert (exact.method, wilson.method) == ("exact", "wilson")


def test_of_nothing_there_is_no_share() -> None:
    assert proportion(0, 0) == Proportion(0, 0, None, None, None, 0.95, "wilson")


def test_the_ends_are_exact() -> None:
    for method in ("wilson", "exact"):
        none, all_ = proportion(0, 9, method=method), proportion(9, 9, method=method)  # type: ignore[arg-type]
        assert (none.value, none.low) == (0.0, 0.0)
        assert (all_.value, all_.high) == (1.0, 1.0)


@pytest.mark.parametrize(
    "arguments",
    [
        {"count": 4, "of": 3},
        {"count": -1, "of": 3},
        {"count": 1, "of": 3, "confidence": 1.0},
        {"count": 1, "of": 3, "method": "wald"},
    ],
)
def test_impossible_proportions_are_refused(arguments: dict[str, object]) -> None:
    with pytest.raises(DomainError):
        proportion(**arguments)  # type: ignore[arg-type]


def test_counts_against_the_reference_are_those_counted_by_hand() -> None:
    reference = [1, 1, 1, 0, 0]
    decisions = np.array(
        [
            [[1, 1], [1, 0], [1, 1], [0, 0], [1, 0]],
            [[1, 1], [0, 0], [1, NAN], [0, 1], [NAN, NAN]],
        ]
    )
    found = against_reference(decisions, reference=reference)
    # effectiveness counts specimens; misses and false alarms count decisions
    assert counted(found.observers[0]) == ((3, 5), (1, 4), (1, 6))
    assert counted(found.observers[1]) == ((2, 4), (1, 2), (2, 5))
    assert counted(found.panel) == ((2, 5), (2, 6), (3, 11))


def test_an_observer_like_the_reference_makes_no_mistake() -> None:
    reference = [1, 0, 1, 0]
    found = against_reference([reference], reference=reference, method="exact")
    assert counted(found.observers[0]) == ((4, 4), (0, 2), (0, 2))
    assert found.observers[0].misses.method == "exact"
    opposite = against_reference([[0, 1, 0, 1]], reference=reference)
    assert counted(opposite.panel) == ((0, 4), (2, 2), (2, 2))


def test_without_rejected_specimens_there_are_no_misses_to_count() -> None:
    found = against_reference([[1, 0, 1]], reference=[1, 1, 1])
    assert (found.panel.misses.of, found.panel.misses.value) == (0, None)


@settings(deadline=None)
@given(
    st.lists(
        st.lists(st.sampled_from([0.0, 1.0, NAN]), min_size=6, max_size=6), min_size=2, max_size=4
    ),
    st.lists(st.sampled_from([0.0, 1.0]), min_size=6, max_size=6),
    st.permutations(range(6)),
)
def test_order_of_specimens_and_observers_does_not_matter(
    rows: list[list[float]], reference: list[float], order: list[int]
) -> None:
    table, truth = np.array(rows), np.array(reference)
    first = against_reference(table, reference=truth)
    again = against_reference(table[::-1, order], reference=truth[order])
    assert again.panel == first.panel
    assert again.observers == first.observers[::-1]
    flipped = against_reference(1.0 - table, reference=1.0 - truth)
    assert flipped.panel.misses == first.panel.false_alarms
    misses = sum(one.misses.count for one in first.observers)
    assert misses == first.panel.misses.count


@pytest.mark.parametrize(
    ("decisions", "reference", "what"),
    [
        ([[1, 2]], [1, 0], "decisions"),
        ([[1, np.inf]], [1, 0], "decisions"),
        ([1, 0], [1, 0], "decisions"),
        (np.empty((1, 0)), [], "decisions"),
        ([[1, 0]], [1], "reference"),
        ([[1, 0]], [1, NAN], "reference"),
        ([[1, 0]], [1, 0.5], "reference"),
    ],
)
def test_what_is_no_decision_is_refused(
    decisions: npt.ArrayLike, reference: npt.ArrayLike, what: str
) -> None:
    with pytest.raises(DomainError) as caught:
        against_reference(decisions, reference=reference)
    assert caught.value.what == what


@pytest.mark.parametrize("reference", [[[1, 0], [0, 1]], [[1, 0]], [[[1, 0]]], 1.0])
def test_a_reference_of_another_shape_is_not_cut_to_its_first_row(
    reference: npt.ArrayLike,
) -> None:
    with pytest.raises(DomainError) as caught:
        against_reference([[1, 0], [1, 1]], reference=reference)
    assert (caught.value.what, caught.value.problem) == ("reference", "shape")


@pytest.mark.parametrize(
    ("count", "of"), [(3.7, 10), (3, np.inf), (3, 10.5), (NAN, 3), (True, 3), ("3", 10), (3, None)]
)
@pytest.mark.parametrize("method", ["wilson", "exact"])
def test_a_proportion_is_of_whole_numbers(count: Any, of: Any, method: Any) -> None:
    with pytest.raises(DomainError):
        proportion(count, of, method=method)
