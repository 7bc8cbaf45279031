"""The world of the access tests: everybody of the cast, one agreement with a thing in every state.

Built once and played through the transitions; only a few seats that no transition gives out stand
beside it (`extra_seats`), because a mark must hold for them all the same. PDFs are not set here:
the HTML that would be set is kept in their place, so that what they say can be searched.
"""

from __future__ import annotations

import datetime as dt
import logging
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client, override_settings

from agreements import transitions as agreeing
from agreements.models import Draft, Remark, Revision, TermsPaper
from desk.comparing import compare
from desk.records import ask_for_record
from disputes import transitions as disputing
from disputes.models import Note, Post
from evidence import transitions as evidencing
from evidence.models import EvidenceFile, MeasuredSet, Sitting
from jobs import pdf, pdfseal, queue
from ledger.notes import read_note
from method.terms.document import terms_bytes
from parties.checkpoints import current_note
from parties.models import Chip, Dossier, Membership, Person, Reference, Role, Seat, Side, Sitter
from parties.transitions import add_chips, enter, invite, supersede
from shipments import transitions as shipping
from shipments.models import FirstArticle, SubmissionList, VerdictPaper
from tests.access.twins import twin
from tests.cast import Cast, make_cast, person
from tests.own_keys import browser_key, in_register, passkey
from tests.unsealed import unsealed
from tests.world import World, csv, curve, make_world, terms

CANARY = "canary"


class Undone(Exception):
    """Raised to leave a savepoint without keeping anything."""


@contextmanager
def undone() -> Iterator[None]:
    """Whatever happens inside is rolled back at the end."""
    try:
        with transaction.atomic():
            yield
            raise Undone
    except Undone:
        pass


@contextmanager
def quiet_settings(folder: Path) -> Iterator[None]:
    """Files in `folder`, fast passwords, no throttle between thousands of requests."""
    changed = override_settings(
        VAR_DIR=folder,
        BLOB_DIR=folder / "blobs",
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
        EMAIL_BACKEND="django.core.mail.backends.locmem.EmailBackend",
        CACHES={"default": {"BACKEND": "django.core.cache.backends.dummy.DummyCache"}},
        ALLOWED_HOSTS=["testserver"],
    )
    logging.disable(logging.CRITICAL)  # refusals by the thousand are what is asked for here
    try:
        with changed:
            yield
    finally:
        logging.disable(logging.NOTSET)


@contextmanager
def html_for_pdf() -> Iterator[None]:
    """The HTML of a document stands for its PDF, unsealed."""
    kept = pdf.render, pdfseal.certify, pdfseal.countersign
    pdf.render = lambda html, **_facts: html.encode()  # type: ignore[assignment]
    pdfseal.certify = pdfseal.countersign = unsealed  # type: ignore[assignment]
    try:
        yield
    finally:
        pdf.render, pdfseal.certify, pdfseal.countersign = kept


# Who takes part, and as what: (seat in the agreement, seat in the supplier's register). A pair is
# (side, role). Whoever has no seat is a stranger there.
AGREEMENT = {
    "customer_lead": ("customer", "lead"),
    "customer_deputy": ("customer", "deputy"),
    "customer_colleague": ("customer", "staff"),
    "customer_reader": ("customer", "reader"),
    "customer_observer": ("customer", "observer"),
    "customer_admin": ("customer", "administrator"),
    "supplier_lead": ("supplier", "lead"),
    "supplier_deputy": ("supplier", "deputy"),
    "supplier_staff": ("supplier", "staff"),
    "supplier_observer": ("supplier", "observer"),
    "auditor": ("auditor", "reader"),
    "auditor_lead": ("auditor", "lead"),
}
REGISTER = {
    "supplier_lead": ("own", "lead"),
    "supplier_deputy": ("own", "deputy"),
    "supplier_staff": ("own", "staff"),
    "supplier_observer": ("own", "observer"),
    "supplier_admin": ("own", "administrator"),
    "supplier_reader": ("own", "reader"),
    "auditor_lead": ("auditor", "lead"),
    "auditor": ("auditor", "reader"),
    "auditor_admin": ("auditor", "administrator"),
}
SIGNED_IN = tuple(dict.fromkeys([*AGREEMENT, *REGISTER, "stranger"]))
ANONYMOUS = "anonymous"
EVERYONE = (*SIGNED_IN, ANONYMOUS)
SEATS = {"agreement": AGREEMENT, "register": REGISTER}


@dataclass
class Stage:
    """The world, its things by name, and how to reach them."""

    world: World
    things: dict[str, Any] = field(default_factory=dict)
    handlers: dict[bool, Any] = field(default_factory=dict)

    @property
    def cast(self) -> Cast:
        """Who is there."""
        return self.world.cast

    @property
    def agreement(self) -> Dossier:
        """The agreement between customer and supplier."""
        return self.cast.agreement

    @property
    def register(self) -> Dossier:
        """The supplier's register."""
        return self.cast.registers["supp"]

    def dossier(self, place: str) -> Dossier:
        """The dossier called so in the table."""
        return self.agreement if place == "agreement" else self.register

    def get(self, name: str) -> Any:
        """A thing as it stands in the database."""
        thing = self.things[name]
        return type(thing)._default_manager.get(pk=thing.pk)

    def client(self, who: str, *, strict: bool = False) -> Client:
        """A client signed in as `who` ("anonymous": not signed in); `strict` checks CSRF tokens."""
        client = Client(enforce_csrf_checks=strict, raise_request_exception=False)
        # Loading the middleware again for each of thousands of clients would take half of the time.
        client.handler = self.handlers.setdefault(strict, client.handler)
        if who != ANONYMOUS:
            client.cookies[settings.SESSION_COOKIE_NAME] = self.things["sessions"][who]
        return client


def extra_seats(cast: Cast) -> None:
    """Roles and seats that the cast does not have. No transition seats an administrator in an
    agreement or in another firm's register, an auditor's lead as such, or an auditor in a register:
    marks must hold anyhow."""
    for key, firm, name, role in (
        ("customer_deputy", "cust", "Dora Vellmar", Role.DEPUTY),
        ("customer_reader", "cust", "Rea Vellmar", Role.READER),
        ("customer_admin", "cust", "Adam Vellmar", Role.ADMINISTRATOR),
        ("supplier_reader", "supp", "Rolf Quarrow", Role.READER),
        ("auditor_lead", "audit", "Lea Fennel", Role.QUALITY_LEAD),
        ("auditor_admin", "audit", "Abel Fennel", Role.ADMINISTRATOR),
        ("unseated", "cust", "Una Vellmar", Role.QUALITY_STAFF),
    ):
        cast.people[key] = who = person(key, name)
        Membership.objects.create(organisation=cast.firms[firm], person=who, role=role)
    sit(cast.agreement, "customer", cast.customer_deputy, Role.DEPUTY)
    sit(cast.agreement, "customer", cast.customer_reader, Role.READER)
    sit(cast.agreement, "customer", cast.customer_admin, Role.ADMINISTRATOR)
    sit(cast.agreement, "auditor", cast.auditor_lead, Role.QUALITY_LEAD)
    register = cast.registers["supp"]
    sit(register, "own", cast.supplier_reader, Role.READER)
    Seat.objects.create(
        dossier=register, organisation=cast.firms["audit"], side=Side.AUDITOR, code="O-GUEST"
    )
    sit(register, "auditor", cast.auditor_lead, Role.QUALITY_LEAD)
    sit(register, "auditor", cast.auditor, Role.READER)
    sit(register, "auditor", cast.people["auditor_admin"], Role.ADMINISTRATOR)


def sit(dossier: Dossier, side: str, who: Person, role: str) -> None:
    """Seat somebody by hand."""
    seat = Seat.objects.get(dossier=dossier, side=side)
    Sitter.objects.create(
        dossier=dossier, seat=seat, person=who, role=role, code=f"P-{who.name.split()[0].upper()}"
    )


def build() -> Stage:
    """Play the world. Must be called inside `quiet_settings` and `html_for_pdf`."""
    cast = make_cast()
    extra_seats(cast)
    stage = Stage(make_world(cast))
    fill_register(stage)
    fill_keys(stage)
    fill_negotiation(stage)
    fill_shipments(stage)
    fill_disputes(stage)
    day = stage.world.today
    agreeing.suspend(stage.agreement, by=stage.world.customer, from_day=day, reason="Holiday")
    agreeing.resume(stage.agreement, by=stage.world.customer, from_day=day, reason="Back")
    copy = ask_for_record(stage.agreement, by=stage.world.customer)
    stage.things["copy"] = copy
    note = read_note(current_note(stage.agreement))
    stage.things["comparison"] = compare(stage.agreement, by=stage.world.customer, note=note)
    free_auditors_seat(stage.agreement)
    stage.things["invitation"] = invite(
        stage.world.customer,
        email=f"{CANARY}.guest@example.org",
        side="auditor",
        organisation_name="Invited firm",
    )
    Seat.objects.filter(dossier=stage.agreement, side=Side.REFEREE).update(side=Side.AUDITOR)
    queue.drain()
    sign_in(stage)
    return stage


def free_auditors_seat(dossier: Dossier) -> None:
    """The guest's seat is a referee's, and another may be invited as auditor; nobody gets up."""
    Seat.objects.filter(dossier=dossier, side=Side.AUDITOR).update(side=Side.REFEREE)


def sign_in(stage: Stage) -> None:
    """A session for each who can sign in: signing in every time would cost most of the time."""
    sessions = stage.things["sessions"] = {}
    for who in SIGNED_IN:
        client = Client()
        client.force_login(
            stage.cast.people[who], backend="django.contrib.auth.backends.ModelBackend"
        )
        sessions[who] = client.cookies[settings.SESSION_COOKIE_NAME].value


def fill_register(stage: Stage) -> None:
    """The supplier's register, with what is due; a pack of chips here and in the agreement."""
    world, things = stage.world, stage.things
    lead = world.by(stage.cast.supplier_lead, "supp")
    things["booth"] = world.booths["supp"]
    due = world.today - dt.timedelta(days=1)
    things["instrument"] = world.instrument(lead, name="Overdue one", calibration_due=due)
    scan = SimpleUploadedFile("sheet.pdf", b"%PDF-1.4 sheet", "application/pdf")
    observer = world.observers["supp"][0]
    facts = {"score": 8, "valid_from": world.today, "scan": scan}
    things["observer"] = supersede(observer, by=lead, **facts)
    world.observers["supp"][0] = things["observer"]
    for place, by in (("register", lead), ("agreement", world.supplier)):
        pack = _reference(by, f"Pack {place}", "chip_pack", world.today)
        add_chips(pack, by=by, labels=["1", "2"])
        things[f"pack_{place}"] = pack
        things[f"chip_{place}"] = Chip.objects.filter(reference_key=pack.key).order_by("name")[0]
        kind = "master" if place == "register" else "retained"
        things[f"reference_{place}"] = _reference(by, f"Piece {place}", kind, world.today)
    things["observer_plain"] = world.observers["supp"][1]
    things["duplicate"] = twin(
        things["reference_register"], kind="duplicate", name="Duplicate", master_key=uuid.uuid4()
    )
    things["invitation_register"] = invited = invite(
        lead, email=f"{CANARY}.own@example.org", role="deputy"
    )
    things["token"] = invited.token


def _reference(by: Any, name: str, kind: str, today: dt.date) -> Reference:
    facts = {"kind": kind, "made_as": "painted_panel", "part": "X-9", "colour": "Sand"}
    return enter(Reference, by=by, name=name, issued_on=today, opened_on=today, **facts)


def fill_keys(stage: Stage) -> None:
    """The supplier's deputy has a passkey, and made another key that waits for a colleague."""
    deputy = in_register(stage.cast, stage.cast.supplier_deputy)
    passkey(deputy)
    browser_key(deputy)


def fill_negotiation(stage: Stage) -> None:
    """The signed revision, a remark of each side, and a draft of the customer's."""
    world, things = stage.world, stage.things
    things["revision"] = signed = Revision.objects.get(dossier=stage.agreement, status="signed")
    for side, by in (("customer", world.customer), ("supplier", world.supplier)):
        agreeing.make_remark(signed, by=by, clause="scope", item="", text=f"Remark of the {side}")
        things[f"remark_{side}"] = Remark.objects.get(side=side)
    things["draft"] = agreeing.take_up(signed, by=world.customer)


def fill_shipments(stage: Stage) -> None:
    """First articles and lots, one in each state."""
    world, things = stage.world, stage.things
    things["article_approved"] = FirstArticle.objects.get(dossier=stage.agreement, number="FA-1")
    things["article_preparing"] = world.article("FA-2")
    things["article_submitted"] = world.submitted_article("FA-3")
    things["lot_open"] = lot = world.open_lot("L-10")
    world.gather(world.staff, lot.subject)
    things["file"] = EvidenceFile.objects.get(subject=lot.subject)
    things["set"] = MeasuredSet.objects.get(subject=lot.subject)
    second = world.observers["supp"][1]
    things["sitting"] = world.sit(world.staff, lot.subject, {"1": "accept"}, [second])
    upload = SimpleUploadedFile("fresh.csv", csv([("1", curve())]), "text/csv")
    things["file_fresh"] = evidencing.take_file(
        stage.agreement, by=world.staff, upload=upload, subject=lot.subject
    )
    upload = SimpleUploadedFile("report.pdf", b"%PDF-1.4 report", "application/pdf")
    beside = {"by": world.staff, "subject": lot.subject}
    things["document"] = evidencing.add_document(
        stage.agreement, upload=upload, answers="booth_report", **beside
    )
    things["piece"] = evidencing.retain_piece(stage.agreement, seal="S-9", **beside)
    things["lot_judged"] = world.judged_lot("L-11")
    papers = TermsPaper.objects.filter(revision=things["revision"], place=2)
    things["terms_paper"] = papers.order_by("language")[0]
    things["submission"] = world.last_submission(things["lot_judged"])
    things["verdict"] = things["submission"].verdict
    things["list_drawn_up"] = _list(world, things["lot_judged"])
    signed = _list(world, things["article_submitted"])
    things["list_signed"] = shipping.sign_list(signed, by=world.supplier)
    things["paper"] = VerdictPaper.objects.filter(verdict=things["verdict"]).order_by("language")[0]
    things["lot_released"] = world.released_lot("L-12")
    things["lot_received"] = received = world.received_lot("L-13")
    customer = world.by(stage.cast.customer_colleague)
    world.gather(customer, received.subject, 0.08, "reject")
    things["sitting_customer"] = Sitting.objects.get(subject=received.subject, side_only="customer")


def _list(world: World, what: Any) -> SubmissionList:
    """A list of what was handed in for one thing."""
    rows = what.submissions.all()
    return shipping.draw_up_list(what.dossier, by=world.staff, submissions=rows)


def fill_disputes(stage: Stage) -> None:
    """A raised dispute, and an answered one with statements, notes and an offer."""
    world, things = stage.world, stage.things
    things["dispute_raised"] = world.rejected_lot("L-14")
    things["offer"] = world.offered("L-15")
    things["dispute"] = dispute = things["offer"].dispute
    upload = SimpleUploadedFile("photo.txt", b"what was seen", "text/plain")
    disputing.post(dispute, by=world.staff, text="See the file.", upload=upload)
    things["post"] = Post.objects.get(text="See the file.")
    for side, by in (("customer", world.customer), ("supplier", world.supplier)):
        disputing.keep_note(dispute, by=by, text=f"Note of the {side}")
        things[f"note_{side}"] = Note.objects.get(side_only=side)


def proposed_by(stage: Stage, side: str) -> Revision:
    """An amendment put before the other side (the customer's draft is put aside for it)."""
    world = stage.world
    by = world.customer if side == "customer" else world.supplier
    Draft.objects.filter(dossier=stage.agreement, side_only=side).delete()
    data = terms_bytes(terms("spectral"))
    draft = Draft.objects.create(
        dossier=stage.agreement, side_only=side, terms=data, based_on=stage.get("revision")
    )
    return agreeing.propose(draft, by=by)
