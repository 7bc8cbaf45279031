"""Sampling by attributes: plans, switching and strata; NumPy and SciPy are not needed for these.

Operating characteristics are in ``oc``, pieces that come in clumps in ``clumps`` (both need SciPy).
"""

from colorimetry.sampling.plans import Plan, aqls, code_letter, levels, single_plan
from colorimetry.sampling.strata import allocate
from colorimetry.sampling.switching import LotResult, Standing, standing

__all__ = [
    "LotResult",
    "Plan",
    "Standing",
    "allocate",
    "aqls",
    "code_letter",
    "levels",
    "single_plan",
    "standing",
]
