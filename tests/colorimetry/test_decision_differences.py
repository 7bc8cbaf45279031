"""P(difference <= limit), its covariances, first-order uncertainty and expected difference."""

import itertools
import os
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chi2, ncx2, norm

from benchmarks.decision_grid import cells, error
from colorimetry import DomainError, ciede2000
from colorimetry.decision.covariance import difference_first, factor, joint_covariance, stack
from colorimetry.decision.difference_probability import (
    FEW,
    MANY,
    _opposite,
    checked_uncertain,
    highest_probability,
    probability_within,
)
from colorimetry.decision.difference_uncertainty import (
    expected_difference,
    first_order_uncertainty,
    sensitivities,
)
from colorimetry.decision.nodes import normal_nodes
from tests.colorimetry.references import pairs

PAIRS = pairs()
EVEN = np.eye(6) * 0.01
PLAIN = [
    ("CIELAB", {}),
    ("CIEDE2000", {}),
    ("CMC", {"l_weight": 2.0, "c_weight": 1.0}),
    ("CIE94", {"application": "textiles"}),
    ("DIN99o", {}),
]
LAB = st.tuples(st.floats(2, 98), st.floats(-60, 60), st.floats(-60, 60))

# colour.md, section 7: u = 0.1 on each of six, 10⁶ draws; difference, first-order u, mean, standard
# deviation, quantiles at 2.5, 50 and 97.5 % as verified there by Monte Carlo (JCGM 101)
QUANTILES = (0.025, 0.5, 0.975)
TABLE = [
    (PAIRS[24, :6], 1.2644, 0.0642, 1.2716, 0.0644, (1.1469, 1.2711, 1.3993)),
    ((50, 2.5, 0, 50.3, 2.6, 0.2), 0.3752, 0.1441, 0.4391, 0.1346, (0.1846, 0.4361, 0.7111)),
    ((50, 2.5, 0, 50, 2.5, 0), 0.0, 0.0, 0.2432, 0.1053, (0.0699, 0.2330, 0.4757)),
    (PAIRS[28, :6], 2.0373, 0.0808, 2.0418, 0.0806, (1.8879, 2.0402, 2.2037)),
]


@pytest.mark.parametrize("row", range(4))
def test_the_table_of_random_draws_is_reproduced_by_draws_and_without(row):
    pair, plain, u, mean, deviation, quantiles = TABLE[row]
    first, second = pair[:3], pair[3:]
    arguments = {"reference": first, "specimen": second, "formula": "CIEDE2000"}
    assert ciede2000(first, second)[0] == pytest.approx(plain, abs=5e-5)
    u_found = first_order_uncertainty(covariance=EVEN, **arguments)[0]
    assert u_found == pytest.approx(u, abs=6e-5)
    expected = expected_difference(covariance=EVEN, **arguments)
    assert expected.mean[0] == pytest.approx(mean, abs=0.001)
    assert expected.deviation[0] == pytest.approx(deviation, abs=0.001)
    found = probability_within(quantiles, covariance=EVEN, **arguments)
    assert found == pytest.approx(QUANTILES, abs=0.004)
    rng = np.random.default_rng(20_240_101)
    drawn = ciede2000(
        first + rng.normal(0, 0.1, (1_000_000, 3)), second + rng.normal(0, 0.1, (1_000_000, 3))
    )
    assert drawn.mean() == pytest.approx(mean, abs=0.001)
    assert drawn.std() == pytest.approx(deviation, abs=0.001)
    assert np.quantile(drawn, QUANTILES) == pytest.approx(quantiles, abs=0.001)


def test_sensitivities_of_pair_25_nearly_cancel():
    # colour.md, section 7 (numerical derivatives, central, h = 1e-5)
    found = sensitivities(reference=PAIRS[24, :3], specimen=PAIRS[24, 3:6], formula="CIEDE2000")
    expected = [-0.1245, -0.1733, -0.4074, 0.1241, 0.1770, 0.3921]
    assert found[0] == pytest.approx(expected, abs=5e-5)


def test_a_bias_common_to_both_readings_mostly_drops_out():
    first, second = PAIRS[24, :3], PAIRS[24, 3:6]
    arguments = {"reference": first, "specimen": second, "formula": "CIEDE2000"}
    none, each = np.zeros((3, 3)), np.eye(3) * 0.01
    common = joint_covariance(reference=none, specimen=none, common=each)
    apart = joint_covariance(reference=each, specimen=each)
    assert np.array_equal(apart, [EVEN])
    assert first_order_uncertainty(covariance=common, **arguments)[0] < 0.003
    assert first_order_uncertainty(covariance=apart, **arguments)[0] > 0.06
    assert probability_within(1.28, covariance=common, **arguments)[0] > 0.999
    assert probability_within(1.28, covariance=apart, **arguments)[0] < 0.6


@pytest.mark.parametrize("u", [0.02, 0.1, 0.5])
@pytest.mark.parametrize("apart", [0.0, 0.05, 0.3, 2.0])
def test_cielab_with_equal_uncertainties_is_a_chi_square(u, apart):
    # independent check: |d|² / (2 u²) is non-central chi-square with three degrees of freedom
    shares = np.array([0.001, 0.05, 0.3, 0.5, 0.7, 0.95, 0.999])
    away = apart**2 / (2 * u**2)
    squares = ncx2.ppf(shares, 3, away) if apart else chi2.ppf(shares, 3)
    limits = np.sqrt(squares * 2 * u**2)
    first = np.tile((45.0, 20.0, -30.0), (7, 1))
    found = probability_within(
        limits,
        reference=first,
        specimen=first + apart * np.array((1, 2, 2)) / 3,
        covariance=np.eye(6) * u**2,
        formula="CIELAB",
    )
    assert found == pytest.approx(shares, abs=1e-6)


@settings(deadline=None)
@given(LAB, st.floats(-2, 2), st.floats(0.02, 0.5), st.floats(0.01, 3))
def test_with_lightness_alone_uncertain_it_is_a_folded_normal(first, apart, u, limit):
    covariance = np.zeros((6, 6))
    covariance[3, 3] = u**2
    found = probability_within(
        limit,
        reference=first,
        specimen=np.add(first, (apart, 0, 0)),
        covariance=covariance,
        formula="CIELAB",
    )[0]
    law = norm(apart, u)
    assert found == pytest.approx(law.cdf(limit) - law.cdf(-limit), abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(LAB, LAB, st.integers(0, 4), st.floats(0.02, 0.5))
def test_it_grows_with_the_limit_from_zero_to_one(first, direction, which, u):
    formula, parameters = PLAIN[which]
    second = np.add(first, np.multiply(direction, 0.02))
    limits = np.concatenate(([-1.0, 0.0], np.linspace(0.01, 4, 12), [30.0]))
    found = probability_within(
        limits,
        reference=first,
        specimen=second,
        covariance=np.eye(6) * u**2,
        formula=formula,
        **parameters,
    )
    assert (np.diff(found) >= -1e-7).all()
    assert found[0] == found[1] == 0.0
    assert found[-1] == pytest.approx(1.0, abs=1e-9)


@settings(max_examples=25, deadline=None)
@given(LAB, LAB, st.sampled_from(["CIELAB", "CIEDE2000", "DIN99o"]), st.integers(0, 99))
def test_exchanging_the_colours_matters_only_where_the_formula_does(first, turn, formula, seed):
    second = np.add(first, np.multiply(turn, 0.01))
    rng = np.random.default_rng(seed)
    root = rng.normal(0, 0.1, (6, 6))
    matrix = root @ root.T
    other = np.block([[matrix[3:, 3:], matrix[3:, :3]], [matrix[:3, 3:], matrix[:3, :3]]])
    forth = probability_within(
        1.0, reference=first, specimen=second, covariance=matrix, formula=formula
    )
    back = probability_within(
        1.0, reference=second, specimen=first, covariance=other, formula=formula
    )
    # the fixed nodes fall otherwise: equal within what the method promises
    assert forth == pytest.approx(back, abs=0.006)


def test_the_weights_of_an_asymmetric_formula_stand_at_the_reference():
    first, second = PAIRS[25, :3], PAIRS[25, 3:6]
    arguments = {"covariance": EVEN / 25, "formula": "CMC", "l_weight": 2.0, "c_weight": 1.0}
    # 1.247404 forth and 1.279218 back
    forth = probability_within(1.2633, reference=first, specimen=second, **arguments)
    back = probability_within(1.2633, reference=second, specimen=first, **arguments)
    assert forth[0] > 0.6 and back[0] < 0.4


def test_opposite_hues_are_counted_on_both_sides_of_the_jump():
    # pairs 10 and 11 of the published table lie on both sides: 7.1792 and 7.2195
    first, second = PAIRS[9, :3], PAIRS[9, 3:6]
    matrix = np.eye(6) * 0.002**2
    found = probability_within(
        [7.15, 7.2, 7.25],
        reference=[first] * 3,
        specimen=[second] * 3,
        covariance=matrix,
        formula="CIEDE2000",
    )
    rng = np.random.default_rng(1)
    drawn = ciede2000(
        first + rng.normal(0, 0.002, (200_000, 3)), second + rng.normal(0, 0.002, (200_000, 3))
    )
    assert found == pytest.approx([(drawn <= t).mean() for t in (7.15, 7.2, 7.25)], abs=0.005)
    assert 0.3 < found[1] < 0.7


def test_without_spread_it_is_a_step():
    still = np.zeros((6, 6))
    shared = np.tile(np.eye(3) * 0.04, (2, 2))
    for matrix in (still, shared):
        arguments = {"covariance": matrix, "formula": "CIELAB"}
        found = probability_within(
            [-0.1, 1.9999, 2.0, 2.0001],
            reference=(50, 0, 0),
            specimen=[(50, 2, 0)] * 4,
            **arguments,
        )
        assert found[[0, 1, 3]].tolist() == [0, 0, 1]
        same = probability_within(
            [0.0, 1.0], reference=(50, 9, 9), specimen=[(50, 9, 9)] * 2, **arguments
        )
        assert same.tolist() == [1, 1]


def test_batches_order_and_repetition_do_not_change_a_bit():
    rng = np.random.default_rng(5)
    first = rng.uniform((5, -60, -60), (95, 60, 60), (300, 3))
    second = first + rng.normal(0, 0.6, first.shape)
    first[7], second[7] = PAIRS[9, :3], PAIRS[9, 3:6]
    roots = rng.normal(0, 0.08, (300, 6, 6))
    matrices = np.einsum("nij,nkj->nik", roots, roots)
    limits = rng.uniform(0.1, 2, 300)

    def found(rows):
        return probability_within(
            limits[rows],
            reference=first[rows],
            specimen=second[rows],
            covariance=matrices[rows],
            formula="CIEDE2000",
        )

    whole = found(np.arange(300))
    order = rng.permutation(300)
    assert np.array_equal(found(order), whole[order])
    assert [found(np.array([row]))[0] for row in range(0, 300, 23)] == whole[::23].tolist()
    assert 0.0 < whole.mean() < 1.0


PROGRAM = """
import numpy as np
from colorimetry.decision.difference_probability import probability_within

rng = np.random.default_rng(0)
first = rng.uniform((20, -60, -60), (90, 60, 60), (60, 3))
second = first + rng.normal(0, 0.5, first.shape)
second[0, 1:] = -first[0, 1:]
root = rng.normal(0, 0.1, (60, 6, 6))
found = probability_within(
    1.0,
    reference=first,
    specimen=second,
    covariance=np.einsum("nij,nkj->nik", root, root),
    formula="CIEDE2000",
)
print(found.tobytes().hex())
"""


def test_processors_and_processes_do_not_change_a_bit():
    # identical bytes wherever a verdict is recomputed: no BLAS, no LAPACK, no random draws
    found = {
        subprocess.run(
            [sys.executable, "-c", PROGRAM],
            env={**os.environ, "OPENBLAS_CORETYPE": core},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for core in ("Prescott", "Haswell")
    }
    assert len(found) == 1 and len(found.pop()) == 60 * 16 + 1


def test_no_reading_can_be_accepted_where_equal_colours_fail_too():
    matrices = np.array([np.eye(6) * u**2 for u in (0.05, 0.2, 0.5)])
    best = highest_probability(
        0.6, reference=(50, 2.5, 0), covariance=matrices[0], formula="CIEDE2000"
    )[0]
    found = highest_probability(
        0.6, reference=(50, 2.5, 0), covariance=matrices, formula="CIEDE2000"
    )
    assert found[0] > 0.999 > found[1] > 0.6 > found[2]
    assert best == found[0]
    limit = 0.2330  # the median at u = 0.1 (colour.md, section 7)
    half = highest_probability(limit, reference=(50, 2.5, 0), covariance=EVEN, formula="CIEDE2000")
    assert half[0] == pytest.approx(0.5, abs=0.004)


def test_a_measured_difference_is_biased_high():
    for formula, parameters in PLAIN:
        found = expected_difference(
            reference=(50, 10, 10),
            specimen=[(50, 10, 10), (50.5, 10, 10)],
            covariance=EVEN,
            formula=formula,
            **parameters,
        )
        assert found.mean[0] > found.deviation[0] > 0.03
    d = np.random.default_rng(3).normal(0, np.sqrt(0.02), (400_000, 3))
    d[:, 0] += 0.5
    drawn = np.sqrt((d**2).sum(axis=1))
    plain = expected_difference(
        reference=[(50, 10, 10)] * 40,
        specimen=[(50.5, 10, 10)] * 40,
        covariance=EVEN,
        formula="CIELAB",
    )
    assert plain.mean == pytest.approx([drawn.mean()] * 40, abs=0.001)
    assert plain.deviation == pytest.approx([drawn.std()] * 40, abs=0.001)


def test_nodes_stand_for_independent_normal_variables():
    for count, close in ((FEW, 0.1), (MANY, 0.003)):
        nodes = normal_nodes(count)
        assert nodes.shape == (count, 6)
        assert np.abs(nodes.mean(axis=0)).max() < close
        assert np.abs(np.cov(nodes.T) - np.eye(6)).max() < 2 * close
        assert not nodes.flags.writeable
    # Halton's second sequence from its 64th point on: 64 = 2101 to base 3, behind the point 1012
    assert norm.cdf(normal_nodes(FEW)[0, 1]) == pytest.approx(1 / 3 + 0 / 9 + 1 / 27 + 2 / 81)


@settings(deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(0, 6))
def test_a_factor_gives_its_covariance_back(seed, rank):
    root = np.random.default_rng(seed).normal(0, 0.5, (6, max(rank, 1)))
    matrix = root @ root.T if rank else np.zeros((6, 6))
    triangle = factor(matrix[None])[0]
    assert triangle @ triangle.T == pytest.approx(matrix, abs=1e-4 * (matrix.max() + 1e-12))
    assert (np.triu(triangle, 1) == 0).all()
    turn = np.block([[-np.eye(3), np.eye(3)], [np.eye(3), np.zeros((3, 3))]])
    assert difference_first(matrix[None])[0] == pytest.approx(turn @ matrix @ turn.T, abs=1e-12)


def test_a_full_factor_is_the_library_s():
    root = np.random.default_rng(2).normal(0, 0.5, (6, 6))
    matrix = root @ root.T
    assert factor(matrix[None])[0] == pytest.approx(np.linalg.cholesky(matrix), abs=1e-12)


def test_one_pair_may_have_many_matrices_and_rounding_makes_no_root_of_a_negative():
    matrices = np.array([EVEN, EVEN * 4, np.zeros((6, 6))])
    arguments = {"reference": PAIRS[0, :3], "specimen": PAIRS[0, 3:6], "formula": "CIEDE2000"}
    found = first_order_uncertainty(covariance=matrices, **arguments)
    assert found[1] == pytest.approx(2 * found[0]) and found[2] == 0.0
    expected = expected_difference(covariance=matrices, **arguments)
    assert expected.mean[2] == pytest.approx(2.0425, abs=5e-5)
    assert expected.deviation[2] == pytest.approx(0.0, abs=1e-12)
    common = np.tile(np.eye(3) * 0.7, (2, 2))
    still = first_order_uncertainty(
        reference=(50, 3, 4), specimen=(50, 1, 1), covariance=common, formula="CIELAB"
    )
    assert still[0] == pytest.approx(0.0, abs=1e-5)


def test_joint_covariances_serve_many_pairs():
    many = np.array([np.eye(3) * k for k in (1.0, 2.0)])
    joint = joint_covariance(reference=many, specimen=np.eye(3) * 3, common=np.eye(3) * 0.5)
    assert joint.shape == (2, 6, 6)
    assert np.diag(joint[1]).tolist() == [2.5] * 3 + [3.5] * 3
    assert np.diag(joint[0, :3, 3:]).tolist() == [0.5] * 3
    assert np.array_equal(joint[0, :3, 3:], joint[0, 3:, :3])


def bad(place, value):
    matrix = EVEN.copy()
    matrix[place] = value
    return np.array([EVEN, matrix])


def call(
    limit=1.0, reference=(50, 0, 0), specimen=((50, 1, 0), (50, 1, 1)), covariance=EVEN, **more
):
    return probability_within(
        limit,
        reference=reference,
        specimen=specimen,
        covariance=covariance,
        **{"formula": "CIELAB"} | more,
    )


INDEFINITE = EVEN.copy()
INDEFINITE[0, 1] = INDEFINITE[1, 0] = 0.02
REFUSED = [
    (lambda: call(limit=[1, np.nan]), "limit", "nan", 1, 0),
    (lambda: call(limit=np.inf), "limit", "inf", 0, 0),
    (lambda: call(limit=[1, 2, 3]), "limit", "shape", None, None),
    (lambda: call(limit="1 unit"), "limit", "type", None, None),
    (lambda: call(reference=(50, np.nan, 0)), "reference Lab", "nan", 0, 1),
    (lambda: call(specimen=((50, 0, 0), (50, 0, np.inf))), "specimen Lab", "inf", 1, 2),
    (lambda: call(specimen=((50, 0, 0), (50, 0, 9950))), "specimen Lab", "range", 1, 2),
    (lambda: call(reference=(50, -9950, 0)), "reference Lab", "range", 0, 1),
    (lambda: call(covariance=np.eye(3)), "covariance", "shape", None, None),
    (lambda: call(covariance=np.ones(6)), "covariance", "shape", None, None),
    (lambda: call(covariance="none"), "covariance", "type", None, None),
    (lambda: call(covariance=np.stack([EVEN] * 3)), "covariance", "shape", None, None),
    (lambda: call(covariance=bad((2, 3), np.nan)), "covariance", "nan", 1, 15),
    (lambda: call(covariance=bad((0, 1), np.inf)), "covariance", "inf", 1, 1),
    (lambda: call(covariance=bad((3, 3), -0.1)), "covariance", "range", 1, 3),
    (lambda: call(covariance=bad((4, 4), 100.1)), "covariance", "range", 1, 4),
    (lambda: call(covariance=bad((0, 1), 0.001)), "covariance", "range", 1, None),
    (lambda: call(covariance=np.array([EVEN, INDEFINITE])), "covariance", "range", 1, None),
    (lambda: call(formula="CIE76"), "formula", "range", None, None),
    (lambda: call(formula="CMC"), "l_weight", "missing", None, None),
    (
        lambda: joint_covariance(reference=np.zeros((2, 3, 3)), specimen=np.zeros((3, 3, 3))),
        "covariance",
        "shape",
        None,
        None,
    ),
    (
        lambda: joint_covariance(reference=np.eye(3), specimen=np.eye(3), common=np.eye(6)),
        "common covariance",
        "shape",
        None,
        None,
    ),
    (
        lambda: first_order_uncertainty(
            reference=(50, 0, 0),
            specimen=((50, 1, 0),) * 3,
            covariance=np.stack([EVEN] * 2),
            formula="CIELAB",
        ),
        "covariance",
        "shape",
        None,
        None,
    ),
    (lambda: stack(np.zeros((2, 2, 3)), "a", 3), "a", "shape", None, None),
]


@pytest.mark.parametrize("number", range(len(REFUSED)))
def test_what_does_not_fit_is_refused_with_its_place(number):
    refused, what, problem, row, band = REFUSED[number]
    with pytest.raises(DomainError) as caught:
        refused()
    found = caught.value
    assert (found.what, found.problem, found.row, found.band) == (what, problem, row, band)


@pytest.mark.parametrize(
    ("matrix", "words"), [(bad((1, 0), 0.001)[1], "symmetric"), (INDEFINITE, "semidefinite")]
)
def test_the_reason_why_a_matrix_is_no_covariance_is_told(matrix, words):
    with pytest.raises(DomainError, match=words):
        call(covariance=matrix)


def test_the_largest_uncertainty_is_still_taken():
    assert 0 < call(covariance=np.eye(6) * 100.0)[0] < 0.01


@pytest.mark.parametrize(
    ("chroma", "hue", "u", "off"),
    [(36.1, 304, 0.032, 3.3), (58.9, 345, 0.096, 3.4), (14.7, 350, 0.036, 3.4)],
)
def test_a_jump_beyond_the_sight_of_few_nodes_is_not_overlooked(chroma, hue, u, off):
    # hues a little off opposite: about one pair in a hundred lies on the other side of the jump
    here = np.radians(hue)
    there = here + np.pi + off * u / chroma
    first = np.array([50, chroma * np.cos(here), chroma * np.sin(here)])
    second = np.array([50.3, chroma * np.cos(there), chroma * np.sin(there)])
    rng = np.random.default_rng(6)
    drawn = ciede2000(
        first + rng.normal(0, u, (300_000, 3)), second + rng.normal(0, u, (300_000, 3))
    )
    limits = np.quantile(drawn, [0.004, 0.01, 0.02, 0.98, 0.99, 0.996])
    found = probability_within(
        limits, reference=first, specimen=second, covariance=np.eye(6) * u**2, formula="CIEDE2000"
    )
    assert found == pytest.approx([(drawn <= limit).mean() for limit in limits], abs=0.004)


def test_opposite_hues_are_looked_for_where_they_matter():
    def asked(first, second, deviation):
        pair = checked_uncertain((50, *first), (50, *second), EVEN)
        return bool(_opposite(pair, np.array([deviation]))[0])

    assert asked((20, 0), (-20, 1), 0.1)
    assert not asked((20, 0), (20, 1), 0.1)
    # 120 degrees apart and more; chromas beyond four deviations
    assert asked((20, 0), (-10.01, 17.32), 0.1) and not asked((20, 0), (-9.99, 17.32), 0.1)
    assert asked((0.5, 0), (-0.9, 0), 0.11) and not asked((0.5, 0), (-0.9, 0), 0.12)
    assert not asked((0, 0), (0, 0), 0.1)


@pytest.mark.parametrize("number", [72, 312, 337])
def test_near_neutrals_whose_weights_turn_over_are_counted(number):
    # equal colours by CMC with u from 0.25 to 0.45: the weights bend within the uncertainty, and
    # the fitted form alone is off by 0.006 to 0.008
    (cell,) = itertools.islice(cells(99, 400), number, number + 1)
    assert cell.formula == "CMC" and cell.apart == "none"
    assert error(cell, seed=1, draws=500_000) < 0.004


def test_no_pairs_give_no_probabilities():
    assert call(specimen=np.empty((0, 3))).shape == (0,)


def test_rounding_makes_no_asymmetry_and_a_negative_direction_is_seen():
    rounded = np.diag([0.04, 0.0, 0.01])
    rounded[0, 2] += 1e-13
    assert stack(rounded, "a", 3).shape == (1, 3, 3)
    rounded[0, 2] += 1e-9
    with pytest.raises(DomainError, match="symmetric"):
        stack(rounded, "a", 3)
    with pytest.raises(DomainError, match="semidefinite"):
        factor(np.array([[[1.0, 2.0], [2.0, 1.0]]]))


def test_first_order_uncertainty_takes_only_covariances():
    no_covariance = np.eye(6) * 0.01
    no_covariance[0, 3] = no_covariance[3, 0] = 0.02
    with pytest.raises(DomainError, match="not positive semidefinite"):
        first_order_uncertainty(
            reference=(50, 0, 0), specimen=(51, 0, 0), covariance=no_covariance, formula="CIELAB"
        )
