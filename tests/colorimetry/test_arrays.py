"""What every public function refuses at its door: arrays, numbers and names."""

import numpy as np
import pytest

from colorimetry import DomainError
from colorimetry.arrays import name, number


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
        (float("nan"), "nan"),
        (float("-inf"), "inf"),
        (10**400, "inf"),
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
