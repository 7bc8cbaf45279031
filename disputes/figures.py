"""Both sides in one figure: their differences under each light, and the spectra behind them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from math import fsum
from typing import Any

from django.utils.translation import gettext

from disputes.beside import Numbers, Side
from jobs.figures import spectra
from jobs.figures.drawing import Conditions, Drawing
from method.behind import Reflectances
from shipments.behind import behind_of
from shipments.colour_figures import geometry_words, percent
from shipments.figures import lanes

Draw = Callable[..., Drawing]


def both_sides(pairs: Sequence[Numbers], draw: Draw) -> list[Drawing]:
    """One figure for each comparison and geometry; nothing of a side that has no values there."""
    kinds: dict[tuple[str, str], list[tuple[str, Mapping[str, Any]]]] = {}
    for pair in sorted(pairs, key=lambda pair: str(pair.item["illuminant"])):
        item = pair.item
        own = kinds.setdefault((item["compared_with"], item["geometry_words"]), [])
        for side, rows in (
            (gettext("supplier"), pair.supplier),
            (gettext("customer"), pair.customer),
        ):
            if rows:
                own.append((f"{item['illuminant']}, {side}", {**item, "rows": rows}))
    drawn = [named for named in kinds.values() if named]
    title = gettext("Differences found by both sides")
    return [
        lanes(named, title=title, key=f"sides-{place}", draw=draw)
        for place, named in enumerate(drawn)
    ]


def spectra_of_both(supplier: Side, customer: Side, draw: Draw) -> list[Drawing]:
    """For each geometry at which both sides measured on the same wavelengths: the mean of either
    side's specimens, and the target as either side has it."""
    theirs = {(one.geometry, one.wavelengths): one for one in _reflectances(customer)}
    found = []
    for place, ours in enumerate(_reflectances(supplier)):
        other = theirs.get((ours.geometry, ours.wavelengths))
        if other is None or len(ours.wavelengths) < 2:
            continue
        unlike = other.target if other.target != ours.target else None
        data = spectra.Spectra(
            title=gettext("Reflectance as both sides measured it"),
            quantity=gettext("Reflectance factor, %"),
            conditions=Conditions(
                geometry=geometry_words(ours.geometry),
                other=gettext("mean of each side's specimens"),
            ),
            wavelengths=ours.wavelengths,
            reference=_curve(gettext("target"), ours.target),
            specimens=[
                spectra.Curve(gettext("supplier"), percent(_mean(ours))),
                spectra.Curve(gettext("customer"), percent(_mean(other))),
                *filter(None, [_curve(gettext("customer's target"), unlike)]),
            ],
        )
        found.append(draw(spectra.draw, data, f"spectra-{place}"))
    return found


def _reflectances(side: Side) -> Iterator[Reflectances]:
    behind = behind_of(side.verdict, page=True) if side.verdict else None
    yield from behind.reflectances if behind else ()


def _curve(label: str, row: Sequence[float] | None) -> spectra.Curve | None:
    return None if row is None else spectra.Curve(label, percent(row))


def _mean(read: Reflectances) -> list[float]:
    rows = list(read.specimens.values())
    return [fsum(column) / len(rows) for column in zip(*rows, strict=True)]
