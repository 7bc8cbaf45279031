"""Whether grades or decisions divide so cleanly that no finite estimate exists."""

from __future__ import annotations

import numpy as np
from scipy.optimize import linprog

from colorimetry.arrays import Floats

_IMPROVEMENT = 1e-7


def unbounded_direction(upper: Floats, lower: Floats) -> Floats | None:
    """Return a direction (p,) in which a cumulative model's likelihood never falls, or None.

    upper, lower: (n, p) rows that give a judgement's upper and lower bound from the parameters,
    zeros where it has none. Along the direction every upper bound rises or stays and every lower
    bound falls or stays, one of them strictly: the estimate would be infinite (complete or
    quasi-complete separation). Found by a linear programme (Konis, thesis, Oxford 2007, for binary
    data; the condition for ordered ones follows from the concave likelihood).
    """
    inward = np.vstack([upper, -lower])
    found = linprog(
        -inward.sum(axis=0), A_ub=-inward, b_ub=np.zeros(len(inward)), bounds=(-1.0, 1.0)
    )
    if not found.success or -found.fun <= _IMPROVEMENT:
        return None
    return np.asarray(found.x, dtype=np.float64)
