"""Normalised errors En between two laboratories, on signed components."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_result, finite_table
from colorimetry.errors import DomainError


def en_numbers(
    *,
    assigned: npt.ArrayLike,
    measured: npt.ArrayLike,
    assigned_expanded: npt.ArrayLike,
    measured_expanded: npt.ArrayLike,
) -> Floats:
    """Return En = (measured - assigned) / sqrt(U_measured² + U_assigned²), (n, p).

    assigned, measured: signed components (n, p), such as L*, a*, b*. Never a colour difference:
    it has no sign and is biased near zero. The expanded uncertainties (k = 2) are (n, p), (1, p) or
    one number; not both zero. |En| <= 1 is satisfactory. Assumes that both are independent.
    Raises DomainError naming row and band for NaN, infinity, shapes that do not fit, negative
    uncertainties and places where both are zero. Source: ISO 13528; ISO/IEC 17043.
    """
    target = finite_table(assigned, "assigned")
    found = finite_table(measured, "measured", target.shape[1])
    if len(found) != len(target):
        raise DomainError("measured", "shape", detail=f"{len(found)} rows for {len(target)}")
    expanded = np.zeros(target.shape)
    for value, what in (
        (assigned_expanded, "assigned expanded uncertainty"),
        (measured_expanded, "measured expanded uncertainty"),
    ):
        table = finite_table(value, what)
        if (table < 0.0).any():
            row, band = (int(i) for i in np.argwhere(table < 0.0)[0])
            raise DomainError(what, "range", row=row, band=band, detail="zero or more expected")
        if any(have not in (1, want) for have, want in zip(table.shape, target.shape, strict=True)):
            raise DomainError(what, "shape", detail=f"{table.shape} for {target.shape}")
        expanded = np.hypot(expanded, table)
    if (expanded == 0.0).any():
        row, band = (int(i) for i in np.argwhere(expanded == 0.0)[0])
        detail = "one of the two must be positive"
        raise DomainError("expanded uncertainty", "range", row=row, band=band, detail=detail)
    with np.errstate(over="ignore", invalid="ignore"):
        result: Floats = (found - target) / expanded
    return finite_result(result, "measured")


def satisfactory(en: npt.ArrayLike) -> npt.NDArray[np.bool_]:
    """Return |En| <= 1 for each En (n, p). DomainError for NaN. Source: ISO 13528."""
    result: npt.NDArray[np.bool_] = np.abs(finite_table(en, "En")) <= 1.0
    return result
