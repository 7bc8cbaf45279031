"""Import of virtual specimens from a licensed copy of ISO/CIE 23603: checked, never shipped.

The standard is sold with its tables; nothing of them stands in this package. A user types or
exports them as text: one row per wavelength, one column per specimen, with or without the
wavelength in front. What is imported must match in pairs under the illuminant it is named for:
that finds columns in the wrong order, rows left out and tables of another illuminant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from colorimetry.arrays import Floats
from colorimetry.errors import DomainError
from colorimetry.light.daylight import named_daylight
from colorimetry.spectral_power import colour_matching
from colorimetry.tristimulus import lab
from colorimetry.weights import Grid

VISIBLE = Grid(380, 780, 5)
EXCITATION = Grid(300, 460, 5)  # from memory: check your copy of the standard
VISIBLE_PAIRS, ULTRAVIOLET_PAIRS = 5, 3  # CIE S 012 (ISO 23603)
MATCH = 0.05  # dE*ab; chosen here: the tables are printed to few decimals
ALIKE = 0.005  # in radiance factor; a pair that differs by less is one specimen given twice
_LONGEST = 100_000  # characters


@dataclass(frozen=True, eq=False)
class VisiblePairs:
    """Five standards and five comparison specimens, reflectance factors (5, 81), for one light."""

    illuminant: str
    standards: Floats
    comparisons: Floats


@dataclass(frozen=True, eq=False)
class UltravioletPairs:
    """Three standards and three fluorescent specimens for one light.

    standards: radiance factors (3, 81) without fluorescence; reflected: reflected radiance factors
    (3, 81); excitation: external radiant efficiency (3, 33) at 300 to 460 nm; emission: relative
    emission (3, 81). The structure is from memory: check your copy of the standard.
    """

    illuminant: str
    standards: Floats
    reflected: Floats
    excitation: Floats
    emission: Floats


def read_visible(standards: str, comparisons: str, illuminant: str) -> VisiblePairs:
    """Return the visible pairs of D50, D55, D65 or D75 from two texts of 81 rows by 5 columns.

    380 to 780 nm at 5 nm. Cells are separated by tab, semicolon or comma; a decimal comma is
    understood beside the first two; lines that begin with # and one heading line are left out.
    Raises DomainError naming table, row and column for shapes, wavelengths and values that do not
    fit and for pairs that do not match under the illuminant; GridError for other illuminants.
    """
    pairs = VisiblePairs(
        illuminant,
        _factors(standards, "standards", VISIBLE_PAIRS),
        _factors(comparisons, "comparison specimens", VISIBLE_PAIRS),
    )
    _check_unlike("comparison specimens", pairs.standards, pairs.comparisons)
    light = light_of(illuminant)
    _check_match("comparison specimens", light, pairs.standards * light, pairs.comparisons * light)
    return pairs


def read_ultraviolet(
    standards: str, reflected: str, excitation: str, emission: str, illuminant: str
) -> UltravioletPairs:
    """Return the ultraviolet pairs of one illuminant from four texts of 3 columns.

    standards, reflected and emission have 81 rows (380 to 780 nm), excitation 33 (300 to 460 nm).
    Texts and errors as ``read_visible``.
    """
    pairs = UltravioletPairs(
        illuminant,
        _factors(standards, "ultraviolet standards", ULTRAVIOLET_PAIRS),
        _factors(reflected, "reflected radiance factors", ULTRAVIOLET_PAIRS),
        _table(excitation, "excitation", EXCITATION, ULTRAVIOLET_PAIRS),
        _table(emission, "emission", VISIBLE, ULTRAVIOLET_PAIRS),
    )
    for what, table in (("excitation", pairs.excitation), ("emission", pairs.emission)):
        empty = ~table.any(axis=1)
        if empty.any():
            band = int(np.argmax(empty))
            raise DomainError(what, "range", band=band, detail="a column of zeros")
    light, full = light_of(illuminant), named_daylight(illuminant).values
    stimuli = fluorescent_stimuli(pairs, full)
    _check_match("fluorescent specimens", light, pairs.standards * light, stimuli)
    return pairs


def light_of(illuminant: str) -> Floats:
    """Return the named daylight illuminant at 380 to 780 nm, 5 nm, (81,)."""
    return named_daylight(illuminant).values[16:]


def fluorescent_stimuli(pairs: UltravioletPairs, power: Floats) -> Floats:
    """Return what leaves the fluorescent specimens, (3, 81), under power (97,) at 300 to 780 nm.

    Reflected light plus emission, the latter in proportion to the sum of excitation times power
    over 300 to 460 nm (times 5 nm). From memory: check your copy of the standard.
    """
    caught = EXCITATION.step * np.einsum(
        "pw,w->p", pairs.excitation, power[: pairs.excitation.shape[1]]
    )
    stimuli: Floats = pairs.reflected * power[16:] + caught[:, None] * pairs.emission
    return stimuli


def stimuli_xyz(stimuli: Floats, power: Floats) -> tuple[Floats, Floats]:
    """Return XYZ (n, 3) of stimuli (n, 81) and the white (3,), Y = 100, of power (81,).

    Plain sums at 5 nm, 380 to 780 nm, 10 degree observer: ISO/CIE 23603.
    """
    functions = colour_matching(10)[:, 20::5]
    found = np.einsum("nw,cw->nc", np.vstack((power, stimuli)), functions)
    found *= 100.0 / found[0, 1]
    return found[1:], found[0]


def _check_unlike(what: str, standards: Floats, specimens: Floats) -> None:
    """Refuse a pair whose two spectra are the same: it would match under any light."""
    alike = np.abs(standards - specimens).max(axis=1) < ALIKE
    if alike.any():
        detail = "the same spectrum as its standard; was one file given twice?"
        raise DomainError(what, "range", band=int(np.argmax(alike)), detail=detail)


def _check_match(what: str, light: Floats, standards: Floats, specimens: Floats) -> None:
    """Refuse pairs that do not match under their own illuminant."""
    (first, white), (second, _) = stimuli_xyz(standards, light), stimuli_xyz(specimens, light)
    off = np.linalg.norm(lab(first, white) - lab(second, white), axis=1)
    if off.max() >= MATCH:
        band = int(np.argmax(off >= MATCH))
        detail = f"dE*ab {float(off[band]):.3f} to its standard under the named illuminant"
        raise DomainError(what, "range", band=band, detail=f"{detail}; below {MATCH} expected")


def _factors(text: str, what: str, columns: int) -> Floats:
    """Return radiance factors (columns, 81) between 0 and 1."""
    table = _table(text, what, VISIBLE, columns)
    above = table > 1.0
    if above.any():
        band, row = (int(i) for i in np.argwhere(above)[0])
        detail = f"{float(table[band, row]):g} is above 1 (the perfect diffuser is 1, not 100)"
        raise DomainError(what, "range", row=row, band=band, detail=detail)
    return table


def _table(text: str, what: str, grid: Grid, columns: int) -> Floats:
    """Return the numbers of a text, (columns, len(grid)), none below zero."""
    if not isinstance(text, str):
        raise DomainError(what, "type", detail="a text expected")
    if len(text) > _LONGEST:
        raise DomainError(what, "shape", detail=f"more than {_LONGEST} characters")
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip(" \t,;")]
    cells = [_cells(line) for line in lines if not line.lstrip().startswith("#")]
    if cells and not _is_number(cells[0][0]):
        cells = cells[1:]
    if len(cells) != len(grid):
        detail = f"{len(grid)} rows expected ({grid.start} to {grid.stop} nm), got {len(cells)}"
        raise DomainError(what, "shape", detail=detail)
    with_wavelength = len(cells[0]) == columns + 1
    width = columns + with_wavelength
    rows = []
    for row, (nm, line) in enumerate(zip(grid.wavelengths(), cells, strict=True)):
        if len(line) != width:
            detail = f"{columns} columns (and the wavelength) expected, got {len(line)}"
            raise DomainError(what, "shape", row=row, detail=detail)
        if with_wavelength and _number(line[0], what, row, None) != nm:
            raise DomainError(what, "range", row=row, detail=f"wavelength {nm} nm expected")
        values = line[with_wavelength:]
        rows.append([_number(cell, what, row, band) for band, cell in enumerate(values)])
    table = np.ascontiguousarray(np.array(rows).T)
    if np.array_equal(table[0], grid.wavelengths()):
        detail = f"{columns} columns beside the wavelength expected, got {columns - 1}"
        raise DomainError(what, "shape", detail=detail)
    return table


def _cells(line: str) -> list[str]:
    """Return the cells of one line."""
    for mark in ("\t", ";"):
        if mark in line:
            return [cell.strip().replace(",", ".") for cell in line.split(mark)]
    return [cell.strip() for cell in line.split(",")]


def _is_number(cell: str) -> bool:
    """Whether a cell is a number (also one that is not finite)."""
    try:
        float(cell)
    except ValueError:
        return False
    return True


def _number(cell: str, what: str, row: int, band: int | None) -> float:
    """Return a cell's number, finite and not below zero; DomainError with its place if not."""
    if not _is_number(cell) or "_" in cell:
        raise DomainError(what, "type", row=row, band=band, detail=f"{cell[:20]!r} is no number")
    value = float(cell)
    if not math.isfinite(value):
        raise DomainError(what, "nan" if math.isnan(value) else "inf", row=row, band=band)
    if value < 0:
        raise DomainError(what, "range", row=row, band=band, detail=f"{value:g} is below 0")
    return value + 0.0
