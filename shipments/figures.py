"""Figures of a verdict, alike on page and paper."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.utils.safestring import SafeString
from django.utils.translation import gettext

from jobs import plots

MOST_ROWS = 40  # rows of one figure; the table beside it has them all


def drawn(view: dict[str, Any]) -> dict[str, Any]:
    """A verdict as `wording.shown` gives it, each tolerance with its figure."""
    items = [item | {"figure": figure(item)} for item in view["instrument"]["items"]]
    return view | {"instrument": view["instrument"] | {"items": items}}


def figure(item: Mapping[str, Any]) -> SafeString | None:
    """Values of the specimens against the limit and its ±U band; None without any value."""
    if not item["rows"]:
        return None
    condition = {name: item[name] for name in ("formula", "illuminant", "observer")}
    return plots.margins(
        [
            (
                row["specimen"],
                Decimal(row["value"]),
                Decimal(item["limit"]),
                Decimal(item["uncertainty"]),
                row["zone_words"],
            )
            for row in item["rows"][:MOST_ROWS]
        ],
        title=gettext("%(formula)s under %(illuminant)s, %(observer)s°") % condition,
        desc=gettext("Each specimen's difference from the target, the limit and ±U (k = 2)."),
        unit_text="ΔE00",
    )
