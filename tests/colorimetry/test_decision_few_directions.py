"""P(difference <= limit) where one or two things alone are uncertain, and at bends of CMC."""

import numpy as np
import pytest

from colorimetry.decision.difference_probability import probability_within
from colorimetry.difference_formulas import difference

PLAIN = [
    ("CIELAB", {}),
    ("CIEDE2000", {}),
    ("CMC", {"l_weight": 2.0, "c_weight": 1.0}),
    ("CIE94", {"application": "textiles"}),
    ("DIN99o", {}),
]


def of_few_directions(rng):
    """A random pair near the formulas' bends with a covariance of one or two directions."""
    formula, parameters = PLAIN[rng.integers(len(PLAIN))]
    hue = np.radians(rng.choice([rng.uniform(0, 360), 345.0, 164.0, 275.0]))
    chroma = rng.choice([0.5, 3.0, 15.0, 50.0]) * rng.uniform(0.5, 1.5)
    reference = np.array([rng.uniform(10, 95), chroma * np.cos(hue), chroma * np.sin(hue)])
    u, directions = rng.choice([0.05, 0.1, 0.3]), rng.integers(1, 3)
    specimen = reference + rng.normal(0, u, 3) * rng.choice([0.0, 0.5, 2.0, 6.0])
    if rng.random() < 0.1:
        specimen[1:] *= -1.0
    ways = rng.normal(0, u, (6, directions))
    if rng.random() < 0.5:
        ways = u * np.eye(6)[:, rng.choice(6, directions, replace=False)]
    return {"formula": formula, **parameters}, reference, specimen, ways


def test_few_directions_are_within_a_hundredth_of_random_draws():
    rng = np.random.default_rng(345)
    for _ in range(150):
        formula, reference, specimen, ways = of_few_directions(rng)
        moved = rng.standard_normal((40_000, ways.shape[1])) @ ways.T
        drawn = difference(
            reference=reference + moved[:, :3], specimen=specimen + moved[:, 3:], **formula
        )
        limits = np.quantile(drawn, (0.02, 0.1, 0.3, 0.5, 0.8, 0.97)) * (1 + 1e-9)
        found = probability_within(
            limits, reference=reference, specimen=specimen, covariance=ways @ ways.T, **formula
        )
        drawn_share = (drawn[:, None] <= limits).mean(axis=0)
        # the draws themselves scatter by up to 0.0025
        assert np.abs(found - drawn_share).max() < 0.01


@pytest.mark.parametrize("noise", [0.0, 1e-3])
@pytest.mark.parametrize(
    ("formula", "reference", "specimen", "moving", "u", "limit", "drawn"),
    [
        (2, (24.2, 0, 0), (24.27, 0.08, -0.07), [0], 0.1, 0.1666176, (0.00485, 0.03096)),
        (4, (82.2, 26.4, 14.2), (82.1, 26.35, 14.2), [2, 5], 0.1, 0.0940434, (0.00492, 0.0159)),
        (1, (86.5, 0.9, 0.5), (86.43, 0.94, 0.46), [0, 3], 0.3, 0.0717617, (0.05034, 0.0501)),
    ],
)
def test_one_or_two_directions_and_hardly_a_third_are_counted(
    formula, reference, specimen, moving, u, limit, drawn, noise
):
    # drawn: 10⁶ random draws, without and with noise of a thousandth in all six
    variances = np.full(6, (u * noise) ** 2)
    variances[moving] += u**2
    name, parameters = PLAIN[formula]
    found = probability_within(
        limit,
        reference=reference,
        specimen=specimen,
        covariance=np.diag(variances),
        formula=name,
        **parameters,
    )
    assert found[0] == pytest.approx(drawn[noise > 0], abs=0.002)


@pytest.mark.parametrize("hue", [164.0, 345.0])
def test_nearly_opposite_hues_at_a_bend_of_cmc_are_counted(hue):
    turn = np.radians([hue, hue + 171.0])
    reference, specimen = ((50.0, 30 * np.cos(t), 30 * np.sin(t)) for t in turn)
    parameters = {"formula": "CMC", "l_weight": 1.0, "c_weight": 1.0}
    rng = np.random.default_rng(1)
    d = rng.normal(0, 0.03, (100_000, 6))
    drawn = difference(reference=reference + d[:, :3], specimen=specimen + d[:, 3:], **parameters)
    limits = np.quantile(drawn, (0.05, 0.3, 0.5, 0.7, 0.95))
    found = probability_within(
        limits,
        reference=reference,
        specimen=specimen,
        covariance=np.eye(6) * 0.03**2,
        **parameters,
    )
    assert found == pytest.approx((0.05, 0.3, 0.5, 0.7, 0.95), abs=0.01)
