"""Scores of the hue arrangement test (85 caps in 4 trays).

A screening of colour discrimination, not a diagnosis. It means something for the physical test
alone, under the light its manual asks for; an arrangement made on a screen is no such test.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import name
from colorimetry.errors import DomainError

Caps = npt.NDArray[np.int64]
Convention = Literal["ring", "anchors"]
FaultKind = Literal["foreign", "duplicate", "missing"]

CAPS = 85
TRAYS: tuple[tuple[int, ...], ...] = (
    (85, *range(1, 22)),
    tuple(range(22, 43)),
    tuple(range(43, 64)),
    tuple(range(64, 85)),
)
# the fixed first and last piece of each tray are the neighbours of its caps on the ring
ANCHORS: tuple[tuple[int, int], ...] = ((84, 22), (21, 43), (42, 64), (63, 85))
_ENDS = np.cumsum([0, *map(len, TRAYS)])
_SPANS = tuple(zip(_ENDS[:-1].tolist(), _ENDS[1:].tolist(), strict=True))


@dataclass(frozen=True)
class Fault:
    """What is wrong at one place: test counted from 0, tray and position counted from 1.

    ``position`` is None for a cap that is nowhere in its tray.
    """

    test: int
    tray: int
    position: int | None
    cap: int
    kind: FaultKind

    def __str__(self) -> str:
        """The fault in words."""
        place = "" if self.position is None else f", position {self.position}"
        words = {
            "foreign": "does not belong to this tray",
            "duplicate": "stands there a second time",
            "missing": "is missing",
        }
        return f"tray {self.tray}{place}: cap {self.cap} {words[self.kind]}"


class ArrangementError(DomainError):
    """An arrangement that is not a permutation tray by tray; ``faults`` names every place."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        first = faults[0]
        band = None
        if first.position is not None:
            band = _SPANS[first.tray - 1][0] + first.position - 1
        detail = "; ".join(str(fault) for fault in faults)
        super().__init__("cap arrangement", "range", row=first.test, band=band, detail=detail)


@dataclass(frozen=True)
class ArrangementScores:
    """Scores of n tests. ``convention`` says what the neighbours of the end caps of a tray are.

    ``caps``, ``scores`` and ``errors`` are (n, 85) by position, trays 1 to 4 one after another;
    a score is the sum of the two distances to the neighbours, its error the score less 2.
    """

    convention: Convention
    caps: Caps
    scores: Caps

    @property
    def errors(self) -> Caps:
        """Errors by position, (n, 85)."""
        return self.scores - 2

    @property
    def errors_by_cap(self) -> Caps:
        """Errors by cap number (Kinnear's assignment), (n, 85); column i belongs to cap i + 1."""
        by_cap = np.empty_like(self.scores)
        np.put_along_axis(by_cap, self.caps - 1, self.errors, axis=1)
        return by_cap

    @property
    def total(self) -> Caps:
        """Total error scores, (n,)."""
        totals: Caps = self.errors.sum(axis=1)
        return totals

    @property
    def tray_totals(self) -> Caps:
        """Errors summed over the positions of each tray, (n, 4)."""
        sums: Caps = np.add.reduceat(self.errors, _ENDS[:-1], axis=1)
        return sums


def _whole_numbers(value: npt.ArrayLike, what: str) -> Caps:
    """Return ``value`` as integers; DomainError for anything that is not whole numbers by type."""
    try:
        table = np.asarray(value)
    except ValueError as error:
        raise DomainError(what, "shape", detail=f"rows of {CAPS} caps expected") from error
    if table.dtype.kind in "iu":
        return table.astype(np.int64)
    if table.dtype.kind == "f" and np.isnan(table).any():
        row, band = (int(i) for i in np.argwhere(np.isnan(np.atleast_2d(table)))[0][:2])
        raise DomainError(what, "nan", row=row, band=band)
    raise DomainError(what, "type", detail="whole cap numbers expected")


def _faults(test: int, tray: int, order: Sequence[int]) -> Iterator[Fault]:
    """Yield what is wrong with one tray of one test."""
    belonging = TRAYS[tray - 1]
    seen: set[int] = set()
    for position, cap in enumerate(order, start=1):
        if cap not in belonging:
            yield Fault(test, tray, position, cap, "foreign")
        elif cap in seen:
            yield Fault(test, tray, position, cap, "duplicate")
        seen.add(cap)
    for cap in belonging:
        if cap not in seen:
            yield Fault(test, tray, None, cap, "missing")


def checked_caps(tests: npt.ArrayLike) -> Caps:
    """Return n tests as an (n, 85) table of cap numbers, checked tray by tray.

    tests: cap numbers by position, trays 1 to 4 one after another; one row alone is one test.
    Raises ArrangementError naming test, tray, position and cap of every foreign, duplicate or
    missing cap of the first test that has one; DomainError for NaN, floats and wrong shapes.
    """
    caps = np.atleast_2d(_whole_numbers(tests, "cap arrangement"))
    if caps.ndim != 2 or caps.shape[1] != CAPS:
        detail = f"rows of {CAPS} caps expected, got {caps.shape}"
        raise DomainError("cap arrangement", "shape", detail=detail)
    right = np.ones(caps.shape[0], dtype=bool)
    for (start, stop), belonging in zip(_SPANS, TRAYS, strict=True):
        right &= (np.sort(caps[:, start:stop], axis=1) == np.sort(belonging)).all(axis=1)
    if not right.all():
        test = int(np.argmin(right))
        trays = [caps[test, start:stop].tolist() for start, stop in _SPANS]
        raise ArrangementError(_all_faults(test, trays))
    return caps


def _all_faults(test: int, trays: Sequence[Sequence[int]]) -> tuple[Fault, ...]:
    """Return the faults of all four trays of one test."""
    return tuple(f for tray, order in enumerate(trays, start=1) for f in _faults(test, tray, order))


def from_trays(trays: Sequence[Sequence[int]]) -> Caps:
    """Return one test, typed as four tray orders without the anchors, as a (1, 85) table.

    Raises ArrangementError naming tray, position and cap of everything that is foreign, duplicate
    or missing (a tray that is too long or too short included); DomainError for other than four
    trays, NaN and floats.
    """
    if not isinstance(trays, Sequence) or isinstance(trays, str):
        raise DomainError("trays", "type", detail="4 trays expected")
    if len(trays) != len(TRAYS):
        raise DomainError("trays", "shape", detail=f"4 trays expected, got {len(trays)}")
    orders = []
    for number, tray in enumerate(trays, start=1):
        none = isinstance(tray, Sequence) and not tray
        order = _whole_numbers(np.empty(0, dtype=int) if none else tray, f"tray {number}")
        if order.ndim != 1:
            raise DomainError(f"tray {number}", "shape", detail="one row of caps expected")
        orders.append(order.tolist())
    faults = _all_faults(0, orders)
    if faults:
        raise ArrangementError(faults)
    return checked_caps(np.concatenate(orders))


def _distance(first: Caps, second: Caps) -> Caps:
    """Return how many caps apart two caps are on the ring of 85."""
    apart = np.abs(first - second)
    nearest: Caps = np.minimum(apart, CAPS - apart)
    return nearest


def arrangement_scores(
    tests: npt.ArrayLike, *, convention: Convention = "ring"
) -> ArrangementScores:
    """Return scores of n tests, (n, 85) cap numbers by position, trays 1 to 4 in sequence.

    convention "ring" (default): the four trays are joined and closed into one ring, so the
    neighbour of a tray's end cap is the end cap of the next tray. "anchors": its neighbour is the
    fixed piece of its own tray. Totals differ where a tray's ends are disturbed (first two caps of
    tray 1 exchanged: 4 on the ring, 3 with anchors), so the result states the convention.
    A screening, not a diagnosis; results of the physical test only.
    Raises ArrangementError and DomainError as ``checked_caps``; DomainError for another convention.
    Source: cap score by the sum of differences to both neighbours, as in the worked example of
    Hidayat, New Zealand Computer Science Research Student Conference (2008), total 132 on the ring.
    """
    name(convention, "convention", get_args(Convention))
    caps = checked_caps(tests)
    before, after = np.roll(caps, 1, axis=1), np.roll(caps, -1, axis=1)
    if convention == "anchors":
        for (start, stop), (first, last) in zip(_SPANS, ANCHORS, strict=True):
            before[:, start] = first
            after[:, stop - 1] = last
    scores = _distance(caps, before) + _distance(caps, after)
    return ArrangementScores(convention, caps, scores)
