"""Probit and logit: distribution, density and its slope, without loss in the tails."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
from scipy.special import expit, log_ndtr, ndtr

from colorimetry.arrays import Floats

Link = Literal["probit", "logit"]
# beyond these the distribution is 0 or 1 in double precision: stand-ins for infinite bounds
INFINITE: dict[Link, float] = {"probit": 40.0, "logit": 800.0}


class Interval(NamedTuple):
    """ln of the probability between two bounds, and density and density slope over it, each (n,).

    ``at_upper`` = f(b) / p, ``at_lower`` = f(a) / p, ``upper_slope`` = f'(b) / p, ``lower_slope``.
    """

    log_share: Floats
    at_upper: Floats
    at_lower: Floats
    upper_slope: Floats
    lower_slope: Floats


def between(lower: Floats, upper: Floats, link: Link) -> Interval:
    """Return the interval's quantities; lower < upper elementwise, infinite as ``INFINITE``."""
    # both bounds are taken to the lower tail, where differences keep their digits
    turned = lower > 0.0
    low, high = np.where(turned, -upper, lower), np.where(turned, -lower, upper)
    log_high, log_low = _log_share(high, link), _log_share(low, link)
    log_share = log_high + np.log1p(-np.exp(np.minimum(log_low - log_high, -1e-16)))
    densities = [np.exp(_log_density(bound, link) - log_share) for bound in (upper, lower)]
    slopes = [
        density * _relative_slope(bound, link)
        for density, bound in zip(densities, (upper, lower), strict=True)
    ]
    return Interval(log_share, densities[0], densities[1], slopes[0], slopes[1])


def share_below(bound: Floats, link: Link) -> Floats:
    """Return the distribution function."""
    return np.asarray(ndtr(bound) if link == "probit" else expit(bound))


def _log_share(bound: Floats, link: Link) -> Floats:
    """Return the logarithm of the distribution function."""
    return np.asarray(log_ndtr(bound) if link == "probit" else -np.logaddexp(0.0, -bound))


def _log_density(bound: Floats, link: Link) -> Floats:
    """Return the logarithm of the density."""
    if link == "probit":
        return np.asarray(-0.5 * bound**2 - 0.5 * np.log(2.0 * np.pi))
    return np.asarray(-np.abs(bound) - 2.0 * np.log1p(np.exp(-np.abs(bound))))


def _relative_slope(bound: Floats, link: Link) -> Floats:
    """Return f' / f."""
    return np.asarray(-bound if link == "probit" else -np.tanh(bound / 2.0))
