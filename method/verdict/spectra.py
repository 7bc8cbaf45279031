"""Spectra of specimens and target on the agreed grid, and their colours.

Sums over readings are exact (`math.fsum`), so a mean has the same bits in whatever order the
readings came; sums over wavelengths are `einsum`'s (see `colorimetry.tristimulus`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from colorimetry import Grid, GridError, lab, weights, white, xyz
from method.packed import PackedError, PackedSet, unpack
from method.submission import Submission
from method.verdict.errors import JudgeError

Floats: TypeAlias = npt.NDArray[np.float64]
Row: TypeAlias = list[float]
PlacedRows: TypeAlias = list[tuple[str, Row]]


@dataclass(frozen=True)
class Spectra:
    """Packed sets by digest, unpacked once each. `fetch` gives the bytes of a blob."""

    fetch: Callable[[str], bytes]
    _open: dict[str, PackedSet] = field(default_factory=dict)

    def packed(self, digest: str) -> PackedSet:
        """The packed set of this digest. Raises JudgeError `packed_unreadable`."""
        if digest not in self._open:
            try:
                self._open[digest] = unpack(self.fetch(digest))
            except PackedError as error:
                raise JudgeError("packed_unreadable", f"{digest}: {error}") from None
        return self._open[digest]

    def fits(self, digest: str, grid: Grid | None) -> bool:
        """Whether the set holds every wavelength of the grid; nothing is interpolated."""
        if grid is None:
            return False
        return set(grid.wavelengths()) <= set(self.packed(digest).wavelengths)

    def rows(self, digest: str, rows: Iterable[int], grid: Grid) -> list[Row]:
        """Reflectance factors (rows, bands of the grid) of a set that fits.

        Raises JudgeError `row_unknown` for a row the set does not have.
        """
        packed = self.packed(digest)
        where = {wavelength: n for n, wavelength in enumerate(packed.wavelengths)}
        columns = [where[wavelength] for wavelength in grid.wavelengths()]
        wanted = list(rows)
        if wanted and max(wanted) >= len(packed.labels):
            raise JudgeError("row_unknown", f"{digest}: row {max(wanted)}")
        table: list[Row] = packed.values[wanted][:, columns].tolist()
        return table


def mean(rows: list[Row]) -> Row:
    """Mean spectrum (bands) of readings (rows, bands): exact sums, one division each."""
    return [math.fsum(column) / len(rows) for column in zip(*rows, strict=True)]


def common_grid(submission: Submission, spectra: Spectra) -> Grid | None:
    """The wavelengths that all sets of a submission share, where the terms say no grid."""
    digests = {measured.packed for measured in submission.measured}
    digests |= {one.packed for one in submission.conditions.targets if one.packed is not None}
    shared: set[int] | None = None
    for digest in sorted(digests):
        here = set(spectra.packed(digest).wavelengths)
        shared = here if shared is None else shared & here
    try:
        return Grid.of(sorted(shared or ()))
    except GridError:
        return None


def computable(grid: Grid, illuminant: str, observer: int) -> bool:
    """Whether the engine carries weights for a grid, illuminant and colorimetric observer."""
    try:
        weights(illuminant, observer, grid)
    except GridError:
        return False
    return True


def specimen_rows(
    submission: Submission, spectra: Spectra, grid: Grid, geometry: str | None
) -> dict[str, PlacedRows]:
    """(place, reflectance factors) of every reading by specimen, at `geometry` (None: at any).

    Readings without a place stand each for themselves. Sets that cannot give the grid are left
    out; the evidence check names them.
    """
    gathered: dict[str, PlacedRows] = {}
    for measured in submission.measured:
        if geometry is not None and measured.condition.geometry not in (None, geometry):
            continue
        if not spectra.fits(measured.packed, grid):
            continue
        rows = spectra.rows(measured.packed, (r.row for r in measured.readings), grid)
        for reading, row in zip(measured.readings, rows, strict=True):
            place = reading.place or f"{measured.id}/{reading.row}"
            gathered.setdefault(reading.specimen, []).append((place, row))
    return {label: gathered[label] for label in sorted(gathered)}


def mean_spectra(rows: dict[str, PlacedRows], grid: Grid) -> Floats:
    """Mean spectra (n, bands) of specimens in the order of `rows`."""
    means = [mean([row for _, row in placed]) for placed in rows.values()]
    return np.array(means, dtype=np.float64).reshape(len(means), len(grid))


def place_spectra(placed: PlacedRows, grid: Grid) -> Floats:
    """Mean spectra (places, bands) of one specimen, by place."""
    gathered: dict[str, list[Row]] = {}
    for place, row in placed:
        gathered.setdefault(place, []).append(row)
    means = [mean(gathered[place]) for place in sorted(gathered)]
    return np.array(means, dtype=np.float64).reshape(len(means), len(grid))


def lab_of(reflectance: Floats, grid: Grid, illuminant: str, observer: int) -> Floats:
    """CIELAB (n, 3) of reflectance factors (n, bands) under a light. GridError without weights."""
    table = weights(illuminant, observer, grid)
    return lab(xyz(reflectance, table), white(illuminant, observer, grid))
