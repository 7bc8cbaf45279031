"""Invented numbers for every kind of figure, few and many, in Latin and in Chinese."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal as D
from random import Random
from typing import Any

from jobs.figures import margins
from jobs.figures.drawing import Conditions, Drawing, Setting

Sample = tuple[Callable[[Any, Setting], Drawing], Any]

DIFFERENCES = Conditions("ΔE00", "D65", "10°", "45°:0°")
LONG = "Verkleidung der Säule links, hinten, unten <innen> & außen"
CHINESE = "左后立柱下饰板总成内侧面板（皮纹区）试样"


def decimal(random: Random, low: float, high: float, places: int = 2) -> D:
    """A number between two others, to some decimals."""
    return D(str(round(random.uniform(low, high), places)))


def margin_rows(count: int, seed: int = 1) -> margins.Margins:
    """Some within, some between, some beyond."""
    random = Random(seed)
    words = ("within the limit", "not decided: within U of the limit", "beyond the limit")
    rows = [
        margins.Row(
            f"P{place + 1:02}",
            decimal(random, 0.2, 1.7),
            D("1.00"),
            D("0.20"),
            words[place % 3],
        )
        for place in range(count)
    ]
    return margins.Margins("CIEDE2000 under D65, 10°", "ΔE00", DIFFERENCES, rows)


def margin_odd() -> margins.Margins:
    """Labels and words that are too long, two writings."""
    rows = [
        margins.Row(LONG, D("0.540"), D("1.00"), D("0.20"), LONG),
        margins.Row(CHINESE, D("1.5"), D("1.25"), D("0.20"), CHINESE),
        margins.Row("", D("0"), D("0.4"), D("0.5"), "$x^2$ – 100 %"),
    ]
    return margins.Margins(f"{LONG} {CHINESE}", "ΔE00", DIFFERENCES, rows)


def samples() -> dict[str, Sample]:
    """Each figure of the gallery by its name."""
    return {
        "margins": (margins.draw, margin_rows(8)),
        "margins-many": (margins.draw, margin_rows(40)),
        "margins-odd": (margins.draw, margin_odd()),
    }
