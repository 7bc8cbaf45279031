"""Spectra to colour differences, beside a bare matrix product and two general-purpose libraries."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator

import numpy as np

from benchmarks.row import Row, seconds
from colorimetry import Grid, ciede2000, lab, weights, white, xyz
from colorimetry.bulk import ciede2000_bulk, lab_of_spectra
from method.readers import read, resolve

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # the libraries warn about plotting packages that they lack
    import colour
    from skimage.color import deltaE_ciede2000

GRID = Grid(400, 700, 10)
FACTORS, WHITE = weights("D65", 10, GRID), white("D65", 10, GRID)


def spectra(count: int) -> np.ndarray:
    """Smooth invented reflectances (count, 31): sums of three broad bands."""
    rng = np.random.default_rng(20_240_101)
    nm = np.arange(400, 701, 10)
    table = np.full((count, 31), 0.04)
    for _ in range(3):
        centre, width = rng.uniform(380, 720, (count, 1)), rng.uniform(30, 120, (count, 1))
        table += rng.uniform(0, 0.3, (count, 1)) * np.exp(-(((nm - centre) / width) ** 2))
    return table


def pipeline(count: int, budget: str) -> Iterator[Row]:
    """Rows of the whole way from reflectances to CIEDE2000 against one reference."""
    table, columns = spectra(count), np.ascontiguousarray(FACTORS.T)
    reference = lab(xyz(table[:1], FACTORS), WHITE)
    product = seconds(lambda: table @ columns, repeat=9)
    fast = seconds(
        lambda: ciede2000_bulk(reference, lab_of_spectra(table, FACTORS, WHITE)), repeat=5
    )
    name = f"{count:,} spectra to CIEDE2000"
    yield Row(f"{name}, bulk, against the bare product", fast * 1e3, "ms", product * 1e3, budget)
    exact = seconds(lambda: ciede2000(reference, lab(xyz(table, FACTORS), WHITE)), repeat=3)
    yield Row(f"{name}, verdict path (einsum)", exact * 1e3, "ms", product * 1e3)


def differences(count: int = 1_000_000) -> Iterator[Row]:
    """Rows of CIEDE2000 alone; the libraries' times stand as figures, so that a ratio is a gain."""
    first = lab_of_spectra(spectra(count), FACTORS, WHITE)
    second = first + np.random.default_rng(1).normal(0, 0.5, first.shape)
    ours = seconds(lambda: ciede2000_bulk(first, second), repeat=5)
    exact = seconds(lambda: ciede2000(first, second), repeat=3)
    others = {
        "scikit-image": lambda: deltaE_ciede2000(first, second),
        "colour": lambda: colour.delta_E(first, second, method="CIE 2000"),
    }
    times = {name: seconds(call, repeat=3) for name, call in others.items()}
    name = f"CIEDE2000 of {count:,} pairs"
    for library, time in times.items():
        yield Row(f"{name}: {library} against the verdict path", time * 1e3, "ms", exact * 1e3)
    quickest = min(times, key=lambda key: times[key])
    yield Row(
        f"{name}: {quickest} against bulk", times[quickest] * 1e3, "ms", ours * 1e3, "ratio >= 3.5"
    )


def one_by_one(count: int = 200) -> Iterator[Row]:
    """Row of library calls one by one (the figure) against one call for all."""
    table = spectra(count)
    functions = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"]
    source = colour.SDS_ILLUMINANTS["D65"]
    nm = GRID.wavelengths()

    def each() -> None:
        for values in table:
            distribution = colour.SpectralDistribution(values, nm)
            colour.sd_to_XYZ(distribution, functions, source, method="ASTM E308")

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library tells of every range that it trims
        each()  # the first calls fill its caches
        theirs = seconds(each, repeat=2)
    ours = seconds(lambda: xyz(table, FACTORS), repeat=50)
    yield Row(f"{count} spectra to XYZ one by one", theirs * 1e3, "ms", ours * 1e3, "ratio >= 1000")


def reading(count: int = 100_000) -> Iterator[Row]:
    """Row of the import of a text file against a bare NumPy parse of the same numbers."""
    table = spectra(count).round(4)
    lines = ["label," + ",".join(map(str, GRID.wavelengths()))]
    lines += [f"S{i}," + ",".join(map(str, row)) for i, row in enumerate(table.tolist())]
    text = "\n".join(lines)
    data = text.encode()
    columns = range(1, 32)
    bare = seconds(
        lambda: np.loadtxt(io.StringIO(text), delimiter=",", skiprows=1, usecols=columns), repeat=3
    )
    ours = seconds(lambda: resolve(read(data, "invented.csv"), {}), repeat=3)
    name = f"import of a text file of {count:,} rows"
    yield Row(name, ours * 1e3, "ms", bare * 1e3, "ratio <= 3")


def rows() -> Iterator[Row]:
    """All rows of this module."""
    yield from pipeline(100_000, "")
    yield from pipeline(1_000_000, "ratio <= 10")
    yield from differences()
    yield from one_by_one()
    yield from reading()
