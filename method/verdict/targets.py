"""What specimens are compared with: the colours of the targets under a tolerance's light."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from colorimetry import Grid
from method.facts import Lab, Numbers, ReferenceFacts, TargetFacts
from method.submission import Submission
from method.verdict.rules import DifferenceItem, Rules
from method.verdict.spectra import Floats, Spectra, lab_of, mean


@dataclass(frozen=True)
class TargetColour:
    """CIELAB (1, 3) of one target; `label` tells several apart ("" where there is one)."""

    label: str
    lab: Floats


def target_colours(
    item: DifferenceItem, rules: Rules, submission: Submission, spectra: Spectra, grid: Grid
) -> tuple[TargetColour, ...]:
    """The targets of an item that can be computed; the evidence check names what is missing."""
    if item.compared_with == "target" and rules.clauses.references.target == "numbers":
        return tuple(_agreed_numbers(item, rules))
    found = []
    for target in submission.conditions.targets:
        if target.compared_with == item.compared_with and fits_geometry(target, item):
            colour = _colour(target, item, rules, submission, spectra, grid)
            if colour is not None:
                found.append(TargetColour(target.label or "", colour))
    return tuple(found)


def fits_geometry(target: TargetFacts, item: DifferenceItem) -> bool:
    """Whether a target was read at the item's geometry, as far as either says one."""
    return None in (target.geometry, item.geometry) or target.geometry == item.geometry


def reference_of(submission: Submission, id: str | None) -> ReferenceFacts | None:
    """The reference of a content id; None for None (unknown ids do not pass the document)."""
    known = {reference.id: reference for reference in submission.conditions.references}
    return known.get(id or "")


def offset_of(
    target: TargetFacts, item: DifferenceItem, rules: Rules, submission: Submission
) -> Lab | None:
    """The offset to take off a duplicate's reading; None where the terms apply none or it is
    not on record."""
    if not applies_offset(target, rules):
        return None
    reference = reference_of(submission, target.reference)
    return _numbers(reference.offsets if reference else (), item)


def applies_offset(target: TargetFacts, rules: Rules) -> bool:
    """Whether the terms take a duplicate's offset off this target's reading."""
    return (
        target.source == "duplicate"
        and target.compared_with == "target"
        and rules.clauses.references.offset_applied
    )


def _colour(
    target: TargetFacts,
    item: DifferenceItem,
    rules: Rules,
    submission: Submission,
    spectra: Spectra,
    grid: Grid,
) -> Floats | None:
    if target.packed is None:
        given = _numbers(target.numbers, item)
        return None if given is None else _row(given)
    if not target.rows or not spectra.fits(target.packed, grid):
        return None
    reading = mean(spectra.rows(target.packed, target.rows, grid))
    colour = lab_of(np.array([reading]), grid, item.illuminant, item.observer)
    if not applies_offset(target, rules):
        return colour
    offset = offset_of(target, item, rules, submission)
    return None if offset is None else colour - _row(offset)


def _numbers(numbers: tuple[Numbers, ...], item: DifferenceItem) -> Lab | None:
    wanted = (item.illuminant, str(item.observer))
    return next((one.lab for one in numbers if (one.illuminant, one.observer) == wanted), None)


def _agreed_numbers(item: DifferenceItem, rules: Rules) -> Iterator[TargetColour]:
    """The numbers given in clause 4 for the item's light."""
    for value in rules.clauses.references.target_values:
        light = (value.illuminant, value.observer)
        numbers = (value.l_star, value.a_star, value.b_star)
        if light == (item.illuminant, str(item.observer)) and None not in numbers:
            row = [float(number) for number in numbers if number is not None]
            yield TargetColour("", np.array([row]))


def _row(lab: Lab) -> Floats:
    return np.array([[float(lab.L), float(lab.a), float(lab.b)]])
