"""Accept/reject decisions against a reference: effectiveness, misses, false alarms.

The three figures are common practice in attribute agreement studies, no published source:
effectiveness counts specimens, misses and false alarms count decisions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt
from scipy.special import betaincinv, ndtri

from colorimetry.arrays import Floats, finite_table, name, number, real_array
from colorimetry.errors import DomainError
from colorimetry.panels.resampling import checked_confidence

IntervalMethod = Literal["wilson", "exact"]


@dataclass(frozen=True)
class Proportion:
    """``count`` of ``of``, with an interval. All figures are None where there was nothing to count.

    The interval takes the counted things as independent. Repeated decisions on one specimen are
    not: intervals of misses and false alarms are then too narrow.
    """

    count: int
    of: int
    value: float | None
    low: float | None
    high: float | None
    confidence: float
    method: IntervalMethod


def _whole(value: float, what: str, most: float) -> int:
    """Return a whole number from 0 to ``most``."""
    found = number(value, what, 0.0, most)
    if found != int(found):
        raise DomainError(what, "type", detail=f"a whole number expected, got {found!r}")
    return int(value)


def proportion(
    count: int, of: int, *, confidence: float = 0.95, method: IntervalMethod = "wilson"
) -> Proportion:
    """Return a proportion with its two-sided interval.

    method "wilson": score interval (Wilson, J. Am. Stat. Assoc. 22:209-212, 1927); "exact": from
    binomial tails, never below its confidence (Clopper & Pearson, Biometrika 26:404-413, 1934).
    Both references from memory; checked against an independent library.
    Raises DomainError for counts outside 0 to ``of`` or not whole, confidence and method.
    """
    checked_confidence(confidence)
    name(method, "method", get_args(IntervalMethod))
    of = _whole(of, "of", math.inf)
    count = _whole(count, "count", of)
    if of == 0:
        return Proportion(0, 0, None, None, None, confidence, method)
    share, tail = count / of, (1.0 - confidence) / 2.0
    if method == "wilson":
        z = -float(ndtri(tail))
        centre = (share + z * z / (2 * of)) / (1 + z * z / of)
        half = z / (1 + z * z / of) * np.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
        low, high = float(centre - half), float(centre + half)
    else:
        low, high = _exact(count, of, tail)
    # at the ends the formulas give exactly 0 or 1 only up to rounding
    low, high = (0.0 if count == 0 else low), (1.0 if count == of else high)
    return Proportion(count, of, share, low, high, confidence, method)


def _exact(count: int, of: int, tail: float) -> tuple[float, float]:
    """Return the limits whose binomial tails are ``tail`` each."""
    low = 0.0 if count == 0 else float(betaincinv(count, of - count + 1, tail))
    high = 1.0 if count == of else float(betaincinv(count + 1, of - count, 1.0 - tail))
    return low, high


@dataclass(frozen=True)
class Detection:
    """How decisions stand against the reference.

    ``effectiveness``: specimens all of whose decisions agree with the reference;
    ``misses``: decisions that accept, of those on specimens the reference rejects;
    ``false_alarms``: decisions that reject, of those on specimens the reference accepts.
    """

    effectiveness: Proportion
    misses: Proportion
    false_alarms: Proportion


@dataclass(frozen=True)
class PanelDetection:
    """The figures of each observer, in the order given, and of all decisions together."""

    observers: tuple[Detection, ...]
    panel: Detection


def _decisions(decisions: npt.ArrayLike) -> Floats:
    """Return decisions (observers, specimens, trials): 1 accept, 0 reject, NaN not judged."""
    table = real_array(decisions, "decisions", flags=True)
    if table.ndim == 2:
        table = table[:, :, np.newaxis]
    if table.ndim != 3 or 0 in table.shape:
        detail = f"observers, specimens (and trials) expected, got {table.shape}"
        raise DomainError("decisions", "shape", detail=detail)
    wrong = ~(np.isnan(table) | (table == 0.0) | (table == 1.0))
    if wrong.any():
        row, band, _ = (int(i) for i in np.argwhere(wrong)[0])
        detail = "0 (reject), 1 (accept) or NaN (not judged) expected"
        raise DomainError("decisions", "range", row=row, band=band, detail=detail)
    return table


def _detection(
    table: Floats, accepted: npt.NDArray[np.bool_], confidence: float, method: IntervalMethod
) -> Detection:
    """Return the figures of a table of decisions (specimens, decisions on each)."""
    judged = ~np.isnan(table)
    right = judged & (table == accepted[:, np.newaxis])
    seen = judged.sum(axis=1) > 0
    whole: npt.NDArray[np.bool_] = (right | ~judged).all(axis=1) & seen
    wrong = judged & ~right

    def share(count: npt.NDArray[np.bool_], of: npt.NDArray[np.bool_]) -> Proportion:
        return proportion(int(count.sum()), int(of.sum()), confidence=confidence, method=method)

    return Detection(
        share(whole, seen),
        share(wrong[~accepted], judged[~accepted]),
        share(wrong[accepted], judged[accepted]),
    )


def against_reference(
    decisions: npt.ArrayLike,
    *,
    reference: npt.ArrayLike,
    confidence: float = 0.95,
    method: IntervalMethod = "wilson",
) -> PanelDetection:
    """Return effectiveness, misses and false alarms of each observer and of the panel.

    decisions: (observers, specimens) or (observers, specimens, trials), 1 accept, 0 reject, NaN
    not judged. reference: (specimens,), 1 accept, 0 reject; it is taken as true. The panel's
    effectiveness counts specimens on which all observers agree with it in all trials.
    Raises DomainError for other values and unlike numbers of specimens.
    Common practice, no published source.
    """
    table = _decisions(decisions)
    if np.ndim(reference) != 1:
        detail = f"one row expected, got {np.shape(reference)}"
        raise DomainError("reference", "shape", detail=detail)
    truth = finite_table(real_array(reference, "reference", flags=True), "reference")[0]
    if truth.size != table.shape[1]:
        detail = f"{truth.size} reference decisions for {table.shape[1]} specimens"
        raise DomainError("reference", "shape", detail=detail)
    wrong = np.flatnonzero((truth != 0.0) & (truth != 1.0))
    if wrong.size:
        detail = "0 (reject) or 1 (accept) expected"
        raise DomainError("reference", "range", row=0, band=int(wrong[0]), detail=detail)
    accepted = truth == 1.0
    together = np.concatenate(list(table), axis=1)
    return PanelDetection(
        tuple(_detection(one, accepted, confidence, method) for one in table),
        _detection(together, accepted, confidence, method),
    )
