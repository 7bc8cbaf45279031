"""Daylight illuminants: the named ones from their tables, others from their temperature."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from colorimetry.arrays import Floats, number
from colorimetry.errors import DomainError, GridError
from colorimetry.spectral_power import SpectralPower
from colorimetry.weights import Grid

DAYLIGHT = ("D50", "D55", "D65", "D75")
GRID = Grid(300, 780, 5)
COLDEST, HOTTEST = 4000.0, 25000.0  # kelvin: where CIE 15 defines daylight
_DATA = Path(__file__).with_name("light.json")


@cache
def light_tables() -> dict[str, Any]:
    """Return the data file of this folder."""
    data: dict[str, Any] = json.loads(_DATA.read_text(encoding="ascii"))
    return data


def named_daylight(name: str) -> SpectralPower:
    """Return D50, D55, D65 or D75, 300 to 780 nm at 5 nm (linear between); GridError for others.

    Source: CIE 15:2018; ISO/CIE 11664-2.
    """
    if not isinstance(name, str) or name not in DAYLIGHT:
        raise GridError("illuminant", f"{name!r} is none of {', '.join(DAYLIGHT)}")
    return _named_daylight(name)


@cache
def _named_daylight(name: str) -> SpectralPower:
    return SpectralPower(GRID, np.array(light_tables()["daylight"][name]))


def daylight_xy(temperature: float) -> tuple[float, float]:
    """Return x, y of daylight of a correlated colour temperature in kelvin, 4000 to 25 000.

    Raises DomainError outside. Source: CIE 15:2018 (recommendation for illuminants D).
    """
    if not COLDEST <= number(temperature, "daylight temperature") <= HOTTEST:
        detail = f"{temperature:g} K is not between {COLDEST:g} and {HOTTEST:g} K"
        raise DomainError("daylight temperature", "range", detail=detail)
    if temperature <= 7000.0:
        factors = (-4.6070e9, 2.9678e6, 0.09911e3, 0.244063)
    else:
        factors = (-2.0064e9, 1.9018e6, 0.24748e3, 0.237040)
    x = sum(
        factor / temperature**power for factor, power in zip(factors, (3, 2, 1, 0), strict=True)
    )
    return x, -3.0 * x * x + 2.870 * x - 0.275


def daylight(temperature: float) -> SpectralPower:
    """Return daylight of a correlated colour temperature in kelvin, 300 to 780 nm at 5 nm.

    DomainError outside 4000 to 25 000 K. M1 and M2 are not rounded: CIE 15 rounds them to three
    decimals for the named illuminants only, whose tables ``named_daylight`` returns.
    """
    x, y = daylight_xy(temperature)
    below = 0.0241 + 0.2562 * x - 0.7341 * y
    first = (-1.3515 - 1.7703 * x + 5.9114 * y) / below
    second = (0.0300 - 31.4424 * x + 30.0717 * y) / below
    parts = np.array(light_tables()["components"])
    values: Floats = parts[0] + first * parts[1] + second * parts[2]
    return SpectralPower(GRID, values)
