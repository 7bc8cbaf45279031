"""Conformance zones: the logic of JCGM 106:2012 and ISO 14253-1:2017 on printed decimals."""

from __future__ import annotations

from decimal import Decimal
from statistics import NormalDist
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError
from method.verdict.zones import Limit, LotCount, count, printed, settled, worst
from tests.method.cases import Case, spectrum

ONE = Limit.of(Decimal("1.00"), Decimal("0.20"), 2)


@pytest.mark.parametrize(
    ("value", "zone"),
    [
        ("0.00", "within"), ("0.79", "within"), ("0.80", "within"),  # exactly T - U conforms
        ("0.81", "between"), ("1.00", "between"), ("1.20", "between"),  # exactly T + U: not proven
        ("1.21", "beyond"), ("9.99", "beyond"),
    ],
)  # fmt: skip
def test_zone_boundaries_lie_exactly_at_t_minus_u_and_t_plus_u(value: str, zone: str) -> None:
    assert ONE.zone(Decimal(value)) == zone


def test_guard_band_of_u_leaves_the_risk_that_jcgm_106_gives_for_k_2() -> None:
    """JCGM 106:2012, guarded acceptance with w = U = 2u: at the acceptance limit the value lies
    beyond T with probability Phi(-2) = 2.275 % (recomputed; not read from the guide)."""
    u = ONE.uncertainty / 2
    at_the_limit = (ONE.limit - ONE.uncertainty - ONE.limit) / u
    risk = NormalDist().cdf(float(at_the_limit))
    assert round(100 * risk, 3) == 2.275
    assert ONE.zone(ONE.limit - ONE.uncertainty) == "within"


def test_iso_14253_1_counts_uncertainty_against_whoever_provides_the_proof() -> None:
    """ISO 14253-1:2017 (logic, from memory): between the zones the supplier has not proven
    conformity and the customer has not proven nonconformity."""
    assert settled("between", "release", "supplier") == "inconclusive"
    assert settled("between", "release", "customer") == "inconclusive"
    assert settled("between", "rejection", "nobody") == "inconclusive"


@pytest.mark.parametrize(
    ("holder", "outcome"),
    [("supplier", "conforming"), ("customer", "nonconforming"), ("nobody", "inconclusive")],
)
def test_at_rejection_the_zone_belongs_to_whom_the_terms_say(holder: Any, outcome: str) -> None:
    assert settled("between", "rejection", holder) == outcome


@pytest.mark.parametrize("rule", ["release", "rejection"])
@pytest.mark.parametrize("holder", ["supplier", "customer", "nobody"])
def test_outside_the_zone_between_rule_and_holder_do_not_matter(rule: Any, holder: Any) -> None:
    assert settled("within", rule, holder) == "conforming"
    assert settled("beyond", rule, holder) == "nonconforming"


def test_an_uncertainty_beyond_the_limit_leaves_nothing_that_conforms() -> None:
    wide = Limit.of(Decimal("0.10"), Decimal("0.20"), 2)
    assert wide.zone(Decimal("0.00")) == "between"


@pytest.mark.parametrize(
    ("value", "rounding", "text"),
    [
        (0.805, "half_even", "0.80"), (0.815, "half_even", "0.82"),
        (0.805, "half_up", "0.81"), (0.815, "half_up", "0.82"),
        (2.675, "half_up", "2.68"), (0.80499999, "half_up", "0.80"),
    ],
)  # fmt: skip
def test_values_are_rounded_once_by_the_agreed_rule(value: float, rounding: Any, text: str) -> None:
    assert str(printed(value, 2, rounding)) == text


def test_minus_zero_is_zero_and_nan_is_refused() -> None:
    assert str(printed(-0.001, 2, "half_up")) == "0.00"
    with pytest.raises(DomainError):
        printed(float("nan"), 2, "half_up")


@given(st.decimals(0, 5, places=4), st.decimals(0, 5, places=4))
def test_a_larger_value_never_lies_in_a_better_zone(one: Decimal, other: Decimal) -> None:
    order = ("within", "between", "beyond")
    low, high = sorted((ONE.print(float(one)), ONE.print(float(other))))
    assert order.index(ONE.zone(low)) <= order.index(ONE.zone(high))


@pytest.mark.parametrize(
    ("nonconforming", "undecided", "acceptance", "outcome"),
    [
        (0, 0, 0, "conforming"), (1, 0, 0, "nonconforming"), (0, 1, 0, "inconclusive"),
        (1, 0, 1, "conforming"), (1, 1, 1, "inconclusive"), (2, 0, 1, "nonconforming"),
        (2, 5, 1, "nonconforming"), (0, 2, 2, "conforming"), (0, 3, 2, "inconclusive"),
    ],
)  # fmt: skip
def test_a_lot_is_decided_by_counts_against_the_acceptance_number(
    nonconforming: int, undecided: int, acceptance: int, outcome: str
) -> None:
    assert LotCount(10, nonconforming, undecided, acceptance).outcome == outcome


def test_counts_and_the_worst_outcome() -> None:
    outcomes = ("conforming", "nonconforming", "inconclusive", "inconclusive")
    assert count(outcomes, 0) == LotCount(4, 1, 2, 0)
    assert worst(("conforming", "inconclusive")) == "inconclusive"
    assert worst(("inconclusive", "nonconforming")) == "nonconforming"
    assert worst(()) == "conforming"


def _value(case: Case) -> Decimal:
    """The printed value of specimen 1 in the first tolerance."""
    return Decimal(case.judged()["instrument"]["items"][0]["values"][0]["value"])


U = Decimal("0.20")


@pytest.mark.parametrize(
    ("shift", "release", "rejection"),
    [
        (U, "conforming", "conforming"),  # value exactly T - U
        (U - Decimal("0.01"), "inconclusive", "nonconforming"),  # 0.01 above T - U
        (-U, "inconclusive", "nonconforming"),  # value exactly T + U
        (-U - Decimal("0.01"), "nonconforming", "nonconforming"),  # 0.01 above T + U
    ],
)
def test_a_lot_exactly_on_a_boundary_is_judged_on_printed_decimals(
    shift: Decimal, release: str, rejection: str
) -> None:
    far = {"1": [spectrum(0.44)] * 2, "2": [spectrum(0.44)] * 2}
    case = Case(rows=far)
    tolerances = case.terms["tolerances"]["items"][:1]
    limit = str(_value(case) + shift)
    moved = case.with_terms("tolerances", items=[{**tolerances[0], "limit": limit}])
    assert moved.judged()["instrument"]["outcome"] == release
    customer = moved.with_terms("decision", zone_at_rejection="customer").rejection()
    assert customer.judged()["instrument"]["outcome"] == rejection


@given(level=st.floats(0.401, 0.6), more=st.floats(0, 0.1))
def test_a_larger_difference_never_improves_the_verdict(level: float, more: float) -> None:
    order = ("conforming", "inconclusive", "nonconforming")
    outcomes = []
    values = []
    for reflectance in (level, level + more):
        verdict = Case(rows={"1": [spectrum(reflectance)] * 2, "2": [spectrum(0.4)] * 2}).judged()
        outcomes.append(order.index(verdict["outcome"]))
        values.append(verdict["instrument"]["items"][0]["values"][0]["value"])
    assert Decimal(values[0]) <= Decimal(values[1])
    assert outcomes[0] <= outcomes[1]
