"""Figures of a verdict, alike on page and paper."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.utils.translation import gettext

from jobs import plots

MOST_ROWS = 40  # rows of one figure; the table beside it has them all


def figures(view: dict[str, Any]) -> list[Any]:
    """One figure per tolerance: values of the specimens against the limit and its ±U band."""
    return [
        plots.margins(
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
            title=gettext("%(formula)s under %(illuminant)s, %(observer)s°")
            % {
                "formula": item["formula"],
                "illuminant": item["illuminant"],
                "observer": item["observer"],
            },
            desc=gettext("Each specimen's difference from the target, the limit and ±U (k = 2)."),
            unit_text="ΔE00",
        )
        for item in view["instrument"]["items"]
        if item["rows"]
    ]
