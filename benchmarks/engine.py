"""Spectra to colour differences, beside a bare matrix product and two general-purpose libraries.

Figures that are set against each other are taken in turn, so that a machine that is busy for a
while disturbs both.
"""

from __future__ import annotations

import io
import subprocess
import sys
import time
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from benchmarks.row import Row, seconds
from colorimetry import Grid, ciede2000, lab, weights, white, xyz
from colorimetry.bulk import ciede2000_bulk, ciede2000_of_spectra, lab_of_spectra
from method.readers import read, resolve

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # the libraries warn about plotting packages that they lack
    import colour
    from skimage.color import deltaE_ciede2000

ROOT = Path(__file__).resolve().parents[1]
GRID = Grid(400, 700, 10)
FACTORS, WHITE = weights("D65", 10, GRID), white("D65", 10, GRID)
COUNTS = (1_000, 100_000, 1_000_000)
CALLS = 500  # one-by-one calls that are really made

MEMORY = """
import sys
import numpy as np
from colorimetry import Grid, ciede2000, lab, weights, white, xyz
from colorimetry.bulk import BLOCK, ciede2000_of_spectra

def peak():
    # of this process alone; what getrusage tells may be the parent's
    with open("/proc/self/status") as status:
        return next(int(line.split()[1]) for line in status if line.startswith("VmHWM")) / 1024

grid = Grid(400, 700, 10)
factors, source = weights("D65", 10, grid), white("D65", 10, grid)
table, rng = np.empty((1_000_000, 31)), np.random.default_rng(1)
for start in range(0, len(table), BLOCK):
    rng.random(out=table[start : start + BLOCK])
target = lab(xyz(table[:1], factors), source)
if sys.argv[1] == "bulk":
    found = ciede2000_of_spectra(target, table, factors, source)
else:
    parts = (table[i : i + BLOCK] for i in range(0, len(table), BLOCK))
    found = np.concatenate([ciede2000(target, lab(xyz(p, factors), source)) for p in parts])
assert found.shape == (len(table),) and np.isfinite(found).all()
print(peak(), table.nbytes / 2**20)
"""
IMPORT = """
import sys, time
start = time.perf_counter()
import {module}
took = time.perf_counter() - start
heavy = {{"colour", "scipy", "matplotlib", "skimage"}} & {{n.split(".")[0] for n in sys.modules}}
assert not heavy, heavy
print(took)
"""


def spectra(count: int) -> np.ndarray:
    """Smooth invented reflectances (count, 31): sums of three broad bands."""
    rng = np.random.default_rng(20_240_101)
    nm = np.arange(400, 701, 10)
    table = np.full((count, 31), 0.04)
    for _ in range(3):
        centre, width = rng.uniform(380, 720, (count, 1)), rng.uniform(30, 120, (count, 1))
        table += rng.uniform(0, 0.3, (count, 1)) * np.exp(-(((nm - centre) / width) ** 2))
    return table


def in_turn(calls: dict[str, Callable[[], object]], repeat: int) -> dict[str, float]:
    """The least milliseconds of each call, all of them called in turn `repeat` times."""
    least = dict.fromkeys(calls, float("inf"))
    for _ in range(repeat):
        for name, call in calls.items():
            start = time.perf_counter()
            call()
            least[name] = min(least[name], (time.perf_counter() - start) * 1e3)
    return least


def repeats(count: int) -> int:
    """How often a call on so many rows is repeated."""
    return 200 if count <= 1_000 else 30 if count <= 100_000 else 9


def pipeline(count: int) -> Iterator[Row]:
    """The whole way from reflectances to CIEDE2000 against one reference, by both our paths."""
    table, columns = spectra(count), np.ascontiguousarray(FACTORS.T)
    reference = lab(xyz(table[:1], FACTORS), WHITE)
    times = in_turn(
        {
            "product": lambda: table @ columns,
            "bulk": lambda: ciede2000_bulk(reference, lab_of_spectra(table, FACTORS, WHITE)),
            "chunks": lambda: ciede2000_of_spectra(reference, table, FACTORS, WHITE),
            "einsum": lambda: ciede2000(reference, lab(xyz(table, FACTORS), WHITE)),
        },
        repeats(count),
    )
    name, bare = f"{count:,} spectra to CIEDE2000", times["product"]
    budget = "ratio <= 10" if count == max(COUNTS) else ""
    yield Row(f"{name}: bare product alone", bare, "ms")
    yield Row(f"{name}: bulk against the product", times["bulk"], "ms", bare, budget)
    yield Row(f"{name}: bulk in chunks against the product", times["chunks"], "ms", bare)
    yield Row(f"{name}: verdict path (einsum) against the product", times["einsum"], "ms", bare)
    yield from one_by_one(table, reference, times["bulk"])


def one_by_one(table: np.ndarray, reference: np.ndarray, bulk: float) -> Iterator[Row]:
    """The same way by library calls one by one (the figure) against our bulk path."""
    functions = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"]
    source, nm = colour.SDS_ILLUMINANTS["D65"], GRID.wavelengths()
    chromaticity = colour.XYZ_to_xy(WHITE)

    def each() -> None:
        for values in table[:CALLS]:
            distribution = colour.SpectralDistribution(values, nm)
            found = colour.sd_to_XYZ(distribution, functions, source, method="ASTM E308")
            colour.delta_E(
                reference[0], colour.XYZ_to_Lab(found / 100.0, chromaticity), method="CIE 2000"
            )

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library tells of every range that it trims
        each()  # the first calls fill its caches
        theirs = seconds(each, repeat=4) * 1e3 * len(table) / CALLS
    count = len(table)
    name = f"{count:,} spectra to CIEDE2000: one by one, extrapolated from {CALLS} calls"
    budget = "ratio >= 1000" if count == max(COUNTS) else ""
    yield Row(f"{name}, against bulk", theirs, "ms", bulk, budget)


def differences(count: int) -> Iterator[Row]:
    """CIEDE2000 alone; the libraries' times stand as figures, so that a ratio is a gain."""
    first = lab_of_spectra(spectra(count), FACTORS, WHITE)
    second = first + np.random.default_rng(1).normal(0, 0.5, first.shape)
    libraries = {
        "scikit-image": lambda: deltaE_ciede2000(first, second),
        "colour": lambda: colour.delta_E(first, second, method="CIE 2000"),
    }
    ours = {
        "bulk": lambda: ciede2000_bulk(first, second),
        "verdict path": lambda: ciede2000(first, second),
    }
    times = in_turn(libraries | ours, max(5, repeats(count) // 2))
    quickest = min(libraries, key=lambda library: times[library])
    for library in libraries:
        name = f"CIEDE2000 of {count:,} pairs: {library}"
        held = library == quickest and count == max(COUNTS)
        budget = "ratio >= 3.5" if held else ""
        yield Row(f"{name} against bulk", times[library], "ms", times["bulk"], budget)
        yield Row(f"{name} against the verdict path", times[library], "ms", times["verdict path"])


def tristimulus(count: int = 200) -> Iterator[Row]:
    """XYZ alone by library calls one by one (the figure) against one call of the verdict path."""
    table, nm = spectra(count), GRID.wavelengths()
    functions = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"]
    source = colour.SDS_ILLUMINANTS["D65"]

    def each() -> None:
        for values in table:
            distribution = colour.SpectralDistribution(values, nm)
            colour.sd_to_XYZ(distribution, functions, source, method="ASTM E308")

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        each()
        theirs = seconds(each, repeat=3) * 1e3
    ours = seconds(lambda: xyz(table, FACTORS), repeat=50) * 1e3
    yield Row(f"{count} spectra to XYZ one by one", theirs, "ms", ours, "ratio >= 1000")


def program(text: str, *arguments: str) -> list[float]:
    """The numbers that a fresh Python prints; an error of it is an error here."""
    done = subprocess.run(
        [sys.executable, "-c", text, *arguments],
        cwd=ROOT,
        check=True,
        stdout=subprocess.PIPE,
        text=True,
    )
    return [float(word) for word in done.stdout.split()]


def memory() -> Iterator[Row]:
    """Peak memory of a whole fresh process, input included, against the input alone."""
    for path, words in (("bulk", "bulk"), ("einsum", "verdict path")):
        if Path("/proc/self/status").exists():
            peak, size = program(MEMORY, path)
            name = f"1,000,000 spectra to CIEDE2000 in chunks, {words}: peak memory"
            yield Row(name, peak, "MiB", size, "ratio <= 2")


def importing() -> Iterator[Row]:
    """Seconds of `import colorimetry`, which loads no heavy library, beside NumPy's."""
    ours, bare = (
        min(program(IMPORT.format(module=module))[0] for _ in range(5))
        for module in ("colorimetry", "numpy")
    )
    yield Row("import colorimetry", ours, "s", bare, "figure <= 0.3")


def reading(count: int = 100_000) -> Iterator[Row]:
    """The import of a text file against a bare NumPy parse of the same numbers."""
    table = spectra(count).round(4)
    lines = ["label," + ",".join(map(str, GRID.wavelengths()))]
    lines += [f"S{i}," + ",".join(map(str, row)) for i, row in enumerate(table.tolist())]
    text = "\n".join(lines)
    data, columns = text.encode(), range(1, 32)
    times = in_turn(
        {
            "bare": lambda: np.loadtxt(
                io.StringIO(text), delimiter=",", skiprows=1, usecols=columns
            ),
            "ours": lambda: resolve(read(data, "invented.csv"), {}),
        },
        5,
    )
    name = f"import of a text file of {count:,} rows"
    yield Row(name, times["ours"], "ms", times["bare"], "ratio <= 3")


def rows() -> Iterator[Row]:
    """All rows of this module."""
    for count in COUNTS:
        yield from pipeline(count)
    for count in COUNTS:
        yield from differences(count)
    yield from tristimulus()
    yield from memory()
    yield from importing()
    yield from reading()
