"""Taking evidence in: files, confirmed readings, sittings and judgements.

Nothing here enters the chain: evidence is one side's own until it is handed in with a submission,
which lists every blob.
"""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from evidence.models import (
    Comparator,
    Document,
    EvidenceFile,
    EvidenceRow,
    Judgement,
    MeasuredSet,
    RetainedPiece,
    Sitting,
)
from evidence.reading_words import error_line, understood
from evidence.subjects import checked
from ledger import blobs, clock
from method import packed
from method.readers import ReadError, resolve
from parties.capacity import Capacity
from parties.models import Booth, Chip, Dossier, Instrument, Observer, Reference, Role
from parties.observers import observer_code
from parties.own import own_register
from parties.refusal import Refusal
from parties.transitions import supersede, use_chip
from parties.uploads import keep

LONGEST_LABEL = 80  # as in Judgement.specimen


def take_file(
    dossier: Dossier, *, by: Capacity, upload: UploadedFile, subject: str, field: str = "upload"
) -> EvidenceFile:
    """Keep a file's bytes as they came. Raises Refusal where it is empty or too large."""
    about = checked(subject)
    kept = keep(dossier.chain, upload, field=field)
    return EvidenceFile.objects.create(
        dossier=dossier,
        side_only=by.side,
        subject=about,
        made_by=by.sitter.code,
        name=kept.name,
        digest=kept.digest,
        size=kept.size,
        media_type=kept.media_type,
    )


def confirm_reading(
    file: EvidenceFile,
    *,
    by: Capacity,
    answers: Mapping[str, str],
    instrument: Instrument,
    measured_on: dt.date,
    zone: str,
    condition: Mapping[str, str],
    place: str = "",
    reference: Reference | None = None,
) -> MeasuredSet:
    """Freeze what was understood: mapping and packed values become blobs beside the file.

    `answers` are those to the reader's questions; `condition` holds what was said of geometry, uv,
    backing, aperture (mm), temperature_c, age_hours, hours_since_white and orientation.
    `place`: where on the piece, by the name clause 5 gives it (a file reads one place).
    `reference`: what was read, where it was no specimen.
    """
    check_own(file, by)
    check_in_use(file)
    check_past(measured_on, known_zone(zone), "measured_on")
    said = {name: value for name, value in condition.items() if value}
    given = {**answers, **{name: said[name] for name in packed.CONDITION_KEYS if name in said}}
    try:
        reading = understood(file)
        values = resolve(reading, given)
        mapping = reading.mapping(given)
    except ReadError as error:
        raise Refusal("unreadable", error_line(error)) from error
    data = packed.pack(values)
    chain = file.dossier.chain
    wavelengths = values.wavelengths
    with transaction.atomic():
        check_in_use(EvidenceFile.objects.select_for_update().get(pk=file.pk))
        return MeasuredSet.objects.create(
            dossier=file.dossier,
            side_only=by.side,
            subject=file.subject,
            made_by=by.sitter.code,
            file=file,
            mapping=blobs.put(chain, mapping, "application/json"),
            packed=blobs.put(chain, data, "application/octet-stream"),
            rows=len(values.labels),
            labels=list(values.labels),
            wavelengths=f"{wavelengths[0]}–{wavelengths[-1]} nm, "
            f"{wavelengths[1] - wavelengths[0]} nm",
            instrument=instrument.key,
            instrument_name=instrument.name,
            measured_on=measured_on,
            zone=zone,
            condition=said,
            place=place.strip(),
            reference=reference.key if reference else None,
            reference_name=str(reference) if reference else "",
        )


def store_reading(measured: MeasuredSet, *, by: Capacity, reference: Reference) -> MeasuredSet:
    """Make these readings the stored reading of a reference: a new row of it names their digest.

    A reference in the agreement is shared, so this shares the readings; one in the firm's own
    register stays there, and the bytes are put among the register's blobs.
    """
    keeper = by
    if reference.dossier_id != by.dossier.pk:
        keeper = Capacity(own_register(by))
        data = blobs.get(measured.dossier.chain, measured.packed)
        blobs.put(keeper.dossier.chain, data, "application/octet-stream")
    supersede(reference, by=keeper, reading=measured.packed)
    return measured


def known_zone(name: str) -> str:
    """An IANA time zone name; Refusal otherwise."""
    try:
        zoneinfo.ZoneInfo(name)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):  # a folder's name, a long one
        raise Refusal("zone", _("This time zone is not known."), field="zone") from None
    return name


def check_past(day: dt.date, zone: str, field: str) -> None:
    """Refusal for a day that has not begun in its own time zone."""
    if day > clock.now().astimezone(zoneinfo.ZoneInfo(zone)).date():
        raise Refusal("future", _("This day has not come yet."), field=field)


def check_own(row: EvidenceRow, by: Capacity) -> None:
    """Evidence belongs to the side that brought it; pages never show it to another."""
    if row.side_only != by.side:
        raise Refusal("wrong_side", _("This evidence belongs to the other side."))


def set_aside(row: EvidenceRow, *, by: Capacity, reason: str) -> EvidenceRow:
    """Leave a row out of what will be handed in; it is kept and shown with the reason."""
    check_own(row, by)
    changed = (
        type(row)
        .objects.filter(pk=row.pk, set_aside_at__isnull=True)
        .update(set_aside_at=timezone.now(), set_aside_reason=reason[:300])
    )
    if changed != 1:
        raise Refusal("set_aside", _("This was set aside before."))
    row.refresh_from_db()
    return row


def check_in_use(file: EvidenceFile) -> None:
    """Nothing is read any more from a file that was set aside."""
    if file.set_aside_at is not None:
        raise Refusal("set_aside", _("This file was set aside."))


def set_file_aside(file: EvidenceFile, *, by: Capacity, reason: str) -> EvidenceFile:
    """Leave a file out, and the readings confirmed from it; all are kept and shown.

    Raises Refusal where a document or a sitting holds the file: that is set aside instead.
    """
    check_own(file, by)
    if holder_of(file) is not None:
        raise Refusal(
            "held", _("This file belongs to other evidence: set that aside, and it goes with it.")
        )
    with transaction.atomic():
        EvidenceFile.objects.select_for_update().get(pk=file.pk)
        for measured in file.sets.filter(set_aside_at__isnull=True):
            set_aside(measured, by=by, reason=reason)
        set_aside(file, by=by, reason=reason)
    return file


def holder_of(file: EvidenceFile) -> Document | Sitting | None:
    """The document that the file is, or the sitting whose sheet it shows."""
    document = Document.objects.filter(file=file).first()
    return document or Sitting.objects.filter(scan=file).first()


@dataclass(frozen=True)
class Booked:
    """What a sitting is about, as the form gives it."""

    day: dt.date
    booth: Booth
    procedure: str
    comparator: str
    reference: Reference | None
    illuminants: Sequence[str]
    specimens: Sequence[str]
    warm_up_minutes: int
    adaptation_minutes: int
    chip: Chip | None = None


def open_sitting(
    dossier: Dossier, *, by: Capacity, subject: str, scan: UploadedFile | None = None, **booked: Any
) -> Sitting:
    """Begin a sitting at a booth. `day` is the booth's local date; a chip named is used by it."""
    plan = Booked(**booked)
    labels = [label for label in (text.strip() for text in plan.specimens) if label]
    if len(set(labels)) != len(labels) or not labels:
        raise Refusal(
            "specimens",
            _("Name every specimen once, one on a line, and at least one."),
            field="specimens",
        )
    if max(map(len, labels)) > LONGEST_LABEL:
        raise Refusal(
            "label_long",
            _("A specimen's label has at most %(limit)s characters."),
            field="specimens",
            limit=LONGEST_LABEL,
        )
    check_past(plan.day, known_zone(plan.booth.zone), "day")
    with transaction.atomic():
        sheet = (
            take_file(dossier, by=by, upload=scan, subject=subject, field="scan") if scan else None
        )
        pack = tear_off(plan, by) if plan.chip else plan.reference
        return Sitting.objects.create(
            dossier=dossier,
            side_only=by.side,
            subject=checked(subject),
            made_by=by.sitter.code,
            day=plan.day,
            zone=plan.booth.zone,
            booth=plan.booth.key,
            booth_name=plan.booth.name,
            procedure=plan.procedure,
            comparator=plan.comparator,
            reference=pack.key if pack else None,
            reference_name=str(pack) if pack else "",
            chip=plan.chip.key if plan.chip else None,
            chip_name=plan.chip.label if plan.chip else "",
            illuminants=sorted(set(plan.illuminants)),
            specimens=labels,
            warm_up_minutes=plan.warm_up_minutes,
            adaptation_minutes=plan.adaptation_minutes,
            scan=sheet,
        )


def tear_off(plan: Booked, by: Capacity) -> Reference:
    """Use the chip of a sitting, once and for good, and give the pack it comes from.

    A chip of the firm's own register is written as used there. Nothing of the sitting is said
    with it: a pack in the agreement is shared.
    """
    assert plan.chip is not None  # noqa: S101  (chosen by the caller)
    chip = plan.chip
    if plan.comparator != Comparator.CHIP:
        raise Refusal(
            "chip_unused",
            _("A chip is used where specimens are compared with a tear-off chip: say so, too."),
            field="comparator",
        )
    packs = Reference.objects.filter(dossier=chip.dossier_id, key=chip.reference_key).current()
    pack = packs.get()
    if plan.reference is not None and plan.reference.key != pack.key:
        raise Refusal(
            "chip_other_pack", _("This chip is not from the pack named."), field="reference"
        )
    keeper = by if chip.dossier_id == by.dossier.pk else Capacity(own_register(by))
    use_chip(chip, by=keeper, used_on=plan.day)
    return pack


def add_document(
    dossier: Dossier,
    *,
    by: Capacity,
    upload: UploadedFile,
    subject: str,
    answers: str,
    note: str = "",
) -> Document:
    """Keep a report, certificate, photograph or record that clause 8 makes due."""
    with transaction.atomic():
        file = take_file(dossier, by=by, upload=upload, subject=subject)
        return Document.objects.create(
            dossier=dossier,
            side_only=by.side,
            subject=file.subject,
            made_by=by.sitter.code,
            file=file,
            answers=answers,
            note=note,
        )


def retain_piece(
    dossier: Dossier, *, by: Capacity, subject: str, seal: str, specimen: str = "", note: str = ""
) -> RetainedPiece:
    """Say that a piece is kept back under a seal. A seal number stands for one piece."""
    try:
        with transaction.atomic():
            return RetainedPiece.objects.create(
                dossier=dossier,
                side_only=by.side,
                subject=checked(subject),
                made_by=by.sitter.code,
                seal=seal,
                specimen=specimen,
                note=note,
            )
    except IntegrityError:
        raise Refusal(
            "seal_taken", _("A piece of your side is kept under this seal already."), field="seal"
        ) from None


@dataclass(frozen=True)
class Said:
    """One observer's word on one specimen."""

    specimen: str
    outcome: str
    directions: Sequence[str] = ()
    grade: str = ""


def judge_specimens(
    sitting: Sitting,
    *,
    by: Capacity,
    observer: Observer,
    said: Sequence[Said],
    illuminant: str = "",
) -> Sitting:
    """Record one observer's judgements: under their own login, or by staff from a printed sheet.

    What an observer said once is not overwritten. Whether the observer is qualified is not asked
    here: a judgement that does not count is kept and shown.
    """
    check_own(sitting, by)
    own = observer.person_id is not None and observer.person_id == by.person.pk
    if by.role == Role.OBSERVER and not own:
        raise Refusal("not_yours", _("Under your own login you enter your own judgements only."))
    if sitting.set_aside_at is not None:
        raise Refusal("set_aside", _("This sitting was set aside."))
    unknown = {one.specimen for one in said} - set(sitting.specimens)
    if unknown or (illuminant and illuminant not in sitting.illuminants):
        raise Refusal("not_in_sitting", _("This specimen or light is not part of the sitting."))
    code = observer_code(sitting.dossier, observer)
    rows = [
        Judgement(
            dossier=sitting.dossier,
            side_only=by.side,
            sitting=sitting,
            observer=observer.key,
            observer_code=code,
            specimen=one.specimen,
            illuminant=illuminant,
            outcome=one.outcome,
            directions=sorted(set(one.directions)),
            grade=one.grade,
            entered_by=by.sitter.code,
            entered_by_observer=own,
        )
        for one in said
    ]
    try:
        with transaction.atomic():
            Judgement.objects.bulk_create(rows)
    except IntegrityError:
        raise Refusal(
            "judged", _("This observer has judged one of these specimens already.")
        ) from None
    return sitting
