"""Colour differences of specimens measured under several geometries, each under its own label."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy.typing as npt

from colorimetry.arrays import Floats
from colorimetry.difference import Components, components
from colorimetry.difference_formulas import difference
from colorimetry.errors import DomainError


class GeometryDifference(NamedTuple):
    """What one geometry shows of n specimens: the difference (n,) and its signed components."""

    difference: Floats
    components: Components


def differences_by_geometry(
    formula: str,
    *,
    reference: Mapping[str, npt.ArrayLike],
    specimen: Mapping[str, npt.ArrayLike],
    **parameters: float | str,
) -> dict[str, GeometryDifference]:
    """Return the differences under every geometry, in the reference's order of geometries.

    reference, specimen: from the geometry's label (``45°:0°``, ``45°:as15°`` …) to CIELAB colours,
    references (n, 3) or (1, 3), specimens (n, 3), the same n under each geometry. Labels are
    compared letter by letter: readings of different geometry are never compared with each other.
    formula, parameters: as in ``difference``.
    Raises DomainError naming the first geometry that only one side has, the geometry in which
    ``difference`` finds a fault, and the one whose number of specimens departs from the first's.
    """
    for label in reference:
        if label not in specimen:
            raise DomainError("specimen", "missing", detail=f"geometry {label} not measured")
    for label in specimen:
        if label not in reference:
            raise DomainError("reference", "missing", detail=f"geometry {label} not measured")
    if not reference:
        raise DomainError("reference", "missing", detail="no geometry at all")
    found: dict[str, GeometryDifference] = {}
    for label, first in reference.items():
        try:
            found[label] = GeometryDifference(
                difference(formula, reference=first, specimen=specimen[label], **parameters),
                components(first, specimen[label]),
            )
        except DomainError as error:
            raise DomainError(
                f"{error.what} ({label})",
                error.problem,
                row=error.row,
                band=error.band,
                detail=error.detail,
            ) from error
    _equally_many(found)
    return found


def _equally_many(found: Mapping[str, GeometryDifference]) -> None:
    """Raise DomainError where a geometry shows another number of specimens than the first one."""
    counts = {label: len(part.difference) for label, part in found.items()}
    expected = next(iter(counts.values()))
    for label, count in counts.items():
        if count != expected:
            detail = f"{count} specimens where the first geometry has {expected}"
            raise DomainError(f"specimen Lab ({label})", "shape", detail=detail)
