"""What every public function refuses at its door: arrays, numbers and names."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from colorimetry import DomainError
from colorimetry.arrays import finite_table, name, number, positive, real_array


@pytest.mark.parametrize(
    ("value", "problem"),
    [
        ("1", "type"),
        (True, "type"),
        (np.True_, "type"),
        (None, "type"),
        ([1.0], "type"),
        (1j, "type"),
        (np.array([1.0]), "type"),
        (float("nan"), "range"),
        (float("-inf"), "range"),
        (10**400, "range"),
        (-0.1, "range"),
        (2.1, "range"),
    ],
)
def test_what_is_no_number_of_the_range_is_refused_by_name(value, problem):
    with pytest.raises(DomainError) as caught:
        number(value, "factor", 0.0, 2.0)
    assert (caught.value.what, caught.value.problem) == ("factor", problem)


@pytest.mark.parametrize("value", [1, 1.0, np.int8(1), np.float32(1.0), np.array(1.0)])
def test_whole_and_broken_numbers_become_floats(value):
    found = number(value, "factor", 1.0, 1.0)
    assert found == 1.0 and type(found) is float


@pytest.mark.parametrize(("value", "problem"), [(None, "type"), ([], "type"), ("x", "range")])
def test_a_name_is_one_of_those_allowed(value, problem):
    assert name("probit", "link", ("probit", "logit")) == "probit"
    with pytest.raises(DomainError) as caught:
        name(value, "link", ("probit", "logit"))
    assert (caught.value.what, caught.value.problem) == ("link", problem)


MASKED = np.ma.masked_array([1.0, 2.0], mask=[False, True])


@pytest.mark.parametrize(
    "value",
    [
        ["1", "2"],
        "1",
        [1.0, "2"],
        [b"1"],
        [True, False],
        np.array([1j, 2.0]),
        [1.0, None],
        None,
        {},
        MASKED,
        np.array(["2020-01-01"], dtype="datetime64[D]"),
        [np.timedelta64(1, "s")],
        [date(2020, 1, 1)],
        np.array([1.0, "2"], dtype=object),
        np.array([1.0, True], dtype=object),
        [[1.0], [1.0, 2.0]],
        [10**400, "1"],
    ],
    ids=str,
)
def test_what_holds_no_real_numbers_is_refused_as_its_type(value):
    for call in (finite_table, real_array):
        with pytest.raises(DomainError) as caught:
            call(value, "readings")
        assert (caught.value.what, caught.value.problem) == ("readings", "type")


def test_the_place_of_what_is_no_number_is_named():
    with pytest.raises(DomainError) as caught:
        finite_table([[1, 2], [3, None]], "readings")
    assert (caught.value.row, caught.value.band) == (1, 1)


@pytest.mark.parametrize("huge", [10**400, -(10**400), np.longdouble("1e4000")])
def test_numbers_beyond_floats_are_refused_as_infinite(huge):
    with pytest.raises(DomainError) as caught:
        finite_table([[1, 2], [3, huge]], "readings")
    assert (caught.value.problem, caught.value.row, caught.value.band) == ("inf", 1, 1)


@pytest.mark.parametrize(
    "value",
    [
        [1, 2],
        np.array([1, 2], dtype=np.uint8),
        np.array([1, 2], dtype=np.float16),
        np.array([1, 2], dtype=object),
        [Decimal(1), Fraction(2)],
    ],
    ids=str,
)
def test_real_numbers_of_any_kind_become_one_row(value):
    assert finite_table(value, "readings").tolist() == [[1.0, 2.0]]
    assert finite_table(value, "readings").dtype == np.float64


def test_booleans_are_numbers_only_where_they_are_asked_for():
    assert real_array([True, False], "accepted", flags=True).tolist() == [1.0, 0.0]


@pytest.mark.parametrize("wrong", [0.0, -1.0, float("nan"), float("inf"), "1", None, True])
def test_a_positive_number_is_finite_and_above_zero(wrong):
    assert positive(1e-300, "factor") == 1e-300
    with pytest.raises(DomainError, match="factor"):
        positive(wrong, "factor")
