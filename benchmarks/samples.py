"""What the readers make of every file in a folder: found, odd, asked, or refused; and how fast.

python -m benchmarks.samples FOLDER
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from colorimetry import lab, white, xyz
from colorimetry.weights import Grid, weights
from method.readers import ReadError, Reading, read, resolve

LIGHTS = (("D50", 2), ("D65", 10))
SHOWN = 5  # readings whose colours are printed


def described(data: bytes, name: str) -> Iterator[str]:
    """Yield lines on one file."""
    start = time.perf_counter()
    try:
        reading = read(data, name)
    except ReadError as error:
        yield f"refused in {milliseconds(start)}: {error}"
        return
    yield f"read in {milliseconds(start)}: {reading.format}, {len(reading.tables)} table(s)"
    for table in reading.tables:
        yield f"  table {table.text}, {table.quantity}, {table.bands} bands"
    yield from facts(reading)
    for oddity in reading.oddities:
        yield f"  odd: {oddity.message % oddity.params}"
    for question in reading.questions:
        choices = ", ".join(choice.value for choice in question.choices)
        yield f"  asks: {question.message % question.params} [{choices}]"
    yield from outcome(reading)


def facts(reading: Reading) -> Iterator[str]:
    """Yield grid, scale, condition and stated colours of a reading."""
    scale = f"{reading.scale.scale or 'open'} ({', '.join(reading.scale.evidence)})"
    yield f"  grid {reading.grid}, scale {scale}, {len(reading.labels)} readings, {reading.layout}"
    known = [f"{one.key} {one.value} (“{one.text}”, line {one.line})" for one in reading.condition]
    unknown = ", ".join(reading.unknown)
    yield f"  condition: {'; '.join(known) or 'nothing said'}; unknown: {unknown}"
    for stated in reading.stated if not reading.wavelengths else ():
        for label, values in zip(reading.labels, stated.values[:SHOWN].tolist(), strict=False):
            yield f"    states {', '.join(stated.fields)} of {label}: {values}"
    for one in reading.comparisons:
        under = f"{one.illuminant or '?'}/{one.observer or '?'}"
        yield (
            f"  stated {', '.join(one.fields)} under {under}: mean {one.mean}, max {one.largest};"
            f" best {one.best}: mean {one.best_mean:.4f}, max {one.best_largest:.4f}"
        )


def outcome(reading: Reading) -> Iterator[str]:
    """Yield what the packed set holds, with the first colours, or why there is none."""
    answers = {one.id: one.choices[0].value for one in reading.questions}
    start = time.perf_counter()
    try:
        spectra = resolve(reading, answers)
    except ReadError as error:
        yield f"  no packed set: {error}"
        return
    yield f"  packed in {milliseconds(start)}, answers {answers}: {spectra.values.shape}"
    if reading.grid is None or any(one.id == "grid-without-weights" for one in reading.oddities):
        return
    grid = Grid(*reading.grid)
    rows = np.asarray(spectra.values[:SHOWN])
    for illuminant, observer in LIGHTS:
        colours = lab(
            xyz(rows, weights(illuminant, observer, grid)), white(illuminant, observer, grid)
        )
        for row, (label, colour) in enumerate(zip(spectra.labels, colours, strict=False), 1):
            figures = " ".join(f"{value:.3f}" for value in colour)
            yield f"    {row} {label}: L*a*b* {figures} ({illuminant}/{observer}°)"


def milliseconds(start: float) -> str:
    """Return the time since a start."""
    return f"{(time.perf_counter() - start) * 1e3:.1f} ms"


def main(folder: str) -> None:
    """Print what becomes of every file of a folder."""
    for path in sorted(Path(folder).iterdir()):
        if path.is_file():
            sys.stdout.write(f"== {path.name}\n")
            for line in described(path.read_bytes(), path.name):
                sys.stdout.write(f"{line}\n")


if __name__ == "__main__":
    main(sys.argv[1])
