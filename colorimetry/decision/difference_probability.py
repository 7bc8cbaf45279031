"""Probability that a colour difference lies within a limit, with both colours uncertain.

First-order uncertainty is zero at zero difference and useless below about three times itself. So
the squared difference is taken as a quadratic form of a normal vector (reference and specimen
together, six variables), fitted by least squares over fixed nodes at which the formula itself is
computed; its distribution is exact (``quadratic_form``). What the form leaves over is averaged over
stretches of equal value and moves the limit. Where form and formula order the nodes differently, or
hues lie where CIEDE2000 (180 degrees apart) or CMC (164 and 345 degrees) jump, many more nodes are
counted instead; where the covariance has one or two directions only, even nodes in these.
No random numbers: the same input gives the same bytes.

Limits: normal distributions; against 10⁶ random draws within 0.01 (``benchmarks.decision_grid``).
Sources: JCGM 101:2008 and JCGM 106:2012 for the task; Imhof, Biometrika 48:419-426 (1961) for
quadratic forms. The fit and the moved limit are ours.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats
from colorimetry.decision.conformance import column
from colorimetry.decision.covariance import difference_first, factor, stack
from colorimetry.decision.nodes import DIMENSIONS, even_nodes, normal_nodes
from colorimetry.decision.quadratic_form import diagonal, probability_below
from colorimetry.difference import LARGEST, checked_pair
from colorimetry.difference_formulas import difference
from colorimetry.errors import DomainError

FEW, MANY = 256, 32_768  # nodes of the fit, and where nodes are counted
_STRETCHES = 16  # of nodes of about equal value
_DISORDER = 0.006  # root mean square of the rank differences, in shares of all nodes
_STILL = 1e-9  # a spread of the difference below this is rounding
_ROOM = 100.0  # no node is farther out: ten times the largest uncertainty
_NARROW = 0.01  # of the widest variable's spread: less is no direction of its own
_CHUNK = 256  # pairs computed together
_BENDS = (164.0, 345.0)  # degrees of hue where CMC changes its weight
_AT = np.triu_indices(DIMENSIONS)


class Uncertain(NamedTuple):
    """n pairs: centre (n, 6) and factor (n, 6, 6) of (specimen - reference, reference)."""

    reference: Floats
    specimen: Floats
    factors: Floats

    def part(self, rows: slice | npt.NDArray[np.int_]) -> Uncertain:
        """Some of the pairs."""
        return Uncertain(self.reference[rows], self.specimen[rows], self.factors[rows])

    def repeated(self, count: int) -> Uncertain:
        """The pairs, each table of one row repeated."""
        return Uncertain(*(np.broadcast_to(table, (count, *table.shape[1:])) for table in self))


def checked_uncertain(
    reference: npt.ArrayLike, specimen: npt.ArrayLike, covariance: npt.ArrayLike
) -> Uncertain:
    """Return pairs and factors, all of one length n (one pair or one matrix serves all).

    Raises DomainError as ``checked_pair``, ``stack`` and ``factor`` do, and for numbers of pairs
    and matrices that do not fit.
    """
    first, second = checked_pair(reference, specimen)
    for table, what in ((first, "reference Lab"), (second, "specimen Lab")):
        far = np.abs(table) > LARGEST - _ROOM
        if far.any():
            row, band = (int(i) for i in np.argwhere(far)[0])
            raise DomainError(what, "range", row=row, band=band, detail="no uncertainty fits here")
    factors = factor(difference_first(stack(covariance, "covariance", 6)))
    pairs = Uncertain(first, second, factors)
    counts = [len(table) for table in pairs]
    longest = 0 if 0 in counts else max(counts)
    if any(count not in (1, longest) for count in counts):
        detail = f"{counts[2]} matrices for {counts[0]} pairs"
        raise DomainError("covariance", "shape", detail=detail)
    return pairs.repeated(longest)


def at_nodes(
    pairs: Uncertain, nodes: Floats, formula: str, parameters: dict[str, float | str]
) -> Floats:
    """Return the difference (n, nodes) of each pair moved to each node."""
    moved = np.einsum("njk,mk->nmj", pairs.factors, nodes)
    first = pairs.reference[:, None, :] + moved[:, :, 3:]
    second = pairs.specimen[:, None, :] + moved[:, :, 3:] + moved[:, :, :3]
    values = difference(
        formula, reference=first.reshape(-1, 3), specimen=second.reshape(-1, 3), **parameters
    )
    return values.reshape(len(pairs.reference), len(nodes))


def _design(nodes: Floats) -> Floats:
    """One, the six variables and their 21 products (nodes, 28)."""
    products = nodes[:, _AT[0]] * nodes[:, _AT[1]]
    return np.column_stack((np.ones(len(nodes)), nodes, products))


@lru_cache(maxsize=1)
def _fitting() -> tuple[Floats, Floats]:
    """The design (256, 28) and the matrix (28, 256) that makes least-squares coefficients.

    Gram-Schmidt and back substitution by einsum: no BLAS between input and verdict.
    """
    design = _design(normal_nodes(FEW))
    columns = design.shape[1]
    basis, upper = design.copy(), np.zeros((columns, columns))
    for j in range(columns):
        upper[j, j] = np.sqrt(np.einsum("i,i->", basis[:, j], basis[:, j]))
        basis[:, j] /= upper[j, j]
        upper[j, j + 1 :] = np.einsum("i,ik->k", basis[:, j], basis[:, j + 1 :])
        basis[:, j + 1 :] -= basis[:, j, None] * upper[j, j + 1 :]
    solver = np.zeros((columns, len(design)))
    for j in reversed(range(columns)):
        known = np.einsum("k,ki->i", upper[j, j + 1 :], solver[j + 1 :])
        solver[j] = (basis[:, j] - known) / upper[j, j]
    return design, solver


def _ranks(values: Floats) -> npt.NDArray[np.int_]:
    """The rank of each value within its row."""
    order = np.argsort(values, axis=1, kind="stable")
    ranks = np.empty_like(order)
    np.put_along_axis(ranks, order, np.arange(values.shape[1])[None, :], axis=1)
    return ranks


def _moved_limit(squared: Floats, at: Floats, form_at: Floats) -> Floats:
    """Return where the form stands when the squared difference reaches ``squared`` (n,).

    at, form_at: squared differences and forms (n, nodes). Means over stretches of nodes, made
    monotone and joined by lines, map one to the other; beyond the ends the distance is kept.
    """
    order = np.argsort(form_at, axis=1, kind="stable")
    shape = (len(at), _STRETCHES, at.shape[1] // _STRETCHES)
    forms = np.take_along_axis(form_at, order, axis=1).reshape(shape).mean(axis=2)
    means = np.take_along_axis(at, order, axis=1).reshape(shape).mean(axis=2)
    means = np.maximum.accumulate(means, axis=1)
    result = np.empty(len(at))
    for i, x in enumerate(squared):
        ends = np.concatenate(([min(x, means[i, 0])], means[i], [max(x, means[i, -1])]))
        targets = ends - means[i, [0, *range(_STRETCHES), -1]]
        targets += forms[i, [0, *range(_STRETCHES), -1]]
        result[i] = np.interp(x, ends, targets)
    return result


def _fitted(limit: Floats, values: Floats) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Return the probability (n,) from the fitted form, and whether form and formula agree."""
    design, solver = _fitting()
    squared = values**2
    coefficients = np.einsum("nk,ck->nc", squared, solver)
    form_at = np.einsum("nc,kc->nk", coefficients, design)
    matrices = np.zeros((len(values), DIMENSIONS, DIMENSIONS))
    matrices[:, _AT[0], _AT[1]] = coefficients[:, 1 + DIMENSIONS :]
    matrices = (matrices + matrices.transpose(0, 2, 1)) / 2.0
    form = diagonal(coefficients[:, 0], coefficients[:, 1 : 1 + DIMENSIONS], matrices)
    apart = (_ranks(values) - _ranks(form_at)) / values.shape[1]
    agree = np.sqrt((apart**2).mean(axis=1)) <= _DISORDER
    return probability_below(_moved_limit(limit**2, squared, form_at), form), agree


def _opposite(pairs: Uncertain, deviation: Floats) -> npt.NDArray[np.bool_]:
    """Where hues lie so far apart that CIEDE2000 may jump beyond the few nodes' sight (n,).

    It jumps at 180 degrees by about 0.05 C*²; that matters from a fifth of the deviation on.
    """
    one, other = pairs.reference[:, 1:], pairs.specimen[:, 1:]
    chromas = np.sqrt((one**2).sum(axis=1) * (other**2).sum(axis=1))
    inner = (one * other).sum(axis=1)
    result: npt.NDArray[np.bool_] = (inner < -0.5 * chromas) & (chromas > 4.0 * deviation)
    return result


def _at_a_bend(pairs: Uncertain, centre: Floats, deviation: Floats) -> npt.NDArray[np.bool_]:
    """Where CMC's weight of hue jumps within reach of the reference's hue (n,).

    It jumps by 0.3 % at 164 and 345 degrees; that matters where the difference is wide.
    """
    a, b = pairs.reference[:, 1], pairs.reference[:, 2]
    spread = np.sqrt((pairs.factors[:, 4:, :] ** 2).sum(axis=(1, 2)))
    near = np.zeros(len(a), dtype=np.bool_)
    for bend in np.radians(_BENDS):
        along, across = a * np.cos(bend) + b * np.sin(bend), b * np.cos(bend) - a * np.sin(bend)
        near |= (np.abs(across) <= 4.0 * spread) & (along >= -4.0 * spread)
    result: npt.NDArray[np.bool_] = near & (centre > 4.0 * deviation)
    return result


def _counted(
    limit: Floats, pairs: Uncertain, formula: str, parameters: dict[str, float | str]
) -> Floats:
    """Return the share of nodes within the limit (n,), pair by pair."""
    result = np.empty(len(limit))
    known: dict[bytes, Floats] = {}  # a pair may come with many limits
    for row in range(len(limit)):
        one = pairs.part(slice(row, row + 1))
        key = b"".join(table.tobytes() for table in one)
        if key not in known:
            known[key] = at_nodes(one, _nodes_for(_wide(one.factors)[0]), formula, parameters)
        result[row] = (known[key] <= limit[row]).mean()
    return result


def _wide(factors: Floats) -> npt.NDArray[np.bool_]:
    """Which of the six variables move the colours at all, beside the one that does most (n, 6).

    A form fitted in six variables cannot follow a covariance of one or two directions.
    """
    moves = np.einsum("njk,njk->nk", factors, factors)
    wide: npt.NDArray[np.bool_] = moves > _NARROW**2 * moves.max(axis=1, keepdims=True)
    return wide


def _nodes_for(wide: npt.NDArray[np.bool_]) -> Floats:
    """Return the nodes (m, 6) to count where the variables ``wide`` (6,) move the colours."""
    directions = np.flatnonzero(wide)
    if not 1 <= len(directions) <= 2:
        return normal_nodes(MANY)
    even = even_nodes(len(directions))
    nodes = normal_nodes(len(even)).copy()
    nodes[:, directions] = even
    return nodes


def _chunk(
    limit: Floats, pairs: Uncertain, formula: str, parameters: dict[str, float | str]
) -> Floats:
    """``probability_within`` for a few pairs with limits of zero or more."""
    centre = difference(formula, reference=pairs.reference, specimen=pairs.specimen, **parameters)
    values = at_nodes(pairs, normal_nodes(FEW), formula, parameters)
    spread = values.max(axis=1) - values.min(axis=1)
    result = np.where(centre <= limit, 1.0, 0.0)
    moving = spread > _STILL * np.maximum(1.0, centre)
    # the square of a CIELAB difference is a quadratic form itself: nothing is left to count
    narrow = moving & (_wide(pairs.factors).sum(axis=1) <= 2) & (formula != "CIELAB")
    result[narrow] = _counted(limit[narrow], pairs.part(narrow), formula, parameters)
    moving = np.flatnonzero(moving & ~narrow)
    if not len(moving):
        return result
    result[moving], agree = _fitted(limit[moving], values[moving])
    result[moving] = np.where(limit[moving] == 0.0, 0.0, result[moving])
    deviation = values[moving].std(axis=1)
    agree &= ~_opposite(pairs.part(moving), deviation)
    if formula == "CMC":
        agree &= ~_at_a_bend(pairs.part(moving), centre[moving], deviation)
    unsure = moving[~agree]
    result[unsure] = _counted(limit[unsure], pairs.part(unsure), formula, parameters)
    return result


def probability_within(
    limit: npt.ArrayLike,
    *,
    reference: npt.ArrayLike,
    specimen: npt.ArrayLike,
    covariance: npt.ArrayLike,
    formula: str,
    **parameters: float | str,
) -> Floats:
    """Return P(difference <= limit) (n,), with reference and specimen (n, 3) normal about CIELAB.

    limit: one number or (n,), in the formula's unit; below zero the probability is 0.
    covariance: (6, 6) or (n, 6, 6) of (reference, specimen) in L*, a*, b* each, as
    ``joint_covariance`` makes it. One limit, reference, pair or matrix serves all others.
    formula, parameters: as ``difference`` takes them.
    Without any spread of the difference the result is 1 or 0.
    Within 0.01 of Monte Carlo with 10⁶ draws; see the module for the method and its sources.
    Raises DomainError naming row and band for NaN, infinity, shapes that do not fit, matrices that
    are not covariances, and as ``difference`` does.
    """
    pairs = checked_uncertain(reference, specimen, covariance)
    limits = column(limit, "limit")
    count = len(limits) if len(pairs.reference) == 1 else len(pairs.reference)
    if len(limits) not in (1, count):
        detail = f"{len(limits)} limits for {count} pairs"
        raise DomainError("limit", "shape", detail=detail)
    pairs, limits = pairs.repeated(count), np.broadcast_to(limits, (count,))
    result = np.zeros(count)
    for start in range(0, count, _CHUNK):
        rows = slice(start, start + _CHUNK)
        part = _chunk(np.maximum(limits[rows], 0.0), pairs.part(rows), formula, parameters)
        result[rows] = np.where(limits[rows] < 0.0, 0.0, part)
    return result


def highest_probability(
    limit: npt.ArrayLike,
    *,
    reference: npt.ArrayLike,
    covariance: npt.ArrayLike,
    formula: str,
    **parameters: float | str,
) -> Floats:
    """Return P(difference <= limit) (n,) of specimens that measure exactly as their references do.

    Where even this stays below the probability that a rule asks for, the uncertainty leaves no
    acceptance zone: nothing that is measured could be accepted, and the question cannot be decided.
    Arguments and errors as ``probability_within``. Source: JCGM 106:2012, clause 8.
    """
    return probability_within(
        limit,
        reference=reference,
        specimen=reference,
        covariance=covariance,
        formula=formula,
        **parameters,
    )
