"""Conformance probability, guard bands, rules and zones against published numbers."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from colorimetry import DomainError
from colorimetry.decision.conformance import conformance_probability
from colorimetry.decision.guard import (
    RULES,
    acceptance_zone,
    acceptance_zone_for_risk,
    decide,
    decide_by_probability,
    guard_band,
    guard_band_for_risk,
    risk_at_limit,
)
from colorimetry.decision.zones import four_zones, proof_zones

VALUE = st.floats(-50, 50)
SPREAD = st.floats(0.01, 20)
RISK = st.floats(1e-6, 0.5)


def test_the_published_two_sided_example_is_reproduced():
    # JCGM 106:2012, example 7.4: y = 13.6, u = 1.8, limits 12.5 and 16.3
    assert conformance_probability(13.6, 1.8, lower=12.5, upper=16.3)[0] == pytest.approx(
        0.66263, abs=5e-6
    )


def test_one_sided_examples_are_reproduced():
    # JCGM 106:2012, clause 7.3 (numbers from memory): upper limit -5.40, y = -5.47, u = 0.05
    assert conformance_probability(-5.47, 0.05, upper=-5.40)[0] == pytest.approx(0.91924, abs=5e-6)
    assert conformance_probability(5.47, 0.05, lower=5.40)[0] == pytest.approx(0.91924, abs=5e-6)


@pytest.mark.parametrize(
    ("probability", "z"),
    [
        (0.80, 0.8416),
        (0.90, 1.2816),
        (0.95, 1.6449),
        (0.975, 1.9600),
        (0.99, 2.3263),
        (0.999, 3.0902),
    ],
)
def test_one_sided_guard_bands_are_normal_quantiles(probability, z):
    # JCGM 106:2012, 8.3: w = z_(1-R) u; z from any table of the normal distribution
    assert guard_band_for_risk(1.0, risk=1 - probability)[0] == pytest.approx(z, abs=5e-5)
    assert guard_band_for_risk(0.2, risk=1 - probability)[0] == pytest.approx(z / 5, abs=1e-5)


def test_the_two_sided_zone_is_solved():
    # limits 0 and 1, u = 0.1, wanted 95 %: the far limit is negligible
    zone = acceptance_zone_for_risk(0.1, risk=0.05, lower=0.0, upper=1.0)
    assert zone.upper[0] == pytest.approx(0.835515, abs=5e-7)
    assert zone.lower[0] == pytest.approx(1 - 0.835515, abs=5e-7)
    assert zone.exists[0]


def test_where_uncertainty_leaves_no_zone_nothing_can_be_decided():
    # limits 0 and 1, u = 0.4: not even the middle reaches 95 %, only 78.870 %
    assert conformance_probability(0.5, 0.4, lower=0, upper=1)[0] == pytest.approx(
        0.78870, abs=5e-6
    )
    zone = acceptance_zone_for_risk([0.4, 0.1], risk=0.05, lower=0.0, upper=1.0)
    assert zone.exists.tolist() == [False, True]
    assert decide(0.5, zone).tolist() == ["undecidable", "accepted"]
    assert decide([7.0, 7.0], zone).tolist() == ["undecidable", "rejected"]
    # 78.87 % itself is reached in the middle alone
    assert acceptance_zone_for_risk(0.4, risk=0.2113, lower=0, upper=1).exists[0]
    assert not acceptance_zone_for_risk(0.4, risk=0.2112, lower=0, upper=1).exists[0]


@pytest.mark.parametrize(
    ("multiple", "factor", "risk"),
    [(1, 2, 0.02275), (1, 1.96, 0.02500), (0.83, 2, 0.0485), (0, 2, 0.5)],
)
def test_the_risk_at_the_limit_follows_from_the_guard_band(multiple, factor, risk):
    # ILAC-G8:09/2019, 4.2: w = U gives a risk below 2.5 %, none gives 50 %
    band = guard_band(0.7, multiple=multiple, coverage_factor=factor)
    assert band[0] == pytest.approx(multiple * factor * 0.7)
    assert risk_at_limit(band, 0.7)[0] == pytest.approx(risk, abs=5e-5)


def test_three_times_the_expanded_uncertainty_leaves_a_risk_of_a_milliardth():
    band = guard_band(0.7, multiple=3, coverage_factor=2)
    assert risk_at_limit(band, 0.7)[0] == pytest.approx(9.866e-10, rel=1e-3)
    assert risk_at_limit(-band, 0.7)[0] == pytest.approx(1.0, abs=1e-8)


@given(VALUE, SPREAD, VALUE, SPREAD)
def test_probabilities_equal_the_statistics_library(y, u, low, width):
    high = low + width
    law = norm(y, u)
    assert conformance_probability(y, u, upper=high)[0] == pytest.approx(law.cdf(high), abs=1e-14)
    assert conformance_probability(y, u, lower=low)[0] == pytest.approx(law.sf(low), abs=1e-14)
    both = conformance_probability(y, u, lower=low, upper=high)[0]
    assert both == pytest.approx(law.cdf(high) - law.cdf(low), abs=1e-14)


@pytest.mark.parametrize("y", [-9.0, 10.0])
def test_far_outside_the_probability_keeps_its_digits(y):
    found = conformance_probability(y, 1.0, lower=0, upper=1)[0]
    assert found == pytest.approx(norm.sf(9) - norm.sf(10), rel=1e-12)


@given(VALUE, SPREAD, VALUE, SPREAD, st.floats(0.1, 10), VALUE)
def test_scale_and_origin_do_not_matter(y, u, low, width, scale, shift):
    plain = conformance_probability(y, u, lower=low, upper=low + width)[0]
    moved = conformance_probability(
        y * scale + shift,
        u * scale,
        lower=low * scale + shift,
        upper=(low + width) * scale + shift,
    )[0]
    assert moved == pytest.approx(plain, abs=1e-9)
    assert guard_band_for_risk(u * scale, risk=0.05)[0] == pytest.approx(
        guard_band_for_risk(u, risk=0.05)[0] * scale
    )


@given(SPREAD, RISK, RISK)
def test_less_risk_needs_a_wider_guard_band(u, one, other):
    low, high = sorted((one, other))
    assert guard_band_for_risk(u, risk=low)[0] >= guard_band_for_risk(u, risk=high)[0] >= 0
    narrow = acceptance_zone_for_risk(u, risk=low, lower=-30, upper=30)
    wide = acceptance_zone_for_risk(u, risk=high, lower=-30, upper=30)
    assert wide.exists[0] or not narrow.exists[0]
    if narrow.exists[0]:
        assert narrow.upper[0] <= wide.upper[0] + 1e-9


@given(SPREAD, RISK)
def test_the_zone_ends_where_the_risk_is_the_wanted_one(u, risk):
    zone = acceptance_zone_for_risk(u, risk=risk, lower=-30, upper=10)
    middle = conformance_probability(-10, u, lower=-30, upper=10)[0]
    assert zone.exists[0] == (middle >= 1 - risk)
    if zone.exists[0]:
        for end in (zone.lower, zone.upper):
            at = conformance_probability(end, u, lower=-30, upper=10)[0]
            assert at == pytest.approx(1 - risk, abs=1e-9)
    one_sided = acceptance_zone_for_risk(u, risk=risk, upper=10)
    assert risk_at_limit(10 - one_sided.upper, u)[0] == pytest.approx(risk, rel=1e-9)
    assert one_sided.lower is None
    below = acceptance_zone_for_risk(u, risk=risk, lower=10)
    assert below.lower[0] - 10 == pytest.approx(10 - one_sided.upper[0], abs=1e-12)


def test_the_three_rules_put_their_limits_where_they_should():
    # JCGM 106:2012, 8.2 and 8.3
    for rule, band, ends in (
        ("simple acceptance", 0.0, (2.0, 8.0)),
        ("guarded acceptance", 0.5, (2.5, 7.5)),
        ("guarded rejection", 0.5, (1.5, 8.5)),
    ):
        zone = acceptance_zone(rule, band, lower=2.0, upper=8.0)
        assert (zone.lower[0], zone.upper[0]) == ends
        at = [ends[0] - 0.01, ends[0], ends[1], ends[1] + 0.01]
        fourfold = acceptance_zone(rule, [band] * 4, lower=2.0, upper=8.0)
        assert decide(at, fourfold).tolist() == ["rejected", "accepted", "accepted", "rejected"]
        assert decide(at, zone).tolist() == decide(at, fourfold).tolist()
    assert len(RULES) == 3


def test_one_limit_leaves_the_other_side_open():
    above = acceptance_zone("guarded acceptance", 0.5, upper=2.0)
    assert above.lower is None
    assert decide([-100.0, 1.5, 1.51], above).tolist() == ["accepted", "accepted", "rejected"]
    below = acceptance_zone("guarded acceptance", 0.5, lower=2.0)
    assert below.upper is None
    assert decide([100.0, 2.5, 2.49], below).tolist() == ["accepted", "accepted", "rejected"]
    assert above.exists.all() and below.exists.all()


def test_a_guard_band_as_wide_as_half_the_tolerance_leaves_one_point():
    zone = acceptance_zone("guarded acceptance", [0.5, 0.501], lower=0, upper=1)
    assert zone.exists.tolist() == [True, False]
    assert decide(0.5, zone).tolist() == ["accepted", "undecidable"]
    assert acceptance_zone("guarded rejection", 5.0, lower=0, upper=1).exists[0]


def test_a_colour_difference_below_its_guard_band_cannot_be_decided():
    # a difference is never negative: T <= w leaves no zone; a signed quantity keeps one
    band = [0.99, 1.0, 1.2]
    zone = acceptance_zone("guarded acceptance", band, upper=1.0, non_negative=True)
    assert zone.exists.tolist() == [True, False, False]
    assert acceptance_zone("guarded acceptance", band, upper=1.0).exists.all()
    assert acceptance_zone("guarded rejection", band, upper=1.0, non_negative=True).exists.all()
    by_risk = acceptance_zone_for_risk([0.5, 0.7], risk=0.05, upper=1.0, non_negative=True)
    assert by_risk.exists.tolist() == [True, False]


def test_probabilities_are_judged_by_the_wanted_risk():
    p = [0.04, 0.05, 0.051, 0.949, 0.95, 1.0]
    guarded = decide_by_probability(p, "guarded acceptance", risk=0.05)
    assert guarded.tolist() == ["rejected"] * 4 + ["accepted"] * 2
    lenient = decide_by_probability(p, "guarded rejection", risk=0.05)
    assert lenient.tolist() == ["rejected"] * 2 + ["accepted"] * 4
    assert decide_by_probability([0.0, 1.0], "guarded rejection", risk=0.5).tolist() == [
        "rejected",
        "accepted",
    ]


@given(st.floats(0.51, 0.999999), RISK)
def test_the_probability_rule_equals_the_guard_band_for_normal_results(p, risk):
    y = 5 - norm.ppf(p)
    by_zone = decide(y, acceptance_zone_for_risk(1.0, risk=risk, upper=5.0))
    if abs(p - (1 - risk)) > 1e-9:
        found = conformance_probability(y, 1.0, upper=5.0)
        assert decide_by_probability(found, "guarded acceptance", risk=risk) == by_zone


def test_four_zones_on_both_sides_of_a_limit():
    # ILAC-G8:09/2019, 4.2.3 (its failing end from memory)
    at = [0.5, 0.51, 1.0, 1.01, 1.5, 1.51]
    named = [
        "pass",
        "conditional pass",
        "conditional pass",
        "conditional fail",
        "conditional fail",
        "fail",
    ]
    assert four_zones(at, 0.5, upper=1.0).tolist() == named
    assert four_zones(-np.array(at), 0.5, lower=-1.0).tolist() == named
    assert four_zones([-2, 0, 2], 0.25, lower=-1, upper=1).tolist() == ["fail", "pass", "fail"]


def test_what_lies_between_is_proven_by_nobody():
    # ISO 14253-1
    at = [0.5, 0.51, 1.0, 1.49, 1.5]
    assert proof_zones(at, 0.5, upper=1.0).tolist() == [
        "conformity proven",
        *["neither proven"] * 3,
        "nonconformity proven",
    ]
    assert proof_zones([-1.6, -1.4, 0.0], 0.5, lower=-1, upper=1).tolist() == [
        "nonconformity proven",
        "neither proven",
        "conformity proven",
    ]
    assert proof_zones(1.0, 0.0, upper=1.0).tolist() == ["conformity proven"]


@given(VALUE, st.floats(0, 10))
def test_both_ways_of_naming_zones_agree(y, w):
    four = four_zones(y, w, lower=-10, upper=10)[0]
    proof = proof_zones(y, w, lower=-10, upper=10)[0]
    assert (four == "pass") == (proof == "conformity proven")
    if four == "fail":
        assert proof == "nonconformity proven"
    if proof == "neither proven":
        assert four.startswith("conditional")


def test_columns_serve_together():
    found = conformance_probability([1.0, 2.0, 3.0], 0.5, upper=2.0)
    each = [conformance_probability(y, 0.5, upper=2.0)[0] for y in (1.0, 2.0, 3.0)]
    assert found.tolist() == each
    assert conformance_probability(1.0, [0.5, 1.0], upper=[2.0, 3.0]).shape == (2,)
    assert conformance_probability([], 0.5, upper=2.0).shape == (0,)


REFUSED = [
    (lambda: conformance_probability([0, np.nan], 1, upper=1), "result", "nan", 1),
    (lambda: conformance_probability([np.inf], 1, upper=1), "result", "inf", 0),
    (lambda: conformance_probability(0, [1, 0], upper=1), "standard uncertainty", "range", 1),
    (lambda: conformance_probability(0, [1, np.nan], upper=1), "standard uncertainty", "nan", 1),
    (lambda: conformance_probability(0, -1, upper=1), "standard uncertainty", "range", 0),
    (lambda: conformance_probability(0, 1), "limits", "range", None),
    (lambda: conformance_probability(0, 1, lower=[0, 1], upper=1), "limits", "range", 1),
    (lambda: conformance_probability(0, 1, upper=np.nan), "upper limit", "nan", 0),
    (lambda: conformance_probability(0, 1, lower=-np.inf), "lower limit", "inf", 0),
    (lambda: conformance_probability([1, 2, 3], [1, 2], upper=1), "limits", "shape", None),
    (lambda: conformance_probability([1, 2], 1, upper=[1, 2, 3]), "result", "shape", None),
    (
        lambda: conformance_probability(0, [1, 2], upper=[1, 2, 3]),
        "standard uncertainty",
        "shape",
        None,
    ),
    (lambda: conformance_probability([[1]], 1, upper=1), "result", "shape", None),
    (lambda: conformance_probability("x", 1, upper=1), "result", "type", None),
    (lambda: guard_band(1, multiple=-1, coverage_factor=2), "multiple", "range", None),
    (lambda: guard_band(1, multiple=1, coverage_factor=np.nan), "coverage factor", "range", None),
    (lambda: guard_band([1, 0], multiple=1, coverage_factor=2), "standard uncertainty", "range", 1),
    (lambda: guard_band_for_risk(1, risk=0), "risk", "range", None),
    (lambda: guard_band_for_risk(1, risk=0.51), "risk", "range", None),
    (lambda: guard_band_for_risk(1, risk=True), "risk", "type", None),
    (lambda: guard_band_for_risk(1, risk="5 %"), "risk", "type", None),
    (lambda: acceptance_zone("plain", 0, upper=1), "rule", "range", None),
    (lambda: acceptance_zone("simple acceptance", [0, 1], upper=1), "guard band", "range", 1),
    (lambda: acceptance_zone("guarded acceptance", [0, -1], upper=1), "guard band", "range", 1),
    (lambda: acceptance_zone("guarded acceptance", 0), "limits", "range", None),
    (
        lambda: acceptance_zone("guarded acceptance", 0, lower=0, upper=1, non_negative=True),
        "limits",
        "range",
        None,
    ),
    (
        lambda: acceptance_zone("guarded acceptance", 0, lower=0, non_negative=True),
        "limits",
        "range",
        None,
    ),
    (
        lambda: acceptance_zone_for_risk(1, risk=0.05, lower=0, upper=1, non_negative=True),
        "limits",
        "range",
        None,
    ),
    (lambda: risk_at_limit([1, 2, 3], [1, 2]), "uncertainty", "shape", None),
    (lambda: risk_at_limit(np.nan, 1), "guard band", "nan", 0),
    (
        lambda: decide([1, np.nan], acceptance_zone("simple acceptance", 0, upper=1)),
        "result",
        "nan",
        1,
    ),
    (
        lambda: decide([1, 2], acceptance_zone("simple acceptance", [0, 0, 0], upper=1)),
        "result",
        "shape",
        None,
    ),
    (
        lambda: decide_by_probability([0.5, 1.1], "guarded acceptance", risk=0.1),
        "probability",
        "range",
        1,
    ),
    (
        lambda: decide_by_probability([-0.1], "guarded acceptance", risk=0.1),
        "probability",
        "range",
        0,
    ),
    (lambda: decide_by_probability(0.5, "simple acceptance", risk=0.1), "rule", "range", None),
    (lambda: four_zones(1, [0, -0.1], upper=1), "guard band", "range", 1),
    (lambda: proof_zones(1, 0.1), "limits", "range", None),
    (lambda: proof_zones([1, 2, 3], [1, 2], upper=1), "guard band", "shape", None),
]


@pytest.mark.parametrize("number", range(len(REFUSED)))
def test_what_does_not_fit_is_refused_with_its_place(number):
    call, what, problem, row = REFUSED[number]
    with pytest.raises(DomainError) as caught:
        call()
    assert (caught.value.what, caught.value.problem, caught.value.row) == (what, problem, row)


@pytest.mark.parametrize("rule", RULES)
def test_a_limit_of_zero_leaves_no_zone_only_to_guarded_acceptance(rule):
    zone = acceptance_zone(rule, 0.0, upper=0.0, non_negative=True)
    expected = "undecidable" if rule == "guarded acceptance" else "accepted"
    assert decide(0.0, zone) == [expected]
    assert decide(0.1, zone)[0] != "accepted"
