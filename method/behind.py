"""What the numbers of a verdict were computed from: spectra, targets, colours, the sample.

Made again from the same frozen bytes by the functions that judged, for figures; a verdict holds
the differences alone. Nothing here decides.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from colorimetry import DomainError, Grid
from method.judge import opened
from method.submission import Submission
from method.terms.models.decision import SamplingKind
from method.verdict.errors import JudgeError
from method.verdict.instrument import Readings
from method.verdict.rules import DifferenceItem, Rules
from method.verdict.spectra import (
    Row,
    Spectra,
    common_grid,
    computable,
    lab_of,
    mean,
    mean_spectra,
    specimen_rows,
)
from method.verdict.targets import fits_geometry, target_colours

Colour = tuple[float, float, float]


@dataclass(frozen=True)
class Reflectances:
    """Mean reflectance factors (1 = perfect diffuser) at one geometry, over `wavelengths` in nm.

    `target`: of the readings that specimens are compared with; None where the target is numbers,
    is not read, or there are several. `specimens`: by label.
    """

    geometry: str | None
    wavelengths: tuple[int, ...]
    target: Row | None
    specimens: dict[str, Row]


@dataclass(frozen=True)
class Colours:
    """CIELAB of one target and of the specimens (by label) under the light of one tolerance.

    `label` tells several targets of one tolerance apart.
    """

    item: DifferenceItem
    label: str
    target: Colour
    specimens: dict[str, Colour]


@dataclass(frozen=True)
class Sample:
    """How many pieces of a lot are judged, and how many of them may not conform."""

    kind: SamplingKind | None
    lot: int
    pieces: int
    acceptance: int


@dataclass(frozen=True)
class Behind:
    """Everything of one submission, in the order of the terms' items."""

    reflectances: tuple[Reflectances, ...]
    colours: tuple[Colours, ...]
    sample: Sample | None


def behind(terms: bytes, submission: bytes, blobs: Mapping[str, bytes]) -> Behind:
    """What stands behind the verdict on the same three inputs. Raises JudgeError as `judge`."""
    handed_in, rules, spectra = opened(terms, submission, blobs)
    sample = _sample(handed_in, rules)
    grid = rules.grid or common_grid(handed_in, spectra)
    if grid is None or not handed_in.measured:
        return Behind((), (), sample)
    by_geometry: dict[str | None, Readings] = {}
    for item in rules.differences:
        if item.geometry not in by_geometry:
            rows = specimen_rows(handed_in, spectra, grid, item.geometry)
            by_geometry[item.geometry] = Readings(rows, mean_spectra(rows, grid))
    read = {name: found for name, found in by_geometry.items() if found.rows}
    try:
        colours = tuple(
            one
            for item in rules.differences
            if item.geometry in read
            for one in _colours(item, read[item.geometry], rules, handed_in, spectra, grid)
        )
    except DomainError as error:
        raise JudgeError("colour_unknown", str(error)) from None
    return Behind(tuple(_reflectances(read, rules, handed_in, spectra, grid)), colours, sample)


def _sample(submission: Submission, rules: Rules) -> Sample | None:
    if submission.purpose != "lot" or submission.lot is None:
        return None
    kind = rules.clauses.decision.sampling_kind
    return Sample(kind, submission.lot.quantity, rules.specimens, rules.acceptance)


def _reflectances(
    read: Mapping[str | None, Readings],
    rules: Rules,
    submission: Submission,
    spectra: Spectra,
    grid: Grid,
) -> Iterator[Reflectances]:
    for geometry, readings in read.items():
        means = dict(zip(readings.rows, readings.means.tolist(), strict=True))
        targets = list(_target_rows(geometry, rules, submission, spectra, grid))
        target = targets[0] if len(targets) == 1 else None
        yield Reflectances(geometry, tuple(grid.wavelengths()), target, means)


def _target_rows(
    geometry: str | None, rules: Rules, submission: Submission, spectra: Spectra, grid: Grid
) -> Iterator[Row]:
    """The mean reading of each target that an item of this geometry is compared with."""
    items = [
        one
        for one in rules.differences
        if one.geometry == geometry and one.compared_with == "target"
    ]
    for target in submission.conditions.targets:
        if target.compared_with != "target" or target.packed is None or not target.rows:
            continue
        due = any(fits_geometry(target, item) for item in items)
        if due and spectra.fits(target.packed, grid):
            yield mean(spectra.rows(target.packed, target.rows, grid))


def _colours(
    item: DifferenceItem,
    readings: Readings,
    rules: Rules,
    submission: Submission,
    spectra: Spectra,
    grid: Grid,
) -> Iterator[Colours]:
    """Nothing for pieces compared with each other: they have no target."""
    if not computable(grid, item.illuminant, item.observer):
        return
    targets = target_colours(item, rules, submission, spectra, grid)
    if not targets:
        return
    table = lab_of(readings.means, grid, item.illuminant, item.observer).tolist()
    specimens = {
        label: (row[0], row[1], row[2]) for label, row in zip(readings.rows, table, strict=True)
    }
    for target in targets:
        lightness, a, b = target.lab[0].tolist()
        yield Colours(item, target.label, (lightness, a, b), specimens)
