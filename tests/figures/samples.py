"""Invented numbers for every kind of figure, few and many, in Latin and in Chinese."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal as D
from random import Random
from typing import Any

from jobs.figures import (
    arrangement,
    characteristic,
    differences,
    intervals,
    lamp,
    lots,
    margins,
    panel,
    plane,
    spectra,
)
from jobs.figures.drawing import Conditions, Drawing, Setting, Standing, standing

Sample = tuple[Callable[[Any, Setting], Drawing], Any]

DIFFERENCES = Conditions("ΔE00", "D65", "10°", "45°:0°")
LONG = "Verkleidung der Säule links, hinten, unten <innen> & außen"
CHINESE = "左后立柱下饰板总成内侧面板（皮纹区）试样"

WORDS = {
    Standing.WITHIN: "within the limit",
    Standing.BETWEEN: "not decided",
    Standing.BEYOND: "beyond the limit",
}


def decimal(random: Random, low: float, high: float, places: int = 2) -> D:
    """A number between two others, to some decimals."""
    return D(str(round(random.uniform(low, high), places)))


def margin_rows(count: int, seed: int = 1) -> margins.Margins:
    """Some within, some between, some beyond."""
    random = Random(seed)
    rows = []
    for place in range(count):
        value, limit, u = decimal(random, 0.2, 1.7), D("1.00"), D("0.20")
        state = WORDS[standing(value, limit, u)]
        rows.append(margins.Row(f"P{place + 1:02}", value, limit, u, state))
    return margins.Margins("CIEDE2000 under D65, 10°", "ΔE00", DIFFERENCES, rows)


def margin_odd() -> margins.Margins:
    """Labels and words that are too long, two writings."""
    rows = [
        margins.Row(LONG, D("0.540"), D("1.00"), D("0.20"), LONG),
        margins.Row(CHINESE, D("1.5"), D("1.25"), D("0.20"), CHINESE),
        margins.Row("", D("0"), D("0.4"), D("0.5"), "$x^2$ – 100 %"),
    ]
    return margins.Margins(f"{LONG} {CHINESE}", "ΔE00", DIFFERENCES, rows)


PLACE = Conditions(illuminant="D65", observer="10°", geometry="45°:0°")


def colours(count: int, seed: int = 2) -> list[plane.Colour]:
    """Specimens around L* 52, a* 18, b* −24."""
    random = Random(seed)
    found = []
    for place in range(count):
        da, db = random.gauss(0.1, 0.4), random.gauss(-0.1, 0.4)
        kind = standing(round(math.hypot(da, db), 2), D("0.8"), D("0.15"))
        found.append(
            plane.Colour(
                f"P{place + 1:03}",
                round(52 + random.gauss(0, 0.3), 2),
                round(18 + da, 2),
                round(-24 + db, 2),
                kind,
                WORDS[kind],
            )
        )
    return found


def plane_of(count: int, seed: int = 2, **more: Any) -> plane.Plane:
    """A circle of ΔE*ab with U, unless `more` says otherwise."""
    known = {
        "limit": plane.Circle(D("0.80")),
        "limit_words": "ΔE*ab = 0.80",
        "lightness_limits": (D("51.20"), D("52.80")),
        "uncertainty": plane.Uncertainty(D("0.12"), D("0.15"), D("0.10"), 0.4),
    }
    return plane.Plane(
        "Specimens in a*, b* and L*",
        PLACE,
        (D("52.00"), D("18.00"), D("-24.00")),
        colours(count, seed),
        **(known | more),
    )


def locus(size: float = 1.0) -> plane.Locus:
    """A tilted oval, as a formula with a rotated tolerance gives it."""
    turns = [2 * math.pi * step / 72 for step in range(72)]
    points = [(size * 0.9 * math.cos(turn), size * 0.5 * math.sin(turn)) for turn in turns]
    return plane.Locus([(18 + 0.8 * x - 0.6 * y, -24 + 0.6 * x + 0.8 * y) for x, y in points])


def zone_of(count: int, inner: bool = True) -> plane.Plane:
    """A limit of a formula with U on both sides of it."""
    ends = [D("51.35"), D("52.65"), D("51.05"), D("52.95")]
    zone = plane.Zone(locus(0.8) if inner else None, locus(1.2), ends if inner else ends[2:])
    return plane_of(count, limit=locus(), limit_words="ΔE00 = 0.60", uncertainty=zone)


def curve(label: str, random: Random, step: int = 10) -> spectra.Curve:
    """A smooth reflectance with a rise near 560 nm."""
    middle, low, high = 560 + random.gauss(0, 3), 8 + random.gauss(0, 0.6), 62 + random.gauss(0, 1)
    values = [
        low + (high - low) / (1 + math.exp((middle - nm) / 22)) for nm in range(400, 701, step)
    ]
    return spectra.Curve(label, values)


def spectra_of(count: int, step: int = 10, names: str = "P{}") -> spectra.Spectra:
    """A reference and some specimens, 400 to 700 nm."""
    random = Random(3)
    return spectra.Spectra(
        "Reflectance of the reference and the specimens",
        "Reflectance, %",
        Conditions(geometry="di:8°, specular included", other="mean of 3 readings"),
        list(range(400, 701, step)),
        curve("Master M-7", random, step),
        [curve(names.format(place + 1), random, step) for place in range(count)],
    )


def differences_of(count: int, lights: tuple[str, ...] = ("D65", "A", "F11")) -> Any:
    """The same specimens under each light."""
    random = Random(4)
    base = [random.uniform(0.2, 1.3) for _ in range(count)]
    groups = [
        differences.Group(
            light,
            D(limit),
            D("0.20"),
            [
                differences.Difference(f"P{i + 1}", D(str(round(abs(x + random.gauss(0, 0.2)), 2))))
                for i, x in enumerate(base)
            ],
        )
        for light, limit in zip(lights, ("1.00", "1.20", "1.50"), strict=False)
    ]
    told = Conditions("ΔE00", observer="10°", geometry="45°:0°")
    return differences.Differences("Differences by illuminant", "ΔE00", told, groups)


def panel_of(count: int, name: str = "P{}", outcome: str = "") -> panel.Panel:
    """Seven observers; five must accept."""
    random = Random(5)
    rows = []
    for place in range(count):
        accepts = random.randint(1, 7)
        undecided = random.randint(0, 7 - accepts)
        words = outcome or ("accepted" if accepts >= 5 else "not accepted")
        rows.append(
            panel.Judged(name.format(place + 1), accepts, undecided, 7 - accepts - undecided, words)
        )
    told = Conditions(illuminant="D65", other="7 qualified observers, blind")
    return panel.Panel("Judgements of the panel", told, rows, 5, "asked for: 5 of 7 accept")


def lots_of(count: int) -> lots.Lots:
    """Weekly lots under two revisions."""
    random = Random(6)
    first = date(2026, 1, 12)
    found = []
    for place in range(count):
        day = first + timedelta(days=7 * place + random.randint(0, 2))
        value = D(str(round(random.uniform(0.3, 1.25), 2)))
        kind = standing(value, D("1.00"), D("0.15"))
        found.append(lots.Lot(f"L-{place + 1:03}", day, value, D("0.15"), kind, WORDS[kind]))
    changed = first + timedelta(days=int(3.7 * count))
    limits = [
        lots.Limit(date(2025, 12, 1), D("1.20"), "revision 1"),
        lots.Limit(changed, D("1.00"), "revision 2"),
    ]
    outcomes = {
        Standing.WITHIN: "accepted",
        Standing.BETWEEN: "not decided",
        Standing.BEYOND: "rejected",
    }
    return lots.Lots("Lots over time", "ΔE00", DIFFERENCES, found, limits, outcomes)


def characteristic_of(most: float = 8.0) -> characteristic.Characteristic:
    """n = 80, Ac = 2, binomial."""

    def accepted(percent: float) -> float:
        p = percent / 100
        chance = sum(math.comb(80, k) * p**k * (1 - p) ** (80 - k) for k in range(3))
        return round(chance, 4)

    return characteristic.Characteristic(
        "Operating characteristic",
        Conditions(other="n = 80, Ac = 2, binomial"),
        [(round(most * step / 80, 3), accepted(most * step / 80)) for step in range(81)],
        [
            characteristic.Named("AQL 1.0 %", 1.0, accepted(1.0)),
            characteristic.Named("limiting quality 6.5 %", 6.5, accepted(6.5)),
        ],
    )


def characteristic_odd() -> characteristic.Characteristic:
    """A long name, a Chinese one, and points that lie close."""
    known = characteristic_of()
    named = [
        characteristic.Named(LONG, 1.0, known.curve[10][1]),
        characteristic.Named(CHINESE, 1.2, known.curve[12][1]),
        characteristic.Named("worst", 8.0, known.curve[80][1]),
    ]
    return replace(known, named=named)


def lamp_of(step: int = 5) -> lamp.Lamp:
    """A smooth daylight and a lamp with lines."""
    nm = list(range(380, 781, step))
    smooth = [80 + 30 * math.sin((x - 400) / 90) for x in nm]
    lines = (436, 546, 611)
    lamped = [
        0.7 * y + sum(40 * math.exp(-(((x - line) / 9) ** 2)) for line in lines)
        for x, y in zip(nm, smooth, strict=True)
    ]
    return lamp.Lamp(
        "Illuminant and lamp",
        Conditions(illuminant="D65", other="booth 2, middle of the floor"),
        nm,
        spectra.Curve("D65, tabulated", smooth),
        spectra.Curve("lamp as measured", lamped),
    )


def arrangement_of(caps: int = 85) -> arrangement.Arrangement:
    """Errors with two maxima opposite each other."""
    random = Random(7)
    errors = [
        2
        + max(
            0, round(3 * abs(math.sin(math.pi * (cap + 20) / caps)) ** 6 + random.gauss(0.1, 0.7))
        )
        for cap in range(caps)
    ]
    return arrangement.Arrangement(
        "Errors of the arrangement, cap by cap",
        Conditions(illuminant="C", other="1000 lx, first attempt"),
        errors,
        2,
        (
            f"total error score {sum(errors) - 2 * caps}",
            "axis of the errors: caps 22 to 64, by moments",
        ),
    )


def intervals_of() -> intervals.Intervals:
    """Agreement of observers, one below chance."""
    return intervals.Intervals(
        "Agreement with the reference judgement",
        "weighted kappa",
        Conditions(other="40 specimens, two sittings"),
        [
            intervals.Interval("observer K4", D("0.82"), D("0.68"), D("0.93")),
            intervals.Interval("observer M1", D("0.55"), D("0.31"), D("0.74")),
            intervals.Interval("observer T9", D("-0.05"), D("-0.22"), D("0.14")),
        ],
        "95 % interval, bootstrap",
        (D("0.60"), "asked for"),
    )


def samples() -> dict[str, Sample]:
    """Each figure of the gallery by its name."""
    return {
        "margins": (margins.draw, margin_rows(8)),
        "margins-many": (margins.draw, margin_rows(40)),
        "margins-odd": (margins.draw, margin_odd()),
        "plane": (plane.draw, plane_of(7)),
        "plane-many": (plane.draw, plane_of(200)),
        "plane-box": (
            plane.draw,
            plane_of(
                5,
                limit=plane.Box((D("-0.6"), D("0.4")), (D("-0.5"), D("0.9"))),
                limit_words="Δa* −0.6 … 0.4, Δb* −0.5 … 0.9",
            ),
        ),
        "plane-locus": (plane.draw, plane_of(12, limit=locus(), limit_words="ΔE00 = 0.60")),
        "plane-zone": (plane.draw, zone_of(6)),
        "plane-zone-wide": (plane.draw, zone_of(40, inner=False)),
        "plane-bare": (
            plane.draw,
            plane_of(2, limit=None, limit_words="", lightness_limits=None, uncertainty=None),
        ),
        "spectra": (spectra.draw, spectra_of(3)),
        "spectra-many": (spectra.draw, spectra_of(200)),
        "spectra-alone": (spectra.draw, replace(spectra_of(3), reference=None)),
        "spectra-alone-many": (spectra.draw, replace(spectra_of(40), reference=None)),
        "spectra-odd": (spectra.draw, spectra_of(6, 5, CHINESE + " {}")),
        "differences": (differences.draw, differences_of(5)),
        "differences-many": (differences.draw, differences_of(200)),
        "differences-odd": (differences.draw, differences_of(1, (LONG, CHINESE))),
        "panel": (panel.draw, panel_of(6)),
        "panel-odd": (panel.draw, panel_of(3, CHINESE + "{}", LONG)),
        "lots": (lots.draw, lots_of(24)),
        "lots-many": (lots.draw, lots_of(200)),
        "lots-one": (lots.draw, lots_of(1)),
        "characteristic": (characteristic.draw, characteristic_of()),
        "characteristic-odd": (characteristic.draw, characteristic_odd()),
        "lamp": (lamp.draw, lamp_of()),
        "lamp-few": (lamp.draw, lamp_of(20)),
        "arrangement": (arrangement.draw, arrangement_of()),
        "intervals": (intervals.draw, intervals_of()),
    }
