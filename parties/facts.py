"""From register rows to the documents of the day that `method` judges with. Pure conversions.

What a register does not know is left out, never assumed. `code` in these documents is the name of
the thing in its owner's register; a person is named by the code of the dossier.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from method.documents import Digest
from method.facts import (
    BoothFacts,
    GridFacts,
    InstrumentFacts,
    Lab,
    Light,
    Numbers,
    ReferenceFacts,
)
from method.qualification import HueTest, ObserverFacts
from parties.models import Booth, Chip, Instrument, Observer, Reference

DAYLIGHT = "D65"


def observer_facts(row: Observer, code: str) -> ObserverFacts:
    """The private facts of an observer for `method.qualification.qualified`: they go nowhere else.

    `code` is the observer's in the dossier (`parties.observers.observer_code`).
    """
    prescribed = {"": None, "none": False, "worn": True, "not_worn": True}[row.correction]
    return ObserverFacts(
        code=code,
        tests=tuple(_tests(row)),
        plates_passed_on=row.plates_passed_on,
        eye_exam_on=row.eyes_examined_on,
        correction_prescribed=prescribed,
        correction_worn=None if not prescribed else row.correction == "worn",
        trained_on=row.trained_on,
        borrowed=bool(row.borrowed_from),
        grants=((row.grant_from, row.grant_until),) if row.grant_from else (),
    )


def booth_facts(row: Booth, report: Digest | None = None) -> BoothFacts:
    """A booth on the day; the simulator category is what its service report declares."""
    daylight = Light(
        illuminant=DAYLIGHT,
        technology=row.technology or None,
        lamp_hours=row.lamp_hours,
        lamp_limit=row.lamp_limit,
        category=row.simulator_category or None,
        category_uv=row.simulator_category_uv or None,
        category_source="declared" if row.simulator_category or row.simulator_category_uv else None,
        illuminance_lux=_number(row.illuminance),
    )
    return BoothFacts(
        code=row.name,
        lights=(daylight, *(Light(**light) for light in row.other_lights)),
        checked_on=row.checked_on,
        interior=_lab(row.interior_L, row.interior_a, row.interior_b),
        surround=_lab(row.surround_L, row.surround_a, row.surround_b),
        report=report,
    )


def instrument_facts(row: Instrument, certificate: Digest | None = None) -> InstrumentFacts:
    """An instrument on the day."""
    grid = None
    if row.grid_start and row.grid_end and row.grid_step:
        grid = GridFacts(start=row.grid_start, stop=row.grid_end, step=row.grid_step)
    aperture = _number(row.aperture_mm)
    return InstrumentFacts(
        code=row.name,
        geometries=(row.geometry,) if row.geometry else (),
        apertures_mm=() if aperture is None else (aperture,),
        uv=(row.uv,) if row.uv else (),
        grid=grid,
        calibrated_on=row.calibrated_on,
        calibration_due=row.calibration_due,
        repeatability=_number(row.repeatability),
        certificate=certificate,
    )


def reference_facts(
    row: Reference, *, chip: Chip | None = None, master: Reference | None = None
) -> ReferenceFacts:
    """A reference on the day, with the chip torn off for this use where there is one.

    A stored `reading` is named by digest: its bytes must be a blob of the submission's chain.
    """
    return ReferenceFacts(
        code=row.name,
        role=row.kind,
        kind=row.made_as or None,
        like_part=tuple(row.like_part),
        master=master.name if master else None,
        substrate=row.substrate or None,
        finish=row.finish or None,
        thickness_mm=_number(row.thickness_mm),
        edition=row.edition or None,
        chip=chip.label if chip else None,
        issued_on=row.issued_on,
        opened_on=row.opened_on,
        expires_on=row.expires_on,
        offsets=_offsets(row),
        drift=_number(row.drift),
        difference=_number(row.difference),
        seal=row.seal or None,
        reading=row.reading or None,
    )


def _offsets(row: Reference) -> tuple[Numbers, ...]:
    """The offset of a duplicate from its master, under the light in which it was measured."""
    lab = _lab(row.offset_L, row.offset_a, row.offset_b)
    if lab is None or not row.offset_illuminant or not row.offset_observer:
        return ()
    return (Numbers(illuminant=row.offset_illuminant, observer=row.offset_observer, lab=lab),)


def _tests(row: Observer) -> Iterable[HueTest]:
    """The tests a row names; each is a score copied from a sheet."""
    for on, score in ((row.earlier_tested_on, row.earlier_score), (row.tested_on, row.score)):
        if on is not None and score is not None:
            yield HueTest(on=on, score=score, kind="bare_score")


def _number(value: Decimal | None) -> Decimal | None:
    """A stored decimal without the zeros that the column adds: 8.0000 → 8."""
    if value is None:
        return None
    plain = Decimal(value).normalize()
    return plain.quantize(Decimal(1)) if plain.as_tuple().exponent > 0 else plain


def _lab(L: Decimal | None, a: Decimal | None, b: Decimal | None) -> Lab | None:
    """All three coordinates or none."""
    if L is None or a is None or b is None:
        return None
    return Lab(L=_number(L), a=_number(a), b=_number(b))
