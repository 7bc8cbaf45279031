"""The operating characteristic of the sample that terms ask for: how likely a lot passes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import SupportsFloat

import numpy as np
from django.utils.translation import gettext

from agreements.words import part_title
from colorimetry.sampling import oc
from jobs.figures import characteristic
from jobs.figures.characteristic import Named
from jobs.figures.drawing import Conditions, Drawing, rounded
from method.behind import Sample
from method.terms import resolve
from method.terms.models import Decision, Terms

STEPS = 40  # of the curve
LOWEST = 0.01  # acceptance at which the curve ends
NAMED = (0.95, 0.5, 0.1)  # common practice, no published source: lots that mostly pass, or do not
DECIMALS = 3  # of a probability
Draw = Callable[..., Drawing]


def of_terms(terms: Terms, draw: Draw) -> list[Drawing]:
    """For pieces of a long run: the sample of clause 7, and those of parts that depart from it."""
    shared = _plan(terms.shared.decision)
    found = (
        [of_plan(*shared, gettext("How often a lot passes"), "sampling", draw)] if shared else []
    )
    own: dict[tuple[int, int], list[str]] = {}
    for part in terms.parts:
        if "decision" in part.overrides:
            plan = _plan(resolve(terms, part.id).decision)
            if plan is not None and plan != shared:
                own.setdefault(plan, []).append(part_title(part))
    for place, (plan, titles) in enumerate(own.items()):
        title = gettext("How often a lot of %(parts)s passes") % {"parts": "; ".join(titles)}
        found.append(of_plan(*plan, title, f"sampling-{place}", draw))
    return found


def _plan(decision: Decision) -> tuple[int, int] | None:
    """Sample and acceptance number; None where no fixed sample is asked for, or where every lot
    would pass."""
    n, ac = decision.sample_size, decision.acceptance_number or 0
    return (n, ac) if decision.sampling_kind == "fixed" and n is not None and ac < n else None


def of_plan(n: int, ac: int, title: str, key: str, draw: Draw) -> Drawing:
    """The curve of a plan with Ac < n."""
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
        title,
        key,
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
        gettext("How often a lot passes"),
        "sampling",
        draw,
    )


def _chance(value: SupportsFloat) -> Decimal:
    return rounded(float(value), DECIMALS)


def _decimals(last: float) -> int:
    """As many as tell the points of the curve apart."""
    return max(2, 1 - math.floor(math.log10(last / STEPS)))


def _drawn(
    plan: str,
    curve: Sequence[tuple[Decimal, Decimal]],
    named: Sequence[Named],
    title: str,
    key: str,
    draw: Draw,
) -> Drawing:
    data = characteristic.Characteristic(
        title=title, conditions=Conditions(other=plan), curve=curve, named=named
    )
    return draw(characteristic.draw, data, key)
