"""A sample spread over strata: in proportion, one each at least, the same every time."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError
from colorimetry.sampling import allocate

SIZES = st.lists(st.integers(1, 10**6), min_size=1, max_size=30)


@pytest.mark.parametrize(
    ("n", "sizes", "drawn"),
    [
        (10, [50, 50], [5, 5]),
        (10, [100, 300, 600], [1, 3, 6]),
        (3, [1, 1, 1], [1, 1, 1]),
        (6, [1, 2, 3], [1, 2, 3]),
        (80, [1000], [80]),
        # quotas 3.5, 3.5, 1: equal remainders in the order given
        (8, [70, 70, 20], [4, 3, 1]),
        # quotas 4.28…, 2.14…, 0.57…: the smallest gets one, the others 4 and 2 of six
        (7, [60, 30, 8], [4, 2, 1]),
        # largest remainder: 2.4, 2.3, 0.3 → one for the third, then four for 2.08…, 1.99…
        (5, [48, 46, 6], [2, 2, 1]),
        # one more stratum falls below one piece after the first was given its own
        (4, [100, 26, 1], [2, 1, 1]),
    ],
)
def test_shares_are_in_proportion_with_one_each_at_least(n, sizes, drawn):
    assert list(allocate(n, dict(enumerate(sizes))).values()) == drawn


def test_a_stratum_that_falls_below_one_piece_later_gets_one_too():
    # 8 of 77: shares 0.42, 1.25, 1.56, 1.04, 3.74; with one for the first, 1.04 becomes 0.96; with
    # one for that too, the others share six: 1.14, 1.43, 3.43, and of equal remainders the first
    assert list(allocate(8, dict(enumerate([4, 12, 15, 10, 36]))).values()) == [1, 1, 2, 1, 3]


def test_the_largest_remainder_gets_the_piece_that_is_left():
    # 10 of 100: quotas 3.3, 3.4, 3.3
    assert allocate(10, {"a": 33, "b": 34, "c": 33}) == {"a": 3, "b": 4, "c": 3}
    assert allocate(11, {"a": 33, "b": 34, "c": 33}) == {"a": 4, "b": 4, "c": 3}


def test_labels_may_be_batch_and_cavity_and_keep_their_order():
    sizes = {("batch 2", 4): 500, ("batch 1", 1): 300, ("batch 1", 2): 200}
    drawn = allocate(10, sizes)
    assert list(drawn.items()) == [
        (("batch 2", 4), 5),
        (("batch 1", 1), 3),
        (("batch 1", 2), 2),
    ]


@given(SIZES, st.data())
def test_the_whole_sample_is_drawn_and_no_stratum_gives_more_than_it_has(sizes, data):
    strata = dict(enumerate(sizes))
    n = data.draw(st.integers(len(sizes), sum(sizes)))
    drawn = allocate(n, strata)
    assert sum(drawn.values()) == n
    assert all(1 <= drawn[label] <= strata[label] for label in strata)


@given(SIZES, st.data())
def test_a_larger_stratum_never_gives_less(sizes, data):
    n = data.draw(st.integers(len(sizes), sum(sizes)))
    drawn = allocate(n, dict(enumerate(sizes)))
    by_size = sorted(range(len(sizes)), key=lambda label: sizes[label])
    for smaller, larger in pairwise(by_size):
        assert drawn[smaller] <= drawn[larger] or sizes[smaller] == sizes[larger]


@given(SIZES, st.data())
def test_where_all_shares_reach_one_nobody_is_off_by_a_piece(sizes, data):
    total = sum(sizes)
    n = data.draw(st.integers(len(sizes), total))
    if all(n * size >= total for size in sizes):
        drawn = allocate(n, dict(enumerate(sizes)))
        assert all(abs(drawn[i] * total - n * size) < total for i, size in enumerate(sizes))


@given(SIZES, st.data(), st.randoms(use_true_random=False))
def test_the_order_of_strata_matters_to_ties_alone(sizes, data, random):
    n = data.draw(st.integers(len(sizes), sum(sizes)))
    strata = dict(enumerate(sizes))
    shuffled = list(strata)
    random.shuffle(shuffled)
    one, other = allocate(n, strata), allocate(n, {label: strata[label] for label in shuffled})
    assert all(abs(one[label] - other[label]) <= 1 for label in strata)
    if len(set(sizes)) == len(sizes) == 2 and one != other:
        total = sum(sizes)
        assert n * sizes[0] * 2 % (2 * total) == total


@pytest.mark.parametrize(
    ("n", "sizes", "what"),
    [
        (3, {}, "sizes"),
        (2, {"a": 5, "b": 5, "c": 5}, "n"),
        (16, {"a": 5, "b": 5, "c": 5}, "n"),
        (0, {"a": 5}, "n"),
        (2.0, {"a": 5}, "n"),
        (True, {"a": 5}, "n"),
        (2, {"a": 5, "b": 0}, "size of 'b'"),
        (2, {"a": 5, "b": -1}, "size of 'b'"),
        (2, {"a": 5, "b": 1.5}, "size of 'b'"),
    ],
)
def test_samples_that_cannot_be_drawn_are_refused(n, sizes, what):
    with pytest.raises(DomainError) as caught:
        allocate(n, sizes)
    assert caught.value.what == what


def test_the_whole_lot_can_be_drawn():
    assert allocate(15, {"a": 5, "b": 9, "c": 1}) == {"a": 5, "b": 9, "c": 1}
