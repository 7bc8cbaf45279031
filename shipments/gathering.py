"""From one side's evidence to the document of a submission: the facts of the day, frozen.

Register rows are taken as they held on the local day of the sitting or measurement and as they
were recorded up to the submission. Private facts of observers stop here: only the public answer
of `method.qualification` goes on.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TypeVar

from django.utils.translation import gettext_lazy as _

from agreements.standing import today_in
from evidence.models import Document, Judgement, MeasuredSet, RetainedPiece, Sitting
from ledger import blobs, clock
from method import submission as doc
from method.facts import (
    BoothFacts,
    InstrumentFacts,
    ReferenceFacts,
    SamplingState,
    TargetFacts,
)
from method.judge import ENGINE
from method.qualification import qualified
from method.terms import Part, Resolved, resolve
from parties import facts as register_facts
from parties.capacity import Capacity
from parties.models import Booth, Chip, Instrument, Observer, Reference, RegisterRow
from parties.refusal import Refusal
from shipments.approvals import approval_facts
from shipments.attaching import attachments, readings, retained
from shipments.faults import named
from shipments.masters import stored_readings
from shipments.models import FirstArticle, Lot, Submission
from shipments.parts import part_of

RowT = TypeVar("RowT", bound=RegisterRow)


@dataclass
class Gathering:
    """One submission in the making. Facts are collected as sets and sittings name them."""

    what: Lot | FirstArticle
    by: Capacity
    terms: Resolved
    part: Part
    now: dt.datetime
    booths: dict[tuple[uuid.UUID, dt.date], BoothFacts] = field(default_factory=dict)
    instruments: dict[tuple[uuid.UUID, dt.date], InstrumentFacts] = field(default_factory=dict)
    references: dict[tuple[uuid.UUID, dt.date, uuid.UUID | None], ReferenceFacts] = field(
        default_factory=dict
    )

    @property
    def place(self) -> str:
        """The chain whose blobs the submission names."""
        return self.what.dossier.chain

    def on_day(self, model: type[RowT], key: uuid.UUID, day: dt.date) -> RowT:
        """A thing of the own register or of this dossier as it held on `day`.

        A thing whose first row holds only from a later day is taken as first recorded: the
        evidence check sees from its dates what it was worth on the day.
        """
        firm = model.objects.of_firm(self.by.organisation)
        here = model.objects.filter(dossier=self.what.dossier)
        rows = (firm | here).filter(key=key)
        found = rows.as_of(day, self.now).first() or rows.order_by("version").first()
        if found is None:
            raise Refusal("register_row", _("Something this evidence names is in no register."))
        return found

    def booth(self, key: uuid.UUID, day: dt.date) -> BoothFacts:
        """Booth facts of a day."""
        if (key, day) not in self.booths:
            self.booths[key, day] = register_facts.booth_facts(self.on_day(Booth, key, day))
        return self.booths[key, day]

    def instrument(self, key: uuid.UUID, day: dt.date) -> InstrumentFacts:
        """Instrument facts of a day."""
        if (key, day) not in self.instruments:
            row = self.on_day(Instrument, key, day)
            self.instruments[key, day] = register_facts.instrument_facts(row)
        return self.instruments[key, day]

    def reference(
        self, key: uuid.UUID, day: dt.date, chip: uuid.UUID | None = None
    ) -> ReferenceFacts:
        """Reference facts of a day, with the chip used; the bytes of a stored reading are made
        sure of here."""
        if (key, day, chip) not in self.references:
            row = self.on_day(Reference, key, day)
            if row.reading and row.dossier_id != self.what.dossier_id:
                data = blobs.get(row.dossier.chain, row.reading)
                blobs.put(self.place, data, "application/octet-stream")
            used = self.on_day(Chip, chip, day) if chip else None
            self.references[key, day, chip] = register_facts.reference_facts(row, chip=used)
        return self.references[key, day, chip]


@dataclass(frozen=True)
class Brought:
    """What a side has brought for one subject and not set aside."""

    sets: list[MeasuredSet]
    sittings: list[Sitting]
    documents: list[Document]
    pieces: list[RetainedPiece]


def gather(
    what: Lot | FirstArticle,
    *,
    by: Capacity,
    purpose: str,
    nth: int,
    note: str,
    answers: Submission | None,
) -> doc.Submission:
    """The submission of all evidence of `by`'s side about `what` that was not set aside."""
    made = Gathering(
        what=what,
        by=by,
        terms=resolve(what.revision.document, what.part),
        part=part_of(what.revision, what.part),
        now=clock.now(),
    )
    own, here = (what.subject, by.side), {"dossier": what.dossier}
    brought = Brought(
        sets=list(MeasuredSet.objects.about(*own).filter(**here).select_related("file")),
        sittings=list(Sitting.objects.about(*own).filter(**here).select_related("scan")),
        documents=list(Document.objects.about(*own).filter(**here).select_related("file")),
        pieces=list(RetainedPiece.objects.about(*own).filter(**here)),
    )
    if not brought.sets and not brought.sittings:
        raise Refusal(
            "no_evidence",
            _("Your side has no readings and no sitting for this yet: there is nothing to judge."),
        )
    return build(made, brought, purpose=purpose, nth=nth, note=note, answers=answers)


def build(
    made: Gathering,
    brought: Brought,
    *,
    purpose: str,
    nth: int,
    note: str,
    answers: Submission | None,
) -> doc.Submission:
    """Put the document together; its own rules sort everything by content."""
    what, actor = made.what, made.by.actor()
    read = [one for one in brought.sets if one.reference is None]
    fresh = [one for one in brought.sets if one.reference is not None]
    said = [made_of for one in brought.sittings for made_of in sitting_documents(made, one)]
    measured = [measured_document(made, one) for one in read]
    targets = target_documents(made, fresh)
    return doc.Submission(
        engine=ENGINE,
        purpose=purpose,
        nth=nth,
        dossier=made.place,
        terms=what.revision.digest,
        revision=what.revision.number,
        part=what.part,
        lot=lot_document(what),
        article=article_document(what),
        answers=answers.digest if answers else None,
        submitted_at=made.now,
        by=doc.By(
            code=actor.person, organisation=actor.organisation, side=actor.side, role=actor.role
        ),
        specimens=specimens(read, brought),
        conditions=doc.Conditions(
            booths=tuple(made.booths.values()),
            instruments=tuple(made.instruments.values()),
            references=tuple(made.references.values()),
            targets=targets,
            approval=approval_facts(what, made.now),
            sampling=SamplingState(),
        ),
        measured=tuple(measured),
        sittings=tuple(said),
        attachments=attachments(brought.documents, made.terms, purpose, actor.side),
        retained=retained(brought.pieces),
        note=note or None,
    )


def lot_document(what: Lot | FirstArticle) -> doc.Lot | None:
    """The lot, where it is one."""
    if not isinstance(what, Lot):
        return None
    return doc.Lot(
        number=what.number,
        order=what.order,
        accepted_on=what.accepted_on,
        quantity=what.quantity,
        made_on=what.made_on,
    )


def article_document(what: Lot | FirstArticle) -> doc.Article | None:
    """The first article, where it is one."""
    if isinstance(what, Lot):
        return None
    return doc.Article(number=what.number, quantity=what.quantity, made_on=what.made_on)


def specimens(read: Iterable[MeasuredSet], brought: Brought) -> tuple[doc.Specimen, ...]:
    """Every specimen that was read, judged or retained, once."""
    labels = {label for one in read for label in one.labels}
    labels |= {label for one in brought.sittings for label in one.specimens}
    labels |= {one.specimen for one in brought.pieces if one.specimen}
    return tuple(doc.Specimen(label=label) for label in sorted(labels))


@named
def measured_document(made: Gathering, one: MeasuredSet) -> doc.Measured:
    """A set of readings with the instrument of its day."""
    condition = one.condition
    return doc.Measured(
        file=one.file.digest,
        name=one.file.name,
        mapping=one.mapping,
        packed=one.packed,
        instrument=made.instrument(one.instrument, one.measured_on).id,
        measured_on=one.measured_on,
        zone=one.zone,
        condition=doc.Condition(
            geometry=condition.get("geometry"),
            aperture_mm=condition.get("aperture"),
            uv=condition.get("uv"),
            backing=condition.get("backing"),
            temperature_c=condition.get("temperature_c"),
            age_hours=condition.get("age_hours"),
            hours_since_white=condition.get("hours_since_white"),
            orientation=condition.get("orientation"),
        ),
        readings=tuple(readings(one, made.terms.measurement)),
    )


@named
def sitting_documents(made: Gathering, one: Sitting) -> list[doc.Sitting]:
    """A sitting with every judgement, those that do not count among them.

    What observers entered themselves and what staff entered from a sheet are kept apart: clause 2
    says whether the latter counts.
    """
    groups: dict[tuple[bool, str], list[Judgement]] = {}
    for judgement in one.judgements.order_by("observer_code", "specimen", "illuminant"):
        key = (judgement.entered_by_observer, judgement.entered_by)
        groups.setdefault(key, []).append(judgement)
    if not groups:
        raise Refusal(
            "sitting_empty",
            _("The sitting of %(day)s has no judgement yet. Enter them, or set it aside."),
            day=one.day.isoformat(),
        )
    reference = made.reference(one.reference, one.day, one.chip).id if one.reference else None
    booth = made.booth(one.booth, one.day).id
    return [
        doc.Sitting(
            day=one.day,
            zone=one.zone,
            booth=booth,
            procedure=one.procedure,
            comparator=doc.Comparator(role=one.comparator, reference=reference),
            illuminants=tuple(one.illuminants),
            warm_up_minutes=one.warm_up_minutes,
            adaptation_minutes=one.adaptation_minutes,
            entered_by="observer" if by_observer else "staff",
            entered_by_code=code,
            scan=one.scan.digest if one.scan else None,
            judgements=tuple(judgement_document(made, one, said) for said in group),
        )
        for (by_observer, code), group in groups.items()
    ]


def judgement_document(made: Gathering, sitting: Sitting, said: Judgement) -> doc.Judgement:
    """One judgement with the public answer whether its observer was qualified on that day."""
    observer = made.on_day(Observer, said.observer, sitting.day)
    person = register_facts.observer_facts(observer, said.observer_code)
    answer = qualified(made.terms.observers, person, sitting.day)
    return doc.Judgement(
        observer=said.observer_code,
        specimen=said.specimen,
        illuminant=said.illuminant or None,
        outcome=said.outcome,
        directions=tuple(said.directions),
        grade=said.grade or None,
        borrowed=person.borrowed or None,
        qualified=bool(answer),
        reasons=answer.for_judgement,
    )


def target_documents(made: Gathering, fresh: list[MeasuredSet]) -> tuple[TargetFacts, ...]:
    """What readings are compared with, by clause 4: a fresh or stored reading, or numbers.

    A fresh reading of a reference is the target only where the terms say so.
    """
    kind = made.terms.references.target
    if kind == "duplicate":
        return tuple(fresh_target(made, one) for one in one_a_geometry(fresh))
    if kind != "stored_reading":
        return ()
    day = today_in(made.what.dossier)
    return tuple(
        TargetFacts(
            source="stored_reading",
            reference=made.reference(master.key, day).id,
            packed=master.reading,
            rows=tuple(range(len(reading.labels))),
            geometry=reading.condition.get("geometry"),
        )
        for master, reading in stored_readings(
            made.what.dossier, made.part, day=day, until=made.now
        )
    )


def one_a_geometry(fresh: list[MeasuredSet]) -> list[MeasuredSet]:
    """Which of two readings is the target must not hang on the order of uploading: refused."""
    geometries = [one.condition.get("geometry") for one in fresh]
    if len(set(geometries)) < len(geometries):
        raise Refusal(
            "several_targets",
            _("The reference was read more than once at one geometry: set aside all but one."),
        )
    return fresh


@named
def fresh_target(made: Gathering, one: MeasuredSet) -> TargetFacts:
    """A fresh reading of one's own duplicate."""
    assert one.reference is not None  # noqa: S101  (chosen by the caller)
    return TargetFacts(
        source="duplicate",
        reference=made.reference(one.reference, one.measured_on).id,
        packed=one.packed,
        rows=tuple(range(one.rows)),
        file=one.file.digest,
        mapping=one.mapping,
        read_on=one.measured_on,
        instrument=made.instrument(one.instrument, one.measured_on).id,
        geometry=one.condition.get("geometry"),
    )
