"""The conditions under which a submission's evidence came about, in words: (label, value) rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext

from ledger.canonical import decimal_text
from method.facts import BoothFacts, InstrumentFacts, Lab, ReferenceFacts
from method.submission import Measured, Submission
from method.terms.models.measurement import MEASURING_BACKING_WORDS, UV_WORDS
from method.terms.models.references import KIND_WORDS
from method.terms.models.tolerances import GEOMETRY_WORDS


@dataclass(frozen=True)
class Fact:
    """One condition: `group` (booth, instrument, …), what, and its value with unit."""

    group: str
    label: str
    value: str
    sort: str  # id: booth, instrument, reference, readings, sitting
    thing: str  # the same in words


def conditions(document: Submission) -> list[Fact]:
    """Every condition that the submission froze, grouped; what is unknown is left out."""
    facts: list[Fact] = []
    for booth in document.conditions.booths:
        facts += _facts(gettext("Booth"), booth.code, _booth(booth), "booth")
    for instrument in document.conditions.instruments:
        facts += _facts(
            gettext("Instrument"), instrument.code, _instrument(instrument), "instrument"
        )
    for reference in document.conditions.references:
        facts += _facts(gettext("Reference"), reference.code, _reference(reference), "reference")
    for measured in document.measured:
        facts += _facts(gettext("Readings"), measured.name, _measured(measured), "readings")
    for sitting in document.sittings:
        rows = [
            (gettext("Day at the booth"), f"{sitting.day.isoformat()} ({sitting.zone})"),
            (gettext("Lights"), ", ".join(sitting.illuminants)),
            (gettext("Lamps warmed up"), _minutes(sitting.warm_up_minutes)),
            (gettext("Observers adapted"), _minutes(sitting.adaptation_minutes)),
            (gettext("Observers"), ", ".join(sorted({j.observer for j in sitting.judgements}))),
        ]
        facts += _facts(gettext("Sitting"), sitting.day.isoformat(), iter(rows), "sitting")
    if document.retained:
        seals = ", ".join(piece.seal for piece in document.retained)
        rows = [(gettext("Seal numbers"), seals)]
        facts += _facts(gettext("Pieces retained under seal"), "", iter(rows), "retained")
    return facts


def _facts(
    word: str, code: str, rows: Iterator[tuple[str, str | None]], sort: str
) -> Iterator[Fact]:
    """The known facts of one thing; a code that says what it is ("Booth 1") is not said twice."""
    known = code.casefold().startswith(word.casefold())
    group = code if known else f"{word} {code}".strip()
    return (Fact(group, label, value, sort, word) for label, value in rows if value)


def _minutes(value: int | None) -> str | None:
    return None if value is None else gettext("%(minutes)s min") % {"minutes": value}


def _lab(lab: Lab | None) -> str | None:
    if lab is None:
        return None
    parts = (decimal_text(lab.L), decimal_text(lab.a), decimal_text(lab.b))
    return "L* {} a* {} b* {}".format(*parts)


def _booth(booth: BoothFacts) -> Iterator[tuple[str, str | None]]:
    for light in booth.lights:
        lux = light.illuminance_lux
        rows = (
            (gettext("technology"), light.technology),
            (gettext("lamp hours"), _unit(light.lamp_hours, "h")),
            (gettext("simulator category"), light.category),
            (gettext("illuminance"), _unit(lux and decimal_text(lux), "lx")),
        )
        # Joined here: a call inside an f-string is not found when strings are collected.
        yield from ((f"{light.illuminant}: {words}", value) for words, value in rows)
    yield gettext("Last check"), booth.checked_on and booth.checked_on.isoformat()
    yield gettext("Interior"), _lab(booth.interior) or booth.interior_text
    yield gettext("Surround"), _lab(booth.surround)


def _unit(value: object, unit: str) -> str | None:
    return None if value is None else f"{value} {unit}"


def _number(value: Decimal | None, unit: str) -> str | None:
    return None if value is None else f"{decimal_text(value)} {unit}"


def _instrument(instrument: InstrumentFacts) -> Iterator[tuple[str, str | None]]:
    grid = instrument.grid
    due = instrument.calibration_due
    yield gettext("Geometry"), ", ".join(_word(GEOMETRY_WORDS, g) for g in instrument.geometries)
    yield gettext("Wavelengths"), grid and f"{grid.start}–{grid.stop} nm, {grid.step} nm"
    yield gettext("Calibration due"), due and due.isoformat()
    repeatability = instrument.repeatability
    yield gettext("Repeatability"), repeatability and f"{decimal_text(repeatability)} ΔE00"


def _reference(reference: ReferenceFacts) -> Iterator[tuple[str, str | None]]:
    expires = reference.expires_on
    thickness = reference.thickness_mm
    yield gettext("Kind"), _word(KIND_WORDS, reference.kind) if reference.kind else None
    yield gettext("Substrate"), reference.substrate
    yield gettext("Finish"), reference.finish
    yield gettext("Thickness"), thickness and f"{decimal_text(thickness)} mm"
    yield gettext("Expires"), expires and expires.isoformat()
    yield gettext("Seal"), reference.seal
    yield gettext("Chip used"), reference.chip
    yield gettext("Stored reading"), reference.reading and f"{reference.reading[:16]}…"


def _measured(measured: Measured) -> Iterator[tuple[str, str | None]]:
    condition = measured.condition
    yield gettext("Measured on"), f"{measured.measured_on.isoformat()} ({measured.zone})"
    yield gettext("Geometry"), _word(GEOMETRY_WORDS, condition.geometry or "")
    yield gettext("Aperture"), _number(condition.aperture_mm, "mm")
    yield gettext("Ultraviolet"), _word(UV_WORDS, condition.uv or "")
    yield gettext("Backing"), _word(MEASURING_BACKING_WORDS, condition.backing or "")
    yield gettext("Temperature"), _number(condition.temperature_c, "°C")
    yield gettext("Age"), _number(condition.age_hours, "h")
    yield gettext("Since white calibration"), _number(condition.hours_since_white, "h")
    yield gettext("Orientation"), condition.orientation
    places = sorted({one.place for one in measured.readings if one.place})
    yield gettext("Place on the piece"), ", ".join(places)
    yield gettext("Number of readings"), str(len(measured.readings))


def _word(words: dict[str, str], value: str) -> str:
    return gettext(words[value]) if value in words else value
