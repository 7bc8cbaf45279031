"""A whole small world played through the transitions: terms, registers, articles, lots, disputes.

All spectra here are made up: a smooth curve, shifted by a stated amount. Invented throughout.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.core.files.uploadedfile import SimpleUploadedFile

from agreements import transitions as agreeing
from agreements.models import Draft, Revision
from disputes import transitions as disputing
from disputes.models import Dispute, Offer
from evidence import transitions as evidencing
from evidence.models import MeasuredSet, Sitting
from evidence.transitions import Said
from jobs import queue
from ledger import clock
from method.terms import Part, Terms
from method.terms.document import terms_bytes
from method.terms.edit import with_item, with_part, with_values
from method.terms.starter import starter
from parties.capacity import Capacity
from parties.models import Booth, Instrument, Observer, Person, Reference
from parties.transitions import enter
from shipments import transitions as shipping
from shipments.models import FirstArticle, Lot, Submission
from tests.cast import Cast

BERLIN = ZoneInfo("Europe/Berlin")
GRID = range(400, 701, 10)


def curve(shift: float = 0.0, tilt: float = 0.0) -> list[float]:
    """Reflectance factors of an invented grey-blue, 400–700 nm in 10 nm steps."""
    return [round(0.30 + shift + (0.08 + tilt) * (1 - (nm - 400) / 300), 5) for nm in GRID]


def csv(rows: Sequence[tuple[str, list[float]]]) -> bytes:
    """A spectral file: label, then one column per wavelength."""
    head = "label," + ",".join(f"nm{nm}" for nm in GRID)
    lines = [head, *(f"{label}," + ",".join(f"{v:.5f}" for v in row) for label, row in rows)]
    return ("\n".join(lines) + "\n").encode()


def terms(kind: str) -> Terms:
    """Starter terms with what no starter can know, and small numbers."""
    made = starter("spectral" if kind == "spectral" else "visual")
    made = with_part(made, {"number": "H-1", "name": "Housing", "colour": "Slate"})
    made = with_values(made, "disputes", {"zone": "Europe/Berlin"})
    made = with_values(made, "changes", {"signing_keys": "service_held_too"})
    made = with_values(made, "references", {"kind": "painted_panel"})
    made = with_values(made, "observers", {"panel_size": "2", "staff_entry_counts": "yes"})
    made = with_values(made, "decision", {"sample_size": "3", "acceptance_number": "0"})
    if kind == "spectral":
        made = with_values(made, "measurement", {"readings": "1"})
    for side in ("customer", "supplier"):
        values = {"side": side, "role": "quality_lead", "label": f"{side} lead"}
        made = with_item(made, "changes", "signatories", values)
    return made


@dataclass
class World:
    """One agreement of the cast with everything in it; `kind` is "spectral" or "visual"."""

    cast: Cast
    kind: str = "spectral"
    booths: dict[str, Booth] = field(default_factory=dict)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    observers: dict[str, list[Observer]] = field(default_factory=dict)
    master: Reference = None  # type: ignore[assignment]

    @property
    def today(self) -> dt.date:
        """The day on which everything happens, in the agreement's zone."""
        return clock.now().astimezone(BERLIN).date()

    def by(self, who: Person, register: str = "") -> Capacity:
        """As whom somebody acts: in the agreement, or in their firm's register."""
        return self.cast.capacity(who, self.cast.registers[register] if register else None)

    @property
    def customer(self) -> Capacity:
        """The customer's lead."""
        return self.by(self.cast.customer_lead)

    @property
    def supplier(self) -> Capacity:
        """The supplier's lead."""
        return self.by(self.cast.supplier_lead)

    @property
    def staff(self) -> Capacity:
        """The supplier's staff."""
        return self.by(self.cast.supplier_staff)

    def sign_terms(self, made: Terms | None = None) -> Revision:
        """The customer proposes, the supplier agrees, both sign."""
        data = terms_bytes(made or terms(self.kind))
        draft = Draft.objects.create(dossier=self.cast.agreement, side_only="customer", terms=data)
        revision = agreeing.propose(draft, by=self.customer)
        revision = agreeing.agree(revision, by=self.supplier, digest=revision.digest)
        revision = agreeing.sign(revision, by=self.customer, digest=revision.digest)
        return agreeing.sign(revision, by=self.supplier, digest=revision.digest)

    def fill_registers(self) -> None:
        """A booth, an instrument and two qualified observers on both sides."""
        for key, lead, login in (
            ("cust", self.cast.customer_lead, self.cast.customer_observer),
            ("supp", self.cast.supplier_lead, self.cast.supplier_observer),
        ):
            by = self.by(lead, key)
            self.booths[key] = self.booth(by)
            self.instruments[key] = self.instrument(by)
            self.observers[key] = [
                self.observer(by, f"Observer one of {key}", person=login),
                self.observer(by, f"Observer two of {key}"),
            ]

    def booth(self, by: Capacity, **facts: Any) -> Booth:
        """A booth in good order."""
        light = {"technology": "invented", "lamp_hours": 100, "lamp_limit": 2000}
        values = {
            "name": "Booth 1",
            "technology": "filtered halogen",
            "simulator_category": "B",
            "simulator_category_uv": "C",
            "illuminance": "1500",
            "lamp_hours": 100,
            "lamp_limit": 2000,
            "other_lights": [
                {"illuminant": "A", "illuminance_lux": "1500", **light},
                {"illuminant": "F11", "illuminance_lux": "1500", **light},
            ],
            "checked_on": self.today,
            "interior_L": "50",
            "interior_a": "0",
            "interior_b": "0",
            "zone": "Europe/Berlin",
            "valid_from": self.today - dt.timedelta(days=30),
        }
        return enter(Booth, by=by, **values | facts)

    def instrument(self, by: Capacity, **facts: Any) -> Instrument:
        """An instrument in good order."""
        values = {
            "name": "Sphere 1",
            "geometry": "di:8",
            "aperture_mm": "8",
            "uv": "included",
            "grid_start": 400,
            "grid_end": 700,
            "grid_step": 10,
            "calibrated_on": self.today - dt.timedelta(days=10),
            "calibration_due": self.today + dt.timedelta(days=300),
            "repeatability": "0.03",
            "valid_from": self.today - dt.timedelta(days=30),
        }
        return enter(Instrument, by=by, **values | facts)

    def observer(self, by: Capacity, name: str, **facts: Any) -> Observer:
        """An observer whose tests are in order."""
        values = {
            "name": name,
            "score": 8,
            "tested_on": self.today - dt.timedelta(days=60),
            "eyes_examined_on": self.today - dt.timedelta(days=60),
            "correction": "none",
            "trained_on": self.today - dt.timedelta(days=60),
            "plates_passed_on": self.today - dt.timedelta(days=60),
            "valid_from": self.today - dt.timedelta(days=60),
        }
        return enter(Observer, by=by, **values | facts)

    def enter_standard(self) -> Reference:
        """The customer's standard, with its stored reading where anybody measures."""
        reference = enter(
            Reference,
            by=self.customer,
            name="Standard H-1",
            kind="master",
            made_as="painted_panel",
            like_part=["substrate", "thickness", "finish", "texture", "effect"],
            part="H-1",
            colour="Slate",
            issued_on=self.today,
            opened_on=self.today,
        )
        if self.kind == "spectral":
            measured = self.measure(
                self.by(self.cast.customer_colleague), "", [("standard", curve())], reference
            )
            evidencing.store_reading(measured, by=self.customer, reference=reference)
        self.master = Reference.objects.history(reference.key).filter(dossier=self.cast.agreement)[
            0
        ]
        return self.master

    def measure(
        self,
        by: Capacity,
        subject: str,
        rows: Sequence[tuple[str, list[float]]],
        reference: Reference | None = None,
        **facts: Any,
    ) -> MeasuredSet:
        """Upload a file and confirm it."""
        upload = SimpleUploadedFile("readings.csv", csv(rows), "text/csv")
        file = evidencing.take_file(by.dossier, by=by, upload=upload, subject=subject)
        key = "cust" if by.side == "customer" else "supp"
        values: dict[str, Any] = {
            "answers": {"scale": "factor"},
            "instrument": self.instruments[key],
            "measured_on": self.today,
            "zone": "Europe/Berlin",
            "condition": {
                "geometry": "di:8",
                "uv": "included",
                "backing": "white",
                "aperture": "8",
                "temperature_c": "23",
                "age_hours": "48",
                "hours_since_white": "1",
            },
            "reference": reference,
        }
        return evidencing.confirm_reading(file, by=by, **values | facts)

    def sit(
        self, by: Capacity, subject: str, said: dict[str, str], observers: Sequence[Observer] = ()
    ) -> Sitting:
        """A sitting in which every observer says the same of each specimen."""
        key = "cust" if by.side == "customer" else "supp"
        sitting = evidencing.open_sitting(
            by.dossier,
            by=by,
            subject=subject,
            day=self.today,
            booth=self.booths[key],
            procedure="release_check",
            comparator="master",
            reference=self.master,
            illuminants=["D65", "A", "F11"],
            specimens=list(said),
            warm_up_minutes=30,
            adaptation_minutes=5,
        )
        for observer in observers or self.observers[key]:
            evidencing.judge_specimens(
                sitting,
                by=by,
                observer=observer,
                said=[Said(specimen, outcome) for specimen, outcome in said.items()],
            )
        return sitting

    def gather(
        self, by: Capacity, subject: str, shift: float = 0.0, outcome: str = "accept"
    ) -> None:
        """Readings (where anybody measures) and a sitting about three specimens."""
        labels = ["1", "2", "3"]
        if self.kind == "spectral":
            rows = [(label, curve(shift + 0.0001 * n)) for n, label in enumerate(labels)]
            self.measure(by, subject, rows)
        self.sit(by, subject, dict.fromkeys(labels, outcome))

    def gather_many(
        self,
        by: Capacity,
        subject: str,
        labels: Sequence[str],
        *,
        readings: int = 1,
        rejected: Collection[str] = (),
    ) -> None:
        """Readings of many specimens, close together, and a sitting about them."""
        rows = [
            (label, curve(0.000005 * n + 0.00001 * reading))
            for n, label in enumerate(labels)
            for reading in range(readings)
        ]
        self.measure(by, subject, rows)
        said = {label: "reject" if label in rejected else "accept" for label in labels}
        self.sit(by, subject, said)

    def part(self) -> str:
        """The id of the only part."""
        revision = Revision.objects.get(dossier=self.cast.agreement, status="signed")
        return revision.document.parts[0].id

    def article_part(self) -> Part:
        """The only part, as the terms declare it."""
        revision = Revision.objects.get(dossier=self.cast.agreement, status="signed")
        return revision.document.parts[0]

    def article(self, number: str = "FA-1") -> FirstArticle:
        """A first article being prepared, with evidence."""
        article = shipping.prepare_article(
            self.cast.agreement, by=self.staff, number=number, part=self.part(), quantity=3
        )
        self.gather(self.staff, article.subject)
        return article

    def submitted_article(self, number: str = "FA-1") -> FirstArticle:
        """Submitted and judged."""
        article = self.article(number)
        shipping.submit_article(article, by=self.staff)
        queue.drain()
        article.refresh_from_db()
        return article

    def approved_article(self, number: str = "FA-1") -> FirstArticle:
        """Approved: the master of its part from now on."""
        article = shipping.approve_article(
            self.submitted_article(number), by=self.customer, seal="S-1", note=""
        )
        self.use_last_master()
        return article

    def use_last_master(self) -> None:
        """Sittings from now on are held against the master entered last."""
        self.master = (
            Reference.objects.filter(dossier=self.cast.agreement, kind="master")
            .current()
            .order_by("-recorded_at")[0]
        )

    def open_lot(self, number: str = "L-1", quantity: int = 100) -> Lot:
        """An open lot without evidence."""
        return shipping.open_lot(
            self.cast.agreement,
            by=self.staff,
            number=number,
            order=f"PO-{number}",
            accepted_on=self.today,
            part=self.part(),
            quantity=quantity,
        )

    def judged_lot(self, number: str = "L-1", shift: float = 0.0, outcome: str = "accept") -> Lot:
        """A lot handed in and judged."""
        lot = self.open_lot(number)
        self.gather(self.staff, lot.subject, shift, outcome)
        self.judge(lot)
        return lot

    def judge(self, lot: Lot) -> None:
        """Hand in what was gathered about a lot, and have it judged."""
        shipping.submit_lot(lot, by=self.staff)
        queue.drain()
        lot.refresh_from_db()

    def released_lot(self, number: str = "L-1") -> Lot:
        """Released by the supplier's lead, signed where the terms ask."""
        lot = self.judged_lot(number)
        last = lot.submissions.order_by("-nth")[0]
        shipping.sign_submission(last, by=self.supplier)
        return shipping.release_lot(lot, by=self.supplier)

    def received_lot(self, number: str = "L-1") -> Lot:
        """Received by the customer."""
        return shipping.receive_lot(
            self.released_lot(number), by=self.customer, received_on=self.today
        )

    def rejected_lot(self, number: str = "L-1", shift: float = 0.08) -> Dispute:
        """Rejected with the customer's own evidence."""
        lot = self.received_lot(number)
        self.gather(self.by(self.cast.customer_colleague), lot.subject, shift, "reject")
        dispute = disputing.reject(
            lot,
            by=self.customer,
            clause="tolerances",
            compared_with="target",
            specimens=["1", "2", "3"],
            text="Darker than the master.",
            contained={"in_stock": 100},
        )
        queue.drain()
        return dispute

    def answered(self, number: str = "L-1") -> Dispute:
        """Answered by the supplier."""
        return disputing.answer(
            self.rejected_lot(number), by=self.staff, text="We look again.", contained={}
        )

    def offered(self, number: str = "L-1") -> Offer:
        """A remedy offered by the supplier."""
        return disputing.offer_remedy(
            self.answered(number),
            by=self.supplier,
            remedy="replace",
            text="We replace the lot.",
            pieces={"returned": 100},
            costs="supplier",
        )

    def settled(self, number: str = "L-1") -> Dispute:
        """Signed by both."""
        offer = disputing.sign_settlement(self.offered(number), by=self.customer)
        disputing.sign_settlement(offer, by=self.supplier)
        offer.dispute.refresh_from_db()
        return offer.dispute

    def last_submission(self, lot: Lot) -> Submission:
        """What was handed in last for a lot."""
        return lot.submissions.order_by("-created_at")[0]


def make_world(cast: Cast, kind: str = "spectral", terms_made: Terms | None = None) -> World:
    """Terms signed, registers filled, the standard entered, the first article approved."""
    world = World(cast, kind)
    world.fill_registers()
    world.sign_terms(terms_made)
    world.enter_standard()
    world.approved_article()
    return world
