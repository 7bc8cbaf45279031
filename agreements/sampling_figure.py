"""The operating characteristic of the sample that terms ask for: how likely a lot passes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import SupportsFloat

import numpy as np
from django.utils.translation import gettext

from colorimetry.sampling import oc
from jobs.figures import characteristic
from jobs.figures.characteristic import Named
from jobs.figures.drawing import Conditions, Drawing, rounded
from method.behind import Sample
from method.terms.models import Decision

STEPS = 40  # of the curve
LOWEST = 0.01  # acceptance at which the curve ends
NAMED = (0.95, 0.5, 0.1)  # common practice, no published source: lots that mostly pass, or do not
DECIMALS = 3  # of a probability
Draw = Callable[..., Drawing]


def of_terms(decision: Decision, draw: Draw) -> Drawing | None:
    """For pieces of a long run, by clause 7; None where it asks for no fixed sample, or where
    every lot would pass."""
    n, ac = decision.sample_size, decision.acceptance_number or 0
    if decision.sampling_kind != "fixed" or n is None or ac >= n:
        return None
    last = 100 * float(oc.quality_binomial(LOWEST, n, ac))
    decimals = _decimals(last)
    percents = [rounded(last * step / STEPS, decimals) for step in range(STEPS + 1)]
    accepted = oc.accept_binomial(np.array(percents, dtype=float) / 100, n, ac)
    named = []
    for share in NAMED:
        percent = rounded(100 * float(oc.quality_binomial(share, n, ac)), decimals)
        words = gettext("%(percent)s %% nonconforming") % {"percent": percent}
        named.append(
            Named(words, percent, _chance(oc.accept_binomial(float(percent) / 100, n, ac)))
        )
    plan = gettext(
        "sample of %(n)s, acceptance number %(ac)s, pieces drawn at random from a long run"
    )
    return _drawn(
        plan % {"n": n, "ac": ac},
        list(zip(percents, map(_chance, accepted), strict=True)),
        named,
        draw,
    )


def of_lot(sample: Sample, draw: Draw) -> Drawing | None:
    """For the very lot, whose pieces are counted; None where every piece is judged."""
    lot, n, ac = sample.lot, sample.pieces, sample.acceptance
    if sample.kind != "fixed" or n >= lot or ac >= n:
        return None
    last = max(oc.quality_hypergeometric(LOWEST, lot, n, ac), 1)
    counts = sorted({round(last * step / STEPS) for step in range(STEPS + 1)})
    decimals = _decimals(100 * last / lot)
    accepted = oc.accept_hypergeometric(np.array(counts), lot, n, ac)
    percents = [rounded(100 * count / lot, decimals) for count in counts]
    named = []
    for share in NAMED:
        count = oc.quality_hypergeometric(share, lot, n, ac)
        words = gettext("%(count)s of %(lot)s nonconforming") % {"count": count, "lot": lot}
        chance = _chance(oc.accept_hypergeometric(count, lot, n, ac))
        named.append(Named(words, rounded(100 * count / lot, decimals), chance))
    plan = gettext(
        "sample of %(n)s, acceptance number %(ac)s, pieces drawn at random from the %(lot)s of"
        " the lot"
    )
    return _drawn(
        plan % {"n": n, "ac": ac, "lot": lot},
        list(zip(percents, map(_chance, accepted), strict=True)),
        named,
        draw,
    )


def _chance(value: SupportsFloat) -> Decimal:
    return rounded(float(value), DECIMALS)


def _decimals(last: float) -> int:
    """As many as tell the points of the curve apart."""
    return max(2, 1 - math.floor(math.log10(last / STEPS)))


def _drawn(
    plan: str, curve: Sequence[tuple[Decimal, Decimal]], named: Sequence[Named], draw: Draw
) -> Drawing:
    data = characteristic.Characteristic(
        title=gettext("How often a lot passes"),
        conditions=Conditions(other=plan),
        curve=curve,
        named=named,
    )
    return draw(characteristic.draw, data, "sampling")
