"""A played world for pictures and page checks: every kind of object, made by the transitions.

One agreement with an instrument, one without; a negotiation with remarks, a dispute with an
offer, one settled, lots in several states. Invented throughout.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass, field
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile

from agreements import transitions as agreeing
from agreements.models import Draft, Remark, Revision, TermsPaper
from desk.comparing import compare
from desk.models import RecordCopy
from desk.records import ask_for_record
from disputes import transitions as disputing
from disputes.models import Offer, Post
from evidence import transitions as evidencing
from evidence.models import EvidenceFile, MeasuredSet, Sitting
from jobs import queue
from ledger.notes import read_note
from method.terms.document import terms_bytes
from method.terms.edit import with_values
from parties import reading
from parties.models import Chip, Dossier, Reference, Side
from parties.transitions import add_chips, enter, invite, open_agreement
from shipments import transitions as shipping
from shipments.models import FirstArticle, VerdictPaper
from tests.cast import Cast
from tests.own_keys import browser_key, confirmed, in_register, passkey
from tests.world import World, terms

# One white pixel: what a scan of a printed sheet is in tests.
SCAN = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGP4DwABAQEAsTf0WgAAAABJRU5ErkJggg=="
)


@dataclass
class Played:
    """The worlds, and the objects that pages are about, by the key used in `pages.PAGES`."""

    cast: Cast
    world: World
    visual: World
    dossiers: dict[str, Dossier]
    found: dict[str, Any] = field(default_factory=dict)

    def papers(self) -> list[VerdictPaper | TermsPaper]:
        """One PDF per agreement, outcome and language; of terms those sealed for both sides."""
        terms_papers = TermsPaper.objects.filter(place=2).order_by("dossier__title", "created_at")
        verdicts = VerdictPaper.objects.order_by("dossier__title", "created_at")
        return [*verdicts, *terms_papers]


def negotiate(world: World) -> Revision:
    """A proposal, remarks, a counter, and the signatures of both sides."""
    dossier = world.cast.agreement
    draft = Draft.objects.create(
        dossier=dossier, side_only=Side.CUSTOMER, terms=terms_bytes(terms(world.kind))
    )
    first = agreeing.propose(draft, by=world.customer, note="As discussed at the booth.")
    told = agreeing.make_remark(
        first, by=world.staff, clause="decision", text="Three specimens are few."
    )
    agreeing.strike(told, by=world.staff, reason="Settled by telephone.")
    agreeing.make_remark(first, by=world.staff, clause="viewing", text="Our booth is a year old.")
    own = agreeing.take_up(first, by=world.supplier)
    changed = with_values(own.document, "observers", {"greatest_score_panel": "20"})
    agreeing.rewrite(own, by=world.supplier, terms=changed)
    own.refresh_from_db()
    second = agreeing.counter(own, by=world.supplier, note="A panel score of 20 is enough for us.")
    second = agreeing.agree(second, by=world.customer, digest=second.digest)
    second = agreeing.sign(second, by=world.customer, digest=second.digest)
    return agreeing.sign(second, by=world.supplier, digest=second.digest)


def play(cast: Cast) -> Played:
    """Everything; jobs are run in this process."""
    world = World(cast)
    world.fill_registers()
    negotiate(world)
    world.enter_standard()
    world.approved_article()
    visual = beside(world)
    dossiers = {
        "agreement": world.cast.agreement,
        "visual": visual.cast.agreement,
        "customer": cast.registers["cust"],
        "supplier": cast.registers["supp"],
        "opened": open_agreement(
            cast.capacity(cast.customer_lead), title="Door trims (invented)", side=Side.CUSTOMER
        ),
    }
    played = Played(cast, world, visual, dossiers)
    ship(played)
    dispute(played)
    negotiate_on(played)
    registers(played)
    invitations(played)
    copy_of_the_record(played)
    own_keys(played)
    queue.drain()
    return played


def own_keys(played: Played) -> None:
    """The supplier's lead holds a passkey, and made another key that waits for a colleague."""
    cast = played.world.cast
    lead = in_register(cast, cast.supplier_lead)
    confirmed(cast, passkey(lead, origin=settings.PUBLIC_URL))
    browser_key(lead)


def beside(world: World) -> World:
    """A second agreement of the same firms, decided by eye alone."""
    dossier = Dossier.objects.create(
        purpose=Dossier.Purpose.AGREEMENT, title="Textured covers, by eye (invented)"
    )
    cast = Cast(world.cast.people, world.cast.firms, world.cast.registers, dossier)
    cast.other = world.cast.other
    for key, side in (("cust", Side.CUSTOMER), ("supp", Side.SUPPLIER), ("audit", Side.AUDITOR)):
        cast.seat(dossier, key, side)
    visual = World(cast, "visual", world.booths, world.instruments, world.observers)
    visual.sign_terms()
    visual.enter_standard()
    visual.approved_article()
    visual.judged_lot("V-1")
    visual.judged_lot("V-2", outcome="reject")
    return visual


def ship(played: Played) -> None:
    """Articles and lots in several states, with evidence not yet handed in."""
    world = played.world
    played.found["article_open"] = world.article("FA-2")
    played.found["article_judged"] = world.submitted_article("FA-3")
    played.found["article"] = FirstArticle.objects.get(number="FA-1", dossier=world.cast.agreement)
    played.found["lot_open"] = lot = world.open_lot("L-10")
    world.gather(world.staff, lot.subject)
    played.found["lot_judged"] = world.judged_lot("L-11")
    played.found["lot_failed"] = world.judged_lot("L-12", shift=0.08)
    played.found["lot_between"] = world.judged_lot("L-13", shift=0.0165)
    played.found["lot_released"] = world.released_lot("L-14")
    played.found["lot_received"] = world.received_lot("L-15")
    about = {"by": world.staff, "subject": lot.subject}
    report = SimpleUploadedFile("booth-report.pdf", b"%PDF-1.4 invented", "application/pdf")
    played.found["document"] = evidencing.add_document(
        world.cast.agreement, upload=report, answers="booth_report", **about
    )
    played.found["piece"] = evidencing.retain_piece(
        world.cast.agreement, seal="S-77", specimen="1", **about
    )
    mine = {"dossier": world.cast.agreement, "side_only": Side.SUPPLIER}
    played.found["file"] = EvidenceFile.objects.filter(**mine).order_by("created_at")[0]
    played.found["set"] = MeasuredSet.objects.filter(**mine).order_by("-created_at")[0]
    played.found["sitting"] = Sitting.objects.filter(**mine).order_by("-created_at")[0]
    played.found["submission"] = world.last_submission(played.found["lot_judged"])
    played.found["submission_failed"] = world.last_submission(played.found["lot_failed"])
    listed(played)


def listed(played: Played) -> None:
    """A list of evidence that waits for the lead, and a signed one."""
    world, found = played.world, played.found
    for name, keys in (("drawn_up", ("lot_judged", "lot_failed")), ("signed", ("lot_between",))):
        rows = [world.last_submission(found[key]) for key in keys]
        found[f"list_{name}"] = shipping.draw_up_list(
            world.cast.agreement, by=world.staff, submissions=rows
        )
    shipping.sign_list(found["list_signed"], by=world.supplier)


def dispute(played: Played) -> None:
    """One settled; one with statements, a file, a note and an open offer."""
    world = played.world
    world.settled("L-16")
    offer: Offer = world.offered("L-17")
    raised = offer.dispute
    sheet = SimpleUploadedFile("sheet.png", SCAN, "image/png")
    disputing.post(raised, by=world.customer, text="Our sheet is attached.", upload=sheet)
    disputing.post(raised, by=world.staff, text="Received on Monday.")
    disputing.keep_note(raised, by=world.supplier, text="Ask the moulder about the batch.")
    said = Post.objects.filter(dispute=raised, side=Side.SUPPLIER).order_by("created_at").last()
    played.found |= {"dispute": raised, "offer": offer, "post": said, "lot": offer.dispute.lot}


def negotiate_on(played: Played) -> None:
    """A change proposed by the supplier and agreed; the customer works on a draft of its own."""
    world = played.world
    signed = Revision.objects.get(dossier=world.cast.agreement, status=Revision.Status.SIGNED)
    own = agreeing.take_up(signed, by=world.supplier)
    changed = with_values(own.document, "observers", {"panel_size": "3"})
    agreeing.rewrite(own, by=world.supplier, terms=changed)
    own.refresh_from_db()
    third = agreeing.propose(own, by=world.supplier, note="A third observer is available.")
    draft = agreeing.take_up(third, by=world.customer)
    edited = with_values(draft.document, "observers", {"retest_months": "6"})
    agreeing.rewrite(draft, by=world.customer, terms=edited)
    played.found |= {
        "revision_signed": signed,
        "revision": third,
        "draft": draft,
        "remark": Remark.objects.filter(dossier=world.cast.agreement, clause="viewing").get(),
        "first": Revision.objects.get(dossier=world.cast.agreement, number=1),
    }


def registers(played: Played) -> None:
    """A pack of chips, one used, beside what the world has entered."""
    cast = played.cast
    by = cast.capacity(cast.supplier_lead, cast.registers["supp"])
    pack = enter(Reference, by=by, name="Pack 7", kind="chip_pack", issued_on="2026-01-31")
    add_chips(pack, by=by, labels=["A1", "A2"])
    played.found |= {
        "chip": Chip.objects.current().get(name="A1"),
        "reference": Reference.objects.filter(key=pack.key).current()[0],
        "booth": played.world.booths["supp"],
        "instrument": played.world.instruments["supp"],
        "observer": played.world.observers["supp"][0],
        "master": played.world.master,
    }


def invitations(played: Played) -> None:
    """One into a firm, one into an agreement that has no auditor yet."""
    cast = played.cast
    by = cast.capacity(cast.supplier_lead, cast.registers["supp"])
    played.found["invitation"] = invite(by, email="new.colleague@example.org", role="quality_staff")
    played.found["firm_invitation"] = invite(
        cast.capacity(cast.customer_lead, played.dossiers["opened"]),
        email="second@example.net",
        side=Side.AUDITOR,
        organisation_name="Second Audit",
    )


def copy_of_the_record(played: Played) -> None:
    """Copies made for the auditor, the whole and a part; a checkpoint compared."""
    world = played.world
    auditor = world.by(played.cast.auditor)
    made: RecordCopy = ask_for_record(world.cast.agreement, by=auditor)
    ask_for_record(world.cast.agreement, by=auditor, about=played.found["lot_judged"].subject)
    queue.drain()
    made.refresh_from_db()
    played.found["copy"] = made
    note = read_note(made.note)
    played.found["comparison"] = compare(world.cast.agreement, by=auditor, note=note)
    reading.page_read(auditor.sitter, "entry", 4)
