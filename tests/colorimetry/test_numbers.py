"""Quantising: one rule, applied once, on the digits that people see."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, quantise

FINITE = st.floats(allow_nan=False, allow_infinity=False)
DECIMALS = st.integers(0, 12)


@pytest.mark.parametrize(
    ("value", "decimals", "printed"),
    [
        (2.675, 2, "2.68"),  # a tie as printed, although its binary value lies below
        (2.665, 2, "2.66"),
        (0.5, 0, "0"),
        (1.5, 0, "2"),
        (0.125, 2, "0.12"),
        (0.1250000001, 2, "0.13"),
        (-0.004, 2, "0.00"),
        (-0.005, 2, "0.00"),
        (-0.015, 2, "-0.02"),
        (1.1, 4, "1.1000"),
        (1e-320, 12, "0.000000000000"),
        (1e22, 1, "10000000000000000000000.0"),
        (np.float64(0.15), 1, "0.2"),
        (Decimal("0.25"), 1, "0.2"),
    ],
)
def test_ties_go_to_the_even_digit_of_the_printed_number(value, decimals, printed):
    assert format(quantise(value, decimals), "f") == printed


@given(FINITE, DECIMALS)
def test_quantising_again_changes_nothing_and_keeps_the_stated_decimals(value, decimals):
    once = quantise(value, decimals)
    assert once.as_tuple().exponent == -decimals
    assert quantise(once, decimals) == once and str(quantise(once, decimals)) == str(once)
    assert not (once.is_zero() and once.is_signed())


@given(FINITE, DECIMALS)
def test_it_is_the_nearest_number_with_these_decimals(value, decimals):
    exact = Fraction(Decimal(repr(value)))
    off = abs(Fraction(quantise(value, decimals)) - exact)
    half = Fraction(1, 2 * 10**decimals)
    assert off <= half
    if off == half:
        assert int(Fraction(quantise(value, decimals)) * 10**decimals) % 2 == 0


@given(FINITE, FINITE, DECIMALS)
def test_order_is_kept(one, other, decimals):
    low, high = sorted((one, other))
    assert quantise(low, decimals) <= quantise(high, decimals)


@given(FINITE, DECIMALS)
def test_it_is_odd(value, decimals):
    assert quantise(-value, decimals) == -quantise(value, decimals)


@pytest.mark.parametrize(
    ("value", "decimals", "problem"),
    [
        (float("nan"), 2, "nan"),
        (float("inf"), 2, "inf"),
        (Decimal("NaN"), 2, "nan"),
        (1.0, -1, "range"),
        (1.0, 13, "range"),
        (1.0, True, "type"),
        (1.0, 2.0, "type"),
    ],
)
def test_what_cannot_be_printed_is_refused(value, decimals, problem):
    with pytest.raises(DomainError) as caught:
        quantise(value, decimals)
    assert caught.value.problem == problem
