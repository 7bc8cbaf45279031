"""How a sample is spread over the strata of a lot: batches, racks, cavities, times."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import TypeVar

from colorimetry.errors import DomainError
from colorimetry.sampling.plans import whole

Label = TypeVar("Label", bound=Hashable)


def allocate(n: int, sizes: Mapping[Label, int]) -> dict[Label, int]:
    """Return how many of ``n`` pieces each stratum gives: in proportion, at least one each.

    sizes: pieces in each stratum (from 1), by any label, such as (batch, cavity).

    Strata whose share is less than one piece get one; the rest is shared out among the others in
    proportion to their sizes, fractions by the largest remainder, equal remainders in the order
    given. Whole-number arithmetic: the result does not depend on the machine. No stratum is asked
    for more than it has. DomainError for no stratum, an empty one, fewer pieces than strata or
    more than the lot has. Source: proportional allocation, W. G. Cochran, Sampling Techniques, 3rd
    ed. (1977; from memory); largest remainder and the minimum of one are common practice.
    """
    if not isinstance(sizes, Mapping):
        raise DomainError("sizes", "type", detail="pieces by stratum expected")
    pieces = {label: whole(size, f"size of {label!r}", least=1) for label, size in sizes.items()}
    total = sum(pieces.values())
    count = whole(n, "n")
    if not pieces:
        raise DomainError("sizes", "shape", detail="at least one stratum expected")
    if not len(pieces) <= count <= total:
        detail = f"{count} pieces from {len(pieces)} strata with {total} pieces in all"
        raise DomainError("n", "range", detail=detail)
    single = _below_one(count, pieces)
    shared = {label: size for label, size in pieces.items() if label not in single}
    drawn = _largest_remainder(count - len(single), shared)
    return {label: drawn.get(label, 1) for label in pieces}


def _below_one(count: int, pieces: Mapping[Label, int]) -> set[Label]:
    """Return the strata whose proportional share is less than one piece.

    What they take beyond their share lessens the others', so it is asked again until none is added.
    """
    single: set[Label] = set()
    while True:
        left = count - len(single)
        rest = sum(size for label, size in pieces.items() if label not in single)
        added = {
            label for label, size in pieces.items() if label not in single and left * size < rest
        }
        if not added:
            return single
        single |= added


def _largest_remainder(count: int, pieces: Mapping[Label, int]) -> dict[Label, int]:
    total = sum(pieces.values())
    drawn = {label: count * size // total for label, size in pieces.items()}
    # sorted() is stable: equal remainders keep the order given
    by_remainder = sorted(pieces, key=lambda label: -(count * pieces[label] % total))
    for label in by_remainder[: count - sum(drawn.values())]:
        drawn[label] += 1
    return drawn
