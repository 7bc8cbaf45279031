"""How often a single sampling plan accepts: operating characteristics, risks, plans for two points.

Exact distributions: binomial for a share of a long run of items, hypergeometric for one isolated
lot, Poisson for nonconformities per 100 items. Pieces are taken to be drawn at random; where they
come in clumps the true risk is larger (``clumps.py``).
Sources: MIL-STD-105E table X (operating characteristics); for the search of a plan W. C. Guenther,
J. Quality Technology 1 (1969), 105-109 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, number, real_array
from colorimetry.errors import DomainError
from colorimetry.sampling.plans import whole

LARGEST_SAMPLE, LARGEST_LOT = 10**6, 10**12
LARGEST_SEARCHED, LARGEST_SEARCHED_IN_LOT = 100_000, 20_000  # seconds at the most
_BLOCK = 2**20  # numbers in one block of hypergeometric terms; above LARGEST_SAMPLE


@dataclass(frozen=True, slots=True)
class FoundPlan:
    """The smallest single plan that keeps both risks, with the risks that it has."""

    n: int
    ac: int
    producer_risk: float
    consumer_risk: float


def _special() -> Any:
    """SciPy's functions, loaded when the first is asked for: a server starts without them."""
    from scipy import special

    return special


def shares(value: npt.ArrayLike, what: str) -> Floats:
    """Return probabilities as a float array; DomainError where one is not in [0, 1]."""
    table = real_array(value, what)
    wrong = ~((table >= 0) & (table <= 1))
    if wrong.any():
        first = int(np.flatnonzero(wrong.ravel())[0])
        found = float(table.ravel()[first])
        problem = "nan" if np.isnan(found) else "inf" if np.isinf(found) else "range"
        raise DomainError(what, problem, row=first, detail=f"{found!r} is not in [0, 1]")
    return table


def one_share(value: float, what: str) -> float:
    """Return one probability; DomainError where it is no number in [0, 1]."""
    return number(value, what, 0.0, 1.0)


def plan_numbers(n: int, ac: int) -> tuple[int, int]:
    """Return (n, Ac) as ints; DomainError unless 1 ≤ n ≤ LARGEST_SAMPLE and 0 ≤ Ac."""
    size, number = whole(n, "n", least=1), whole(ac, "ac")
    if size > LARGEST_SAMPLE:
        raise DomainError("n", "range", detail=f"{size} is above {LARGEST_SAMPLE}")
    return size, number


def accept_binomial(p: npt.ArrayLike, n: int, ac: int) -> Floats:
    """Return the probability of acceptance when each item is nonconforming with probability ``p``.

    p: shares (not percent), any shape, which the result keeps.
    Raises DomainError for values outside these, and plans that are none.
    Source: the binomial distribution; MIL-STD-105E, table X.
    """
    size, number = plan_numbers(n, ac)
    share = shares(p, "p")
    if number >= size:
        return np.ones_like(share)
    result: Floats = np.asarray(_special().betaincc(number + 1, size - number, share))
    return result


def accept_poisson(per_100: npt.ArrayLike, n: int, ac: int) -> Floats:
    """Return the probability of acceptance at ``per_100`` nonconformities per 100 items.

    per_100: rates from 0, any shape, which the result keeps.
    Raises DomainError for values outside these, and plans that are none.
    Source: the Poisson distribution; MIL-STD-105E, table X.
    """
    size, number = plan_numbers(n, ac)
    rate = real_array(per_100, "per_100")
    wrong = ~(np.isfinite(rate) & (rate >= 0))
    if wrong.any():
        first = int(np.flatnonzero(wrong.ravel())[0])
        raise DomainError("per_100", "range", row=first, detail="finite rates from 0 expected")
    result: Floats = np.asarray(_special().gammaincc(number + 1, rate * size / 100.0))
    return result


def accept_hypergeometric(nonconforming: npt.ArrayLike, lot: int, n: int, ac: int) -> Floats:
    """Return the probability of acceptance of one lot with ``nonconforming`` bad items.

    nonconforming: whole numbers from 0 to lot, any shape, which the result keeps; lot: items in it,
    at least n.

    Terms are built from their ratios and divided by their sum over the whole support, so that no
    factorial is taken: relative error below 1e-11 up to a sample of 10⁵.
    Raises DomainError for counts outside the lot and samples larger than it.
    Source: the hypergeometric distribution.
    """
    size, number = plan_numbers(n, ac)
    pieces = whole(lot, "lot", least=1)
    if not size <= pieces <= LARGEST_LOT:
        raise DomainError("n", "range", detail=f"{size} of a lot of {pieces}")
    bad = _counts(nonconforming, pieces)
    flat = np.unique(bad)
    rows = _BLOCK // (size + 1)
    parts = [
        _hypergeometric(flat[start : start + rows], pieces, size, number)
        for start in range(0, flat.size, rows)
    ]
    accepted = np.concatenate([np.empty(0), *parts])
    result: Floats = accepted[np.searchsorted(flat, bad)].reshape(bad.shape)
    return result


def _counts(value: npt.ArrayLike, lot: int) -> npt.NDArray[np.int64]:
    try:
        table = np.asarray(value)
    except (TypeError, ValueError) as error:
        raise DomainError("nonconforming", "type", detail="whole numbers expected") from error
    if table.dtype.kind not in "iu":
        raise DomainError("nonconforming", "type", detail="whole numbers expected")
    wrong = (table < 0) | (table > lot)
    if wrong.any():
        first = int(np.flatnonzero(wrong.ravel())[0])
        raise DomainError("nonconforming", "range", row=first, detail=f"not within 0 and {lot}")
    return table.astype(np.int64)


def _hypergeometric(bad: npt.NDArray[np.int64], lot: int, n: int, ac: int) -> Floats:
    """Return acceptance for a column of counts of bad items."""
    bad = bad[:, np.newaxis]
    found = np.arange(n + 1, dtype=np.float64)
    lowest, highest = np.maximum(0, n - (lot - bad)), np.minimum(n, bad)
    inside = (found > lowest) & (found <= highest)  # where a term has a neighbour below it
    above = np.where(inside, (bad - found + 1) * (n - found + 1), 1)
    below = np.where(inside, found * (lot - bad - n + found), 1)
    logs = np.cumsum(np.log(above / below), axis=1)
    possible = (found >= lowest) & (found <= highest)
    logs = np.where(possible, logs, -np.inf)
    terms = np.exp(logs - logs.max(axis=1, keepdims=True))
    accepted: Floats = terms[:, : ac + 1].sum(axis=1) / terms.sum(axis=1)
    return accepted


def quality_binomial(acceptance: npt.ArrayLike, n: int, ac: int) -> Floats:
    """Return the share of nonconforming items at which a plan accepts with this probability.

    acceptance: probabilities in [0, 1], any shape. Ac < n (DomainError: every share is accepted).
    """
    size, number = plan_numbers(n, ac)
    if number >= size:
        raise DomainError("ac", "range", detail=f"{number} of {size}: every lot is accepted")
    wanted = shares(acceptance, "acceptance")
    result: Floats = np.asarray(_special().betainccinv(number + 1, size - number, wanted))
    return result


def quality_poisson(acceptance: npt.ArrayLike, n: int, ac: int) -> Floats:
    """Return the nonconformities per 100 items at which a plan accepts with this probability.

    acceptance: probabilities in (0, 1], any shape (the rate for 0 is infinite: DomainError).
    """
    size, number = plan_numbers(n, ac)
    wanted = shares(acceptance, "acceptance")
    if (wanted == 0).any():
        raise DomainError("acceptance", "range", detail="0 is reached at no finite rate")
    result: Floats = np.asarray(_special().gammainccinv(number + 1, wanted)) * 100.0 / size
    return result


def quality_hypergeometric(acceptance: float, lot: int, n: int, ac: int) -> int:
    """Return the smallest count of bad items in the lot at which acceptance is this or less.

    Ac < n (DomainError: every lot is accepted).
    """
    wanted = one_share(acceptance, "acceptance")
    size, number = plan_numbers(n, ac)
    if number >= size:
        raise DomainError("ac", "range", detail=f"{number} of {size}: every lot is accepted")

    def low_enough(count: int) -> bool:
        return float(accept_hypergeometric(count, lot, size, number)) <= wanted

    return _first(low_enough, 0, whole(lot, "lot", least=1))


def find_plan(
    *, producer: tuple[float, float], consumer: tuple[float, float], lot: int | None = None
) -> FoundPlan:
    """Return the smallest single plan that keeps two points of the operating characteristic.

    producer: (p1, α): lots with share p1 are refused with probability α at most.
    consumer: (p2, β): lots with share p2 are accepted with probability β at most; p1 < p2.
    lot: size of an isolated lot (hypergeometric; p1 and p2 times lot must be whole numbers), None
    for items of a long run (binomial).

    DomainError where the points are not in order, or no sample up to LARGEST_SEARCHED serves.
    """
    (p1, alpha), (p2, beta) = _point(producer, "producer"), _point(consumer, "consumer")
    if not p1 < p2:
        raise DomainError("producer", "range", detail=f"share {p1!r} is not below {p2!r}")
    accept = _binomial_pair(p1, p2) if lot is None else _lot_pair(p1, p2, lot)
    most = LARGEST_SEARCHED if lot is None else min(lot, LARGEST_SEARCHED_IN_LOT)
    size = 0
    for ac in range(most):
        # Acceptance falls as the sample grows and rises with Ac: the first Ac that serves is the
        # one with the smallest sample, and that sample is larger than the last one tried.
        size = _first(_at_most(accept, beta, ac), size + 1, most)
        if size > most:
            break
        risk = 1.0 - accept(0, size, ac)
        if risk <= alpha:
            return FoundPlan(size, ac, risk, accept(1, size, ac))
    raise DomainError("points", "range", detail=f"no sample of up to {most} keeps both")


def _point(point: tuple[float, float], what: str) -> tuple[float, float]:
    """Return (share, risk); DomainError unless both are within 0 and 1, the risk above 0."""
    both = shares(point, what)
    if both.shape != (2,):
        raise DomainError(what, "shape", detail=f"a share and a risk expected, got {both.shape}")
    share, risk = both.tolist()
    if not 0 < risk < 1:
        raise DomainError(what, "range", detail=f"a risk of {risk!r} is none to plan for")
    return share, risk


_Acceptance = Callable[[int, int, int], float]


def _binomial_pair(p1: float, p2: float) -> _Acceptance:
    return lambda point, n, ac: float(accept_binomial((p1, p2)[point], n, ac))


def _lot_pair(p1: float, p2: float, lot: int) -> _Acceptance:
    pieces = whole(lot, "lot", least=2)
    counts = [round(share * pieces) for share in (p1, p2)]
    for share, count in zip((p1, p2), counts, strict=True):
        if abs(share * pieces - count) > 1e-9 * pieces:
            detail = f"a share of {share!r} is no whole number of items in a lot of {pieces}"
            raise DomainError("share", "range", detail=detail)
    return lambda point, n, ac: float(accept_hypergeometric(counts[point], pieces, n, ac))


def _at_most(accept: _Acceptance, beta: float, ac: int) -> Callable[[int], bool]:
    return lambda n: accept(1, n, ac) <= beta


def _first(fits: Callable[[int], bool], low: int, high: int) -> int:
    """Return the first whole number from low to high that fits, high + 1 if none.

    fits: false up to a point and true from there on.
    """
    step, below = 1, low - 1
    while (tried := below + step) < high and not fits(tried):
        below, step = tried, 2 * step
    above = tried if tried < high else high + 1  # the upper bound itself was not tried
    while above - below > 1:
        middle = (below + above) // 2
        below, above = (below, middle) if fits(middle) else (middle, above)
    return above
