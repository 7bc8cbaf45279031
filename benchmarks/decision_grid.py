"""P(difference <= limit) beside 10⁶ random draws, over pairs, formulas, limits and covariances.

    python -m benchmarks.decision_grid [CELLS] [SEED]

Prints the largest error, by formula and by place of the pair, and the worst cells. `rows()` runs a
short grid for `make bench`. The draws themselves are off by about 0.0005, the largest of eight
limits by about 0.001.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from benchmarks.row import Row
from colorimetry.decision.difference_probability import probability_within
from colorimetry.difference_formulas import difference

DRAWS = 1_000_000
SHARES = np.array([0.01, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 0.99])
FORMULAS = {
    "CIELAB": {},
    "CIEDE2000": {},
    "CMC": {"l_weight": 2.0, "c_weight": 1.0},
    "CIE94": {"application": "graphic_arts"},
    "DIN99o": {},
}
PLACES = ("neutral", "near neutral", "blue", "saturated", "dark", "anywhere")
# how far apart: the same; a given distance; opposite hues (off the neutral axis by as much)
APART = ("none", "far", "near", "opposite")


class Cell(NamedTuple):
    """One pair with its covariance, and what it stands for."""

    formula: str
    place: str
    apart: str
    uncertainty: float
    reference: np.ndarray
    specimen: np.ndarray
    covariance: np.ndarray


def cells(seed: int, count: int) -> Iterator[Cell]:
    """Random cells: every formula, place and distance in turn."""
    rng = np.random.default_rng(seed)
    names = list(FORMULAS)
    for number in range(count):
        place = PLACES[number % len(PLACES)]
        apart = APART[number // len(PLACES) % len(APART)]
        reference = colour_at(place, rng)
        shift = shift_of(apart, reference, rng)
        size = 10 ** rng.uniform(np.log10(0.02), np.log10(0.5))
        yield Cell(
            names[number % len(names)],
            place,
            apart,
            size,
            reference,
            reference + shift,
            covariance(size, rng),
        )


def colour_at(place: str, rng: np.random.Generator) -> np.ndarray:
    """A colour in CIELAB."""
    lightness = rng.uniform(0, 16) if place == "dark" else rng.uniform(5, 95)
    if place == "neutral":
        return np.array([lightness, *rng.normal(0, 0.3, 2)])
    if place in ("near neutral", "dark"):
        return np.array([lightness, *rng.normal(0, 3, 2)])
    if place == "anywhere":
        return np.array([lightness, *rng.uniform(-60, 60, 2)])
    hue = np.radians(rng.uniform(255, 295) if place == "blue" else rng.uniform(0, 360))
    chroma = rng.uniform(10, 90) if place == "blue" else rng.uniform(50, 110)
    return np.array([lightness, chroma * np.cos(hue), chroma * np.sin(hue)])


def shift_of(apart: str, reference: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Specimen minus reference."""
    if apart == "none":
        return np.zeros(3)
    if apart == "opposite":
        return np.array([rng.normal(0, 0.5), *(-2 * reference[1:])])
    low, high = (-1.5, 0.0) if apart == "near" else (0.0, 1.0)
    direction = rng.normal(size=3)
    return direction * 10 ** rng.uniform(low, high) / np.sqrt((direction**2).sum())


def block(size: float, rng: np.random.Generator) -> np.ndarray:
    """A covariance (3, 3): uncertainties up to `size`, unequal, correlated or not."""
    scale = size * 10 ** rng.uniform(-0.7, 0, 3)
    if rng.random() < 0.5:
        return np.diag(scale**2)
    square = rng.normal(size=(3, 5))
    square = square @ square.T
    root = np.sqrt(np.diag(square))
    return square / root / root[:, None] * scale * scale[:, None]


def covariance(size: float, rng: np.random.Generator) -> np.ndarray:
    """A covariance (6, 6): equal, unequal, with a common bias, or of the specimen alone."""
    kind = rng.integers(0, 4)
    if kind == 0:
        return np.eye(6) * size**2
    result = np.zeros((6, 6))
    result[3:, 3:] = block(size, rng)
    if kind != 3:
        result[:3, :3] = block(size, rng)
    return result + np.tile(block(size, rng), (2, 2)) if kind == 2 else result


def drawn(cell: Cell, seed: int, draws: int = DRAWS) -> np.ndarray:
    """Differences of `draws` random pairs, in order."""
    rng = np.random.default_rng(seed)
    centre = np.concatenate((cell.reference, cell.specimen))
    values, vectors = np.linalg.eigh(cell.covariance)
    spread = vectors * np.sqrt(np.maximum(values, 0.0))
    parts = []
    for _ in range(0, draws, 50_000):
        pairs = centre + rng.standard_normal((50_000, 6)) @ spread.T
        parts.append(
            difference(
                cell.formula,
                reference=pairs[:, :3],
                specimen=pairs[:, 3:],
                **FORMULAS[cell.formula],
            )
        )
    return np.sort(np.concatenate(parts))


def error(cell: Cell, seed: int, draws: int = DRAWS) -> float:
    """The largest difference between both probabilities over eight limits."""
    values = drawn(cell, seed, draws)
    limits = np.quantile(values, SHARES)
    counted = np.searchsorted(values, limits, side="right") / len(values)
    found = probability_within(
        limits,
        reference=cell.reference,
        specimen=np.tile(cell.specimen, (len(limits), 1)),
        covariance=cell.covariance,
        formula=cell.formula,
        **FORMULAS[cell.formula],
    )
    return float(np.abs(found - counted).max())


def pace(count: int = 600) -> float:
    """Milliseconds for `count` pairs with usual uncertainties, CIEDE2000."""
    rng = np.random.default_rng(3)
    reference = np.column_stack((rng.uniform(20, 90, count), rng.uniform(-60, 60, (count, 2))))
    specimen = reference + rng.normal(0, 0.4, reference.shape)
    start = time.perf_counter()
    probability_within(
        1.0,
        reference=reference,
        specimen=specimen,
        covariance=np.eye(6) * 0.05**2,
        formula="CIEDE2000",
    )
    return (time.perf_counter() - start) * 1e3


def rows() -> Iterator[Row]:
    """The largest error of a short grid, and how long a lot takes."""
    worst = max(error(cell, number) for number, cell in enumerate(cells(20_240_101, 24)))
    name = "P(difference <= limit): largest error against 10⁶ draws, 24 cells of 8 limits"
    yield Row(name, worst, "", None, "figure <= 0.01")
    pace()
    yield Row("P(difference <= limit) for 600 pairs, CIEDE2000", pace(), "ms")


def main() -> None:
    """A long grid."""
    words = sys.argv[1:]
    count, seed = int(words[0]) if words else 480, int(words[1]) if len(words) > 1 else 1
    found = [(error(cell, number), cell) for number, cell in enumerate(cells(seed, count))]
    for key in ("formula", "place", "apart"):
        for value in sorted({getattr(cell, key) for _, cell in found}):
            worst = max(e for e, cell in found if getattr(cell, key) == value)
            print(f"{key:8} {value:13} largest error {worst:.4f}")
    for e, cell in sorted(found, key=lambda pair: -pair[0])[:5]:
        print(f"{e:.4f} {cell.formula} {cell.place} {cell.apart} u {cell.uncertainty:.3f}")
    print(f"{count} cells x {len(SHARES)} limits: largest error {max(e for e, _ in found):.4f}")


if __name__ == "__main__":
    main()
