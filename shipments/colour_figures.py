"""Figures of what a verdict's numbers rest on: spectra, and colours with the limit round them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any, TypeVar

from django.utils.translation import gettext

from colorimetry import DomainError
from colorimetry.limit_line import lightness_ends, limit_line
from jobs.figures import plane, spectra
from jobs.figures.drawing import Conditions, Drawing, Standing, rounded
from ledger.canonical import decimal_text
from method.behind import Behind, Colour, Colours
from method.terms.models.tolerances import GEOMETRY_WORDS

UNITS = {"CIEDE2000": "ΔE00"}
MOST = 12  # specimens with a line each in a figure or its table; the lists have them all
Row = TypeVar("Row", bound=Mapping[str, Any])
POINTS = 60  # of a limit's line
STANDINGS = {
    "within": Standing.WITHIN,
    "between": Standing.BETWEEN,
    "beyond": Standing.BEYOND,
}


def unit(formula: str) -> str:
    """The sign of a formula's differences."""
    return UNITS.get(formula, formula)


def telling(
    rows: Sequence[Row],
    weigh: Callable[[Row], Any] = lambda row: Decimal(row["value"]),
    most: int = MOST,
) -> list[Row]:
    """The rows that a figure shows, in their order: all, or the `most` that weigh most."""
    if len(rows) <= most:
        return list(rows)
    heaviest = sorted(range(len(rows)), key=lambda place: weigh(rows[place]), reverse=True)[:most]
    return [rows[place] for place in sorted(heaviest)]


def out_of(rows: Sequence[object], most: int = MOST) -> str:
    """Says that a figure shows some of its specimens only; "" where it shows them all."""
    if len(rows) <= most:
        return ""
    told = {"shown": most, "all": len(rows)}
    return gettext("of %(all)s specimens the %(shown)s that differ most") % told


def percent(row: Sequence[float]) -> list[float]:
    """Reflectance factors as percent."""
    return [100 * value for value in row]


def reflectances(behind: Behind | None, draw: Callable[..., Drawing]) -> list[Drawing]:
    """Target and specimens over the wavelengths, for each geometry."""
    found = []
    for place, read in enumerate(behind.reflectances if behind else ()):
        if len(read.wavelengths) < 2:
            continue
        target = (
            None if read.target is None else spectra.Curve(gettext("target"), percent(read.target))
        )
        data = spectra.Spectra(
            title=gettext("Reflectance of target and specimens")
            if target
            else gettext("Reflectance of the specimens"),
            quantity=gettext("Reflectance factor, %"),
            conditions=Conditions(
                geometry=geometry_words(read.geometry),
                other=gettext("mean of all readings of each"),
            ),
            wavelengths=read.wavelengths,
            reference=target,
            specimens=[spectra.Curve(label, percent(row)) for label, row in read.specimens.items()],
        )
        found.append(draw(spectra.draw, data, f"spectra-{place}"))
    return found


def geometry_words(geometry: str | None) -> str:
    """A geometry in words; "" for none."""
    return gettext(GEOMETRY_WORDS[geometry]) if geometry in GEOMETRY_WORDS else geometry or ""


def planes(
    item: Mapping[str, Any], behind: Behind | None, key: str, draw: Callable[..., Drawing]
) -> list[Drawing]:
    """Colours under one tolerance's light with its limit, for each target that it has."""
    found = []
    for place, one in enumerate(behind.colours if behind else ()):
        rows = [row for row in item["rows"] if row.get("compared_with", "") == one.label]
        if one.item.id != item["item"] or one.item.illuminant != item["illuminant"] or not rows:
            continue
        try:
            found.append(draw(plane.draw, _plane(item, one, rows), f"{key}-{place}"))
        except DomainError:
            # a limit that no colour reaches has no line: the differences stand in their table
            continue
    return found


def _plane(item: Mapping[str, Any], one: Colours, rows: Sequence[Mapping[str, Any]]) -> plane.Plane:
    limit, u = Decimal(item["limit"]), Decimal(item["uncertainty"])
    sign = unit(item["formula"])
    # Limit, its upper end of U, and its lower one where that is above zero.
    values = [limit, limit + u, *([limit - u] if limit > u else [])]
    asked, factors = [float(value) for value in values], _factors(one)
    lines = [
        plane.Locus([(x, y) for x, y in line])
        for line in limit_line(one.target, asked, points=POINTS, **factors).tolist()
    ]
    ends = [
        (rounded(low, 2), rounded(high, 2))
        for low, high in lightness_ends(one.target, asked, **factors).tolist()
    ]
    return plane.Plane(
        title=gettext("Target and specimens under %(illuminant)s, %(observer)s°")
        % {"illuminant": item["illuminant"], "observer": item["observer"]},
        conditions=Conditions(
            formula=formula_words(item),
            illuminant=item["illuminant"],
            observer=f"{item['observer']}°",
            geometry=item["geometry_words"],
            other=out_of(rows),
        ),
        target=_printed(one.target),
        specimens=[
            plane.Colour(
                row["specimen"],
                *_printed(one.specimens[row["specimen"]]),
                STANDINGS[row["zone"]],
                f"{sign} {row['value']}, {row['zone_words']}",
            )
            for row in telling(rows)
        ],
        limit=lines[0],
        limit_words=f"{sign} = {item['limit']}",
        lightness_limits=ends[0],
        uncertainty=plane.Zone(
            inner=lines[2] if len(lines) > 2 else None,
            outer=lines[1],
            lightness=[end for pair in ends[1:] for end in pair],
        ),
    )


def _printed(colour: Colour) -> tuple[Decimal, Decimal, Decimal]:
    lightness, a, b = (rounded(number, 2) for number in colour)
    return lightness, a, b


def formula_words(item: Mapping[str, Any]) -> str:
    """A tolerance's formula, with the parametric factors where they are not 1."""
    factors = [decimal_text(Decimal(factor)) for factor in item["factors"]]
    name: str = item["formula"]
    return name if set(factors) == {"1"} else f"{name} ({':'.join(factors)})"


def _factors(one: Colours) -> dict[str, float]:
    return dict(zip(("k_l", "k_c", "k_h"), map(float, one.item.factors), strict=True))
