"""Evidence check of spectral readings: instrument, condition, grid, counts, target."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from ledger.canonical import decimal_text
from method.days import months_after
from method.facts import InstrumentFacts, TargetFacts
from method.reasons import Reason, because
from method.routing_references import reference_reasons
from method.submission import Measured, Submission
from method.terms.models import Measurement
from method.verdict.instrument import Instrument
from method.verdict.rules import AMONG, DifferenceItem, Rules
from method.verdict.spectra import Spectra, computable, specimen_rows
from method.verdict.targets import applies_offset, fits_geometry, offset_of, reference_of


def measurement_reasons(
    submission: Submission, rules: Rules, spectra: Spectra, found: Instrument
) -> Iterator[Reason]:
    """Everything about the readings handed in that is unlike clauses 4, 5 and 7."""
    if not submission.measured:
        yield because("readings_missing")
        return
    instruments = {one.id: one for one in submission.conditions.instruments}
    for measured in submission.measured:
        yield from _instrument(measured, instruments[measured.instrument], rules)
        yield from _condition(measured, rules.clauses.measurement)
        if not spectra.fits(measured.packed, found.grid):
            wavelengths = spectra.packed(measured.packed).wavelengths
            yield because(
                "grid_unlike", file=measured.name, found=span(wavelengths), agreed=_agreed(found)
            )
    for item in rules.differences:
        yield from _item(item, submission, rules, spectra, found)
    yield from _counts(submission, rules, spectra, found)


def _instrument(measured: Measured, facts: InstrumentFacts, rules: Rules) -> Iterator[Reason]:
    clause, day = rules.clauses.measurement, measured.measured_on
    due = calibration_due(facts, clause)
    if due is None and clause.calibration_months is not None:
        yield because("calibration_unknown", instrument=facts.code)
    elif due is not None and day > due:
        yield because("calibration_overdue", instrument=facts.code, due=due, day=day)
    most = clause.repeatability_max
    if most is not None and facts.repeatability is None:
        yield because("repeatability_unknown", instrument=facts.code)
    elif most is not None and facts.repeatability is not None and facts.repeatability > most:
        texts = {"found": decimal_text(facts.repeatability), "agreed": decimal_text(most)}
        yield because("repeatability_over", instrument=facts.code, **texts)


def calibration_due(facts: InstrumentFacts, clause: Measurement) -> date | None:
    """The last day the calibration is good: the earlier of the terms' and the owner's."""
    days = [] if facts.calibration_due is None else [facts.calibration_due]
    if clause.calibration_months is not None:
        if facts.calibrated_on is None:
            return None
        days.append(months_after(facts.calibrated_on, clause.calibration_months))
    return min(days, default=None)


def _condition(measured: Measured, clause: Measurement) -> Iterator[Reason]:
    """What the set says of how it was taken, against what clause 5 says; silence is a fault."""
    said = measured.condition
    exact = (
        ("geometry", said.geometry, clause.geometries),
        ("uv", said.uv, (clause.uv,) if clause.uv else ()),
        ("backing", said.backing, (clause.backing,) if clause.backing else ()),
    )
    for field, found, agreed in exact:
        if agreed and found not in agreed:
            yield _unlike(measured, field, found, ", ".join(agreed))
    least, most = clause.temperature_min_c, clause.temperature_max_c
    ranges = (
        ("aperture_mm", said.aperture_mm, clause.aperture_min_mm, None),
        ("temperature_c", said.temperature_c, least, most),
        ("age_hours", said.age_hours, clause.age_hours_min, None),
        ("hours_since_white", said.hours_since_white, None, clause.calibration_hours),
    )
    for field, number, low, high in ranges:
        if low is None and high is None:
            continue
        inside = number is not None and (low is None or number >= low)
        inside = inside and number is not None and (high is None or number <= high)
        if not inside:
            found = None if number is None else decimal_text(number)
            yield _unlike(measured, field, found, f"{_bound(low)}–{_bound(high)}")


def _bound(value: object) -> str:
    return "" if value is None else str(value)


def _unlike(measured: Measured, field: str, found: str | None, agreed: str) -> Reason:
    if found is None:
        return because("condition_unsaid", file=measured.name, field=field, agreed=agreed)
    return because("condition_unlike", file=measured.name, field=field, found=found, agreed=agreed)


def _item(
    item: DifferenceItem,
    submission: Submission,
    rules: Rules,
    spectra: Spectra,
    found: Instrument,
) -> Iterator[Reason]:
    """What stands in the way of computing one tolerance item."""
    reasons: list[Reason] = []
    if found.grid is not None and not computable(found.grid, item.illuminant, item.observer):
        grid = span(tuple(found.grid.wavelengths()))
        reasons.append(because("grid_not_computable", grid=grid, illuminant=item.illuminant))
    elif item.compared_with not in AMONG:
        reasons.extend(_target(item, submission, rules, spectra, found))
    yield from reasons
    if not reasons and not found.of_item(item):
        yield because("no_value", item=item.id, illuminant=item.illuminant)


def _target(
    item: DifferenceItem,
    submission: Submission,
    rules: Rules,
    spectra: Spectra,
    found: Instrument,
) -> Iterator[Reason]:
    agreed = rules.clauses.references.target if item.compared_with == "target" else None
    if agreed == "numbers":
        return
    targets = [
        target
        for target in submission.conditions.targets
        if target.compared_with == item.compared_with and fits_geometry(target, item)
    ]
    if not targets:
        yield because("target_missing", compared_with=item.compared_with)
    for target in targets:
        if agreed is not None and target.source != agreed:
            yield because("target_unlike", source=target.source, agreed=agreed)
        if target.packed is not None and not spectra.fits(target.packed, found.grid):
            wavelengths = spectra.packed(target.packed).wavelengths
            yield because("target_grid_unlike", found=span(wavelengths), agreed=_agreed(found))
        if applies_offset(target, rules) and offset_of(target, item, rules, submission) is None:
            yield because("target_offset_missing", illuminant=item.illuminant)
        yield from _target_reference(target, submission, rules)


def _target_reference(
    target: TargetFacts, submission: Submission, rules: Rules
) -> Iterator[Reason]:
    """A fresh reading needs a reference that is good on its day; a stored one was read before."""
    reference = reference_of(submission, target.reference)
    if target.source == "duplicate" and reference is not None:
        day = target.read_on or submission.submitted_at.date()
        yield from reference_reasons(reference, rules.clauses.references, day)


def _counts(
    submission: Submission, rules: Rules, spectra: Spectra, found: Instrument
) -> Iterator[Reason]:
    """Readings per specimen at each geometry, and specimens with a value for every item."""
    measured = {reading.specimen for one in submission.measured for reading in one.readings}
    needed = rules.clauses.measurement.readings
    geometries = sorted({item.geometry or "" for item in rules.differences}) or [""]
    for geometry in geometries:
        if needed is None or found.grid is None:
            break
        rows = specimen_rows(submission, spectra, found.grid, geometry or None)
        for label in sorted(measured):
            readings = len(rows.get(label, ()))
            if readings < needed:
                yield because("readings_too_few", specimen=label, readings=readings, needed=needed)
    complete = Counter(one for item in rules.differences for one in _valued(item, found))
    specimens = sum(count == len(rules.differences) for count in complete.values())
    if not rules.differences:
        specimens = len(measured)
    due = rules.needed("spectral")
    if specimens < due:
        yield because("specimens_measured_too_few", specimens=specimens, needed=due)


def _valued(item: DifferenceItem, found: Instrument) -> set[str]:
    return {value.specimen for value in found.of_item(item)}


def _agreed(found: Instrument) -> str:
    return "" if found.grid is None else span(tuple(found.grid.wavelengths()))


def span(wavelengths: tuple[int, ...]) -> str:
    """Wavelengths in nm as "first–last/step"; without a step where it is not even."""
    steps = {b - a for a, b in pairwise(wavelengths)}
    step = f"/{steps.pop()}" if len(steps) == 1 else ""
    return f"{wavelengths[0]}–{wavelengths[-1]}{step}"
