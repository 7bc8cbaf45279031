"""The instrumental part: colour differences, their zones, and the outcome per specimen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import numpy as np

from colorimetry import DomainError, Grid, ciede2000
from ledger.canonical import decimal_text
from method.reasons import Reason, because
from method.submission import Submission
from method.verdict.errors import JudgeError
from method.verdict.rules import DifferenceItem, Rules
from method.verdict.spectra import (
    Floats,
    PlacedRows,
    Spectra,
    computable,
    lab_of,
    mean_spectra,
    place_spectra,
    specimen_rows,
)
from method.verdict.targets import target_colours
from method.verdict.zones import Outcome, Zone, settled, worst


@dataclass(frozen=True)
class Value:
    """One printed colour difference of a specimen, and the zone it lies in."""

    item: DifferenceItem
    specimen: str
    label: str
    value: Decimal
    zone: Zone

    def plain(self) -> dict[str, Any]:
        """As the verdict shows it, beside its item."""
        plain: dict[str, Any] = {
            "specimen": self.specimen,
            "value": decimal_text(self.value),
            "zone": self.zone,
        }
        if self.label:
            plain["compared_with"] = self.label
        if self.item.warning is not None and self.value > self.item.warning:
            plain["warning"] = True
        return plain

    def why(self) -> Reason | None:
        """The reason this value gives; None within."""
        if self.zone == "within":
            return None
        return because(
            "value_beyond" if self.zone == "beyond" else "value_between",
            item=self.item.id,
            specimen=self.specimen,
            illuminant=self.item.illuminant,
            value=decimal_text(self.value),
            limit=decimal_text(self.item.limit.limit),
            uncertainty=decimal_text(self.item.limit.uncertainty),
        )


@dataclass(frozen=True)
class Instrument:
    """All values by item, in the items' order, and the grid they were computed on."""

    grid: Grid | None
    values: tuple[Value, ...]
    handed_in: bool

    def outcomes(self, rules: Rules) -> dict[str, Outcome]:
        """Outcome per specimen by label: the worst of its values under the rule.

        A specimen without a value for one of the items is at best inconclusive.
        """
        gathered: dict[str, list[Outcome]] = {}
        found: dict[str, set[str]] = {}
        for value in self.values:
            outcome = settled(value.zone, rules.rule, rules.holder)
            gathered.setdefault(value.specimen, []).append(outcome)
            found.setdefault(value.specimen, set()).add(value.item.id)
        for label, items in found.items():
            if len(items) < len(rules.differences):
                gathered[label].append("inconclusive")
        return {label: worst(tuple(gathered[label])) for label in sorted(gathered)}

    def of_item(self, item: DifferenceItem) -> tuple[Value, ...]:
        """The values of one item, by specimen."""
        return tuple(value for value in self.values if value.item.id == item.id)


@dataclass(frozen=True, eq=False)
class Readings:
    """Readings by specimen at one geometry, and their mean spectra (n, bands) in that order."""

    rows: dict[str, PlacedRows]
    means: Floats


def measure(
    submission: Submission, rules: Rules, spectra: Spectra, grid: Grid | None
) -> Instrument:
    """Every value of every item, quantised once to the item's decimals.

    Items and sets that cannot be computed give no value; the evidence check says why.
    """
    if grid is None or not submission.measured:
        return Instrument(grid, (), bool(submission.measured))
    by_geometry: dict[str | None, Readings] = {}
    found: list[Value] = []
    for item in rules.differences:
        if item.geometry not in by_geometry:
            rows = specimen_rows(submission, spectra, grid, item.geometry)
            by_geometry[item.geometry] = Readings(rows, mean_spectra(rows, grid))
        readings = by_geometry[item.geometry]
        if readings.rows and computable(grid, item.illuminant, item.observer):
            found.extend(_values(item, readings, rules, submission, spectra, grid))
    return Instrument(grid, tuple(found), True)


def _values(
    item: DifferenceItem,
    readings: Readings,
    rules: Rules,
    submission: Submission,
    spectra: Spectra,
    grid: Grid,
) -> Iterator[Value]:
    labels = list(readings.rows)
    try:
        if item.compared_with == "within_piece":
            yield from _within(item, readings.rows, grid)
            return
        colours = lab_of(readings.means, grid, item.illuminant, item.observer)
        if item.compared_with == "among_pieces":
            yield from _named(item, labels, _spread(colours, item), "")
            return
        for target in target_colours(item, rules, submission, spectra, grid):
            yield from _named(item, labels, _apart(target.lab, colours, item), target.label)
    except DomainError as error:
        raise JudgeError("colour_unknown", f"item {item.id}: {error}") from None


def _within(item: DifferenceItem, rows: dict[str, PlacedRows], grid: Grid) -> Iterator[Value]:
    """For each specimen the greatest difference between any two of its places."""
    for label, placed in rows.items():
        colours = lab_of(place_spectra(placed, grid), grid, item.illuminant, item.observer)
        if len(colours) > 1:
            yield from _named(item, [label], [max(_spread(colours, item))], "")


def _named(
    item: DifferenceItem, specimens: list[str], values: list[float], label: str
) -> Iterator[Value]:
    for specimen, value in zip(specimens, values, strict=bool(values)):
        printed = item.limit.print(value)
        yield Value(item, specimen, label, printed, item.limit.zone(printed))


def _spread(colours: Floats, item: DifferenceItem) -> list[float]:
    """For each colour (n, 3) its greatest difference from any other; nothing for a single one."""
    if len(colours) < 2:
        return []
    return [
        max(_apart(colours[[n]], np.delete(colours, n, axis=0), item)) for n in range(len(colours))
    ]


def _apart(target: Floats, colours: Floats, item: DifferenceItem) -> list[float]:
    """CIEDE2000 (n) of colours (n, 3) from the target (1, 3), with the item's factors."""
    k_l, k_c, k_h = (float(factor) for factor in item.factors)
    result: list[float] = ciede2000(target, colours, k_l=k_l, k_c=k_c, k_h=k_h).tolist()
    return result


def zone_reasons(instrument: Instrument, rules: Rules) -> Iterator[Reason]:
    """At rejection: to whom the values in the zone between went."""
    between = sum(value.zone == "between" for value in instrument.values)
    if rules.rule == "rejection" and between and rules.holder == "supplier":
        yield because("zone_to_supplier", count=between)
    if rules.rule == "rejection" and between and rules.holder == "customer":
        yield because("zone_to_customer", count=between)
