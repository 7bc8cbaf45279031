"""Figures of a verdict, alike on page and paper."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext

from jobs.figures import margins
from jobs.figures.drawing import Conditions, Drawing, for_page, for_paper

UNITS = {"CIEDE2000": "ΔE00"}


def drawn(view: dict[str, Any], *, paper: bool = False) -> dict[str, Any]:
    """A verdict as `wording.shown` gives it, each tolerance with its figure."""
    items = [
        item | {"figure": figure(item, f"margins-{place}", paper=paper)}
        for place, item in enumerate(view["instrument"]["items"])
    ]
    return view | {"instrument": view["instrument"] | {"items": items}}


def figure(item: Mapping[str, Any], key: str, *, paper: bool) -> Drawing | None:
    """Values of the first specimens against the limit and its ±U band, the table beside it having
    them all; None without any value. `key` tells the figures of a page apart."""
    if not item["rows"]:
        return None
    told = {name: item[name] for name in ("formula", "illuminant", "observer")}
    data = margins.Margins(
        title=gettext("%(formula)s under %(illuminant)s, %(observer)s°") % told,
        unit=UNITS.get(item["formula"], item["formula"]),
        conditions=Conditions(
            formula=item["formula"],
            illuminant=item["illuminant"],
            observer=f"{item['observer']}°",
            geometry=item["geometry_words"],
        ),
        rows=[
            margins.Row(
                row["specimen"],
                Decimal(row["value"]),
                Decimal(item["limit"]),
                Decimal(item["uncertainty"]),
                row["zone_words"],
            )
            for row in item["rows"][: margins.MOST_ROWS]
        ],
    )
    return (for_paper if paper else for_page)(margins.draw, data, key)
