"""Checked accept/reject judgements, and the refusal of those from which no curve can be fitted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, real_array, within
from colorimetry.errors import DomainError
from colorimetry.panels.refusal import FitRefused

Codes = npt.NDArray[np.intp]
# Measured on invented panels (tests/colorimetry/panel_simulation.py, 2,000 runs): with 20 specimens
# and 4 observers the 95 % interval holds 96.7 % and one panel in eighteen is refused for its slope;
# with 3 observers every fourth is. Ten events for one slope: Peduzzi et al., J. Clin. Epidemiol.
# 49:1373-1379 (1996), from memory. Five specimens either way: common practice, no published source.
FEWEST_SPECIMENS = 20
FEWEST_OBSERVERS = 4
FEWEST_EVENTS = 10
FEWEST_SPECIMENS_EITHER_WAY = 5
LARGEST_DIFFERENCE = 1e4


@dataclass(frozen=True)
class Judgements:
    """n decisions: colour difference, accepted (1 or 0), and codes of specimen and observer."""

    difference: Floats
    accepted: Floats
    specimen: Codes
    observer: Codes
    specimens: int
    observers: int


def label_codes(
    value: npt.ArrayLike, what: str, length: int
) -> tuple[npt.NDArray[np.generic], Codes]:
    """Return the distinct labels (k,) in order, and each judgement's place among them (length,).

    Raises DomainError for other shapes, NaN, and labels of unlike kinds (texts beside numbers).
    """
    try:
        labels = np.asarray(value)
    except (TypeError, ValueError) as error:
        raise DomainError(what, "shape", detail="one label per judgement expected") from error
    if labels.shape != (length,):
        detail = f"one label per judgement expected: {length}, got {labels.shape}"
        raise DomainError(what, "shape", detail=detail)
    if labels.dtype.kind == "f" and np.isnan(labels).any():
        raise DomainError(what, "nan", row=int(np.argmax(np.isnan(labels))))
    given = value if isinstance(value, (list, tuple)) else labels.tolist()
    if len({isinstance(label, str) for label in given}) > 1:
        raise DomainError(what, "type", detail="texts or numbers expected, not both")
    try:
        names, codes = np.unique(labels, return_inverse=True)
    except TypeError as error:
        raise DomainError(what, "type", detail="labels of one kind expected") from error
    return names, codes.astype(np.intp)


def _labels(value: npt.ArrayLike, what: str, length: int) -> tuple[Codes, int]:
    """Return codes of labels, and how many there are."""
    names, codes = label_codes(value, what, length)
    return codes, names.size


def checked_judgements(
    difference: npt.ArrayLike,
    accepted: npt.ArrayLike,
    *,
    specimens: npt.ArrayLike,
    observers: npt.ArrayLike,
) -> Judgements:
    """Return n decisions checked; DomainError for NaN, lengths, negative differences, other codes.

    difference: (n,) colour differences, not negative; accepted: (n,) 1 or 0 (True or False);
    specimens, observers: (n,) labels.
    """
    column = np.atleast_1d(real_array(difference, "colour difference"))[..., np.newaxis]
    x = within(finite_table(column, "colour difference", 1), "difference", 0, LARGEST_DIFFERENCE)
    decided = np.atleast_1d(real_array(accepted, "accepted", flags=True))[..., np.newaxis]
    y = finite_table(decided, "accepted", 1)[:, 0]
    if y.size != x.shape[0]:
        detail = f"{y.size} decisions for {x.shape[0]} colour differences"
        raise DomainError("accepted", "shape", detail=detail)
    other = np.flatnonzero((y != 0.0) & (y != 1.0))
    if other.size:
        raise DomainError("accepted", "range", row=int(other[0]), detail="0 or 1 expected")
    specimen, specimen_count = _labels(specimens, "specimens", y.size)
    observer, observer_count = _labels(observers, "observers", y.size)
    return Judgements(x[:, 0], y, specimen, observer, specimen_count, observer_count)


def refuse_thin(data: Judgements) -> None:
    """Raise FitRefused, with the figures, where there is too little to fit a curve to.

    Ids: few_specimens, few_observers, few_acceptances, few_rejections (decisions),
    few_accepted_specimens, few_rejected_specimens (specimens with at least one such decision).
    """

    def enough(id: str, found: int, needed: int) -> None:
        if found < needed:
            raise FitRefused(id, {"found": found, "needed": needed})

    enough("few_specimens", data.specimens, FEWEST_SPECIMENS)
    enough("few_observers", data.observers, FEWEST_OBSERVERS)
    for id, decision in (("acceptances", data.accepted == 1.0), ("rejections", data.accepted == 0)):
        enough(f"few_{id}", int(decision.sum()), FEWEST_EVENTS)
    for id, decision in (("accepted", data.accepted == 1.0), ("rejected", data.accepted == 0)):
        different = np.unique(data.specimen[decision]).size
        enough(f"few_{id}_specimens", different, FEWEST_SPECIMENS_EITHER_WAY)


def refuse_separated(data: Judgements) -> None:
    """Raise FitRefused where a threshold divides accepted from rejected (completely or nearly).

    The curve would be a step, its slope infinite. Id: separated, with the largest accepted and the
    smallest rejected difference (or the other way round). For one measure this is the condition of
    Albert & Anderson, Biometrika 71:1-10 (1984) (from memory).
    """
    accepted = data.difference[data.accepted == 1.0]
    rejected = data.difference[data.accepted == 0.0]
    if accepted.max() <= rejected.min() or rejected.max() <= accepted.min():
        figures = {
            "smallest_accepted": float(accepted.min()),
            "largest_accepted": float(accepted.max()),
            "smallest_rejected": float(rejected.min()),
            "largest_rejected": float(rejected.max()),
        }
        raise FitRefused("separated", figures)
