"""The true risk of a sample when nonconforming pieces come in clumps: by rack, cavity, batch, time.

A plan's operating characteristic takes the pieces as independent. m pieces from each of k clumps
tell less than k·m independent ones. Two models of a long run, both exact:

- beta-binomial: each clump has its own rate, drawn from a beta distribution with mean p and
  intra-cluster correlation ρ = 1/(a + b + 1) (J. G. Skellam, J. R. Stat. Soc. B 10 (1948) 257);
- good and bad clumps: each clump is bad with some probability, and has the rate of its kind.

The design effect 1 + (m - 1)·ρ is L. Kish, Survey Sampling (1965), 5.4 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import special

from colorimetry.arrays import Floats
from colorimetry.errors import DomainError
from colorimetry.sampling.oc import accept_binomial, one_share, plan_numbers, shares
from colorimetry.sampling.plans import whole

LARGEST_PER_CLUMP, LARGEST_AC = 10_000, 10_000
_BLOCK = 2**20  # numbers in one block of rows; above what one row can have


@dataclass(frozen=True, slots=True)
class ClumpRisk:
    """Probability of acceptance by plan and in truth, arrays of one shape.

    ``simple`` is what the plan's operating characteristic says for independent pieces, ``clumped``
    what holds; ``design_effect`` how many clumped pieces tell as much as one independent piece,
    ``effective_n`` the sample size divided by it.
    """

    simple: Floats
    clumped: Floats
    design_effect: float
    effective_n: float


def accept_beta_binomial(
    p: npt.ArrayLike, *, clumps: int, per_clump: int, ac: int, correlation: float
) -> Floats:
    """Return the probability of acceptance with ``per_clump`` pieces from each of ``clumps``.

    p: mean shares of nonconforming pieces, any shape, which the result keeps; correlation: ρ in
    [0, 1]; 0: independent pieces (binomial), 1: a clump is good or bad as a whole.
    Raises DomainError for values outside these and samples too large. Source: as the module.
    """
    k, m, number = _drawn(clumps, per_clump, ac)
    rho = one_share(correlation, "correlation")
    share = shares(p, "p")
    if rho == 0:
        return accept_binomial(share, k * m, number)
    flat, rows = share.ravel(), _BLOCK // (m + number + 1)
    parts = [
        _accepted(_beta_binomial(flat[start : start + rows], m, number, rho), k, number)
        for start in range(0, flat.size, rows)
    ]
    return np.concatenate([np.empty(0), *parts]).reshape(share.shape)


def accept_good_and_bad(
    bad_clumps: npt.ArrayLike,
    *,
    rate_in_bad: float,
    rate_in_good: float,
    clumps: int,
    per_clump: int,
    ac: int,
) -> Floats:
    """Return the probability of acceptance when each clump is bad with probability ``bad_clumps``.

    bad_clumps: probabilities, any shape, which the result keeps; rate_in_bad, rate_in_good: shares
    of nonconforming pieces within a clump of either kind.
    Raises DomainError for values outside these and samples too large. Source: as the module.
    """
    k, m, number = _drawn(clumps, per_clump, ac)
    bad = shares(bad_clumps, "bad_clumps")
    kinds = [one_share(rate, what) for rate, what in _named(rate_in_bad, rate_in_good)]
    found = np.arange(min(m, number) + 1)
    in_bad, in_good = (_binomial_terms(found, m, rate) for rate in kinds)
    weight = bad.reshape(-1, 1)
    return _accepted(weight * in_bad + (1 - weight) * in_good, k, number).reshape(bad.shape)


def good_and_bad_correlation(bad_clumps: float, rate_in_bad: float, rate_in_good: float) -> float:
    """Return the intra-cluster correlation ρ of good and bad clumps.

    The variance between clumps over the variance of one piece, π(1-π)(q_b - q_g)² / (p(1-p)) with
    p = π·q_b + (1-π)·q_g. DomainError where pieces do not vary at all (p is 0 or 1).
    Source: the definition of the intra-cluster correlation (Kish, 1965, from memory).
    """
    bad = one_share(bad_clumps, "bad_clumps")
    in_bad, in_good = (one_share(rate, what) for rate, what in _named(rate_in_bad, rate_in_good))
    mean = bad * in_bad + (1 - bad) * in_good
    if mean in (0, 1):
        raise DomainError("bad_clumps", "range", detail="all pieces are alike")
    return bad * (1 - bad) * (in_bad - in_good) ** 2 / (mean * (1 - mean))


def design_effect(per_clump: int, correlation: float) -> float:
    """Return 1 + (m - 1)·ρ: how many clumped pieces tell as much as one independent piece.

    Raises DomainError for correlations outside [0, 1]. Source: Kish (1965, from memory).
    """
    m = whole(per_clump, "per_clump", least=1)
    return 1.0 + (m - 1) * one_share(correlation, "correlation")


def clump_risk(
    p: npt.ArrayLike, *, clumps: int, per_clump: int, ac: int, correlation: float
) -> ClumpRisk:
    """Return the plan's operating characteristic beside the true one (beta-binomial).

    Arguments as in ``accept_beta_binomial``.
    Raises DomainError for values outside these and samples too large. Source: as the module.
    """
    k, m, number = _drawn(clumps, per_clump, ac)
    effect = design_effect(m, correlation)
    return ClumpRisk(
        simple=accept_binomial(p, k * m, number),
        clumped=accept_beta_binomial(p, clumps=k, per_clump=m, ac=number, correlation=correlation),
        design_effect=effect,
        effective_n=k * m / effect,
    )


def _named(rate_in_bad: float, rate_in_good: float) -> tuple[tuple[float, str], ...]:
    return (rate_in_bad, "rate_in_bad"), (rate_in_good, "rate_in_good")


def _drawn(clumps: int, per_clump: int, ac: int) -> tuple[int, int, int]:
    """Return (k, m, Ac) as ints; DomainError outside what can be computed."""
    k, m = whole(clumps, "clumps", least=1), whole(per_clump, "per_clump", least=1)
    if m > LARGEST_PER_CLUMP:
        raise DomainError("per_clump", "range", detail=f"{m} is above {LARGEST_PER_CLUMP}")
    size, number = plan_numbers(k * m, ac)
    if number > LARGEST_AC:
        raise DomainError("ac", "range", detail=f"{number} is above {LARGEST_AC}")
    return k, m, min(number, size)


def _binomial_terms(found: npt.NDArray[np.int64], m: int, rate: float) -> Floats:
    """Return the probability of each count in one clump."""
    terms: Floats = np.exp(
        _log_choose(m, found) + special.xlogy(found, rate) + special.xlog1py(m - found, -rate)
    )
    return terms


def _beta_binomial(p: Floats, m: int, ac: int, rho: float) -> Floats:
    """Return the probability of each count up to Ac in one clump, a row for each share.

    As products of (share + i·θ), θ = ρ/(1-ρ), which hold for shares of 0 and 1 and for ρ near 0,
    where the beta functions' arguments grow without bound and cancel.
    """
    found = np.arange(min(m, ac) + 1)
    if rho == 1:
        kinds = np.stack((found == 0, found == m)).astype(np.float64)
        whole_clumps: Floats = (1 - p)[:, np.newaxis] * kinds[0] + p[:, np.newaxis] * kinds[1]
        return whole_clumps
    steps = np.arange(m, dtype=np.float64) * (rho / (1 - rho))
    good, bad = _rising_logs(1 - p, steps), _rising_logs(p, steps)
    logs = _log_choose(m, found) + bad[:, found] + good[:, m - found] - np.log1p(steps).sum()
    terms: Floats = np.exp(logs)
    return terms


def _rising_logs(share: Floats, steps: Floats) -> Floats:
    """Return log of the product of the first 0, 1, … factors share + step, a row for each share."""
    with np.errstate(divide="ignore"):
        logs = np.log(share[:, np.newaxis] + steps)
    return np.hstack((np.zeros((share.size, 1)), np.cumsum(logs, axis=1)))


def _log_choose(m: int, found: npt.NDArray[np.int64]) -> Floats:
    logs: Floats = -np.log(m + 1.0) - special.betaln(found + 1.0, m - found + 1.0)
    return logs


def _accepted(one: Floats, clumps: int, ac: int) -> Floats:
    """Return the probability that the counts of ``clumps`` equal clumps sum to Ac or less.

    one: (rows, counts) probabilities in one clump, counts from 0; counts above Ac do not matter, so
    the distribution of the sum is carried up to Ac only, by doubling.
    """
    total = np.zeros((one.shape[0], ac + 1))
    total[:, 0] = 1.0
    power, left = np.zeros_like(total), clumps
    power[:, : one.shape[1]] = one
    while left:
        if left % 2:
            total = _convolved(total, power)
        left //= 2
        if left:
            power = _convolved(power, power)
    accepted: Floats = np.clip(total.sum(axis=1), 0.0, 1.0)
    return accepted


def _convolved(first: Floats, second: Floats) -> Floats:
    """Return the distribution of the sum of two counts, cut where the arguments end."""
    counts = first.shape[1]
    result = np.zeros_like(first)
    for count in range(counts):
        result[:, count:] += first[:, [count]] * second[:, : counts - count]
    return result
