"""Figures of a verdict, alike on page and paper."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext

from jobs.figures import margins, panel
from jobs.figures.drawing import Conditions, Drawing, for_page, for_paper

UNITS = {"CIEDE2000": "ΔE00"}


def drawn(view: dict[str, Any], *, paper: bool = False) -> dict[str, Any]:
    """A verdict as `wording.shown` gives it, the panel and each tolerance with their figures."""
    items = [
        item | {"figure": figure(item, f"margins-{place}", paper=paper)}
        for place, item in enumerate(view["instrument"]["items"])
    ]
    return view | {
        "visual": view["visual"] | {"figure": judged(view["visual"], paper=paper)},
        "instrument": view["instrument"] | {"items": items},
    }


def judged(visual: Mapping[str, Any], *, paper: bool) -> Drawing | None:
    """What the panel said of each of the first specimens, judgements that count alone; None where
    none counts."""
    counted = [one for one in visual["specimens"] if one["accepts"] + one["rejects"]]
    if not counted:
        return None
    lights = dict.fromkeys(one.get("illuminant") for one in visual["judgements"] if one["counted"])
    data = panel.Panel(
        title=gettext("By eye"),
        conditions=Conditions(
            illuminant=", ".join(light or gettext("all lights of the sitting") for light in lights)
        ),
        rows=[
            panel.Judged(one["specimen"], one["accepts"], 0, one["rejects"], one["outcome_words"])
            for one in counted[: panel.MOST_ROWS]
        ],
    )
    return (for_paper if paper else for_page)(panel.draw, data, "panel")


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
