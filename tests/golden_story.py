"""What the golden record tells: a small invented agreement with nearly every kind of entry."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Iterator

from agreements import transitions as agreeing
from agreements.models import Draft, Revision
from disputes import transitions as disputing
from jobs import queue
from ledger import clock, export
from method.terms.document import terms_bytes
from method.terms.edit import with_values
from parties.keys import installation
from parties.signing import root_checkpoint
from parties.transitions import unseat
from shipments import transitions as shipping
from tests.cast import make_cast
from tests.world import World, curve, terms

FIRST = dt.datetime(2026, 3, 2, 8, 0, tzinfo=dt.UTC)


def moments() -> Iterator[dt.datetime]:
    """One chapter after the other, an hour apart."""
    for hours in range(10_000):
        yield FIRST + dt.timedelta(hours=hours)


def tell() -> World:
    """Play the story in the database that is set up; gives the world with its dossier."""
    world = World(make_cast())
    chapters = (agree_terms, correct_article, every_word, reject_and_settle, take_back, end)
    for moment, chapter in zip(moments(), chapters, strict=False):
        with clock.fixed(moment):
            chapter(world)
            queue.drain()
    return world


def agree_terms(world: World) -> None:
    """A withdrawn proposal, remarks, a counter-proposal, both signatures."""
    world.fill_registers()
    data = terms_bytes(terms("spectral"))

    def draft() -> Draft:
        dossier = world.cast.agreement
        return Draft.objects.create(dossier=dossier, side_only="customer", terms=data)

    revision = agreeing.propose(draft(), by=world.customer, note="A first proposal.")
    agreeing.withdraw(revision, by=world.customer, reason="The wrong part was named.")
    revision = agreeing.propose(draft(), by=world.customer)
    words = "Let us name the distance – 650 mm, “as at our booth” (约 650 毫米)."
    agreeing.make_remark(revision, by=world.supplier, clause="viewing", text=words)
    twice = agreeing.make_remark(revision, by=world.staff, clause="viewing", text=words)
    agreeing.strike(twice, by=world.staff, reason="Said twice.")
    mine = agreeing.take_up(revision, by=world.supplier)
    better = with_values(mine.document, "viewing", {"distance_mm": "650"})
    agreeing.rewrite(mine, by=world.supplier, terms=better)
    mine.refresh_from_db()
    revision = agreeing.counter(mine, by=world.supplier, note="With the distance.")
    sign(world, revision)
    world.enter_standard()


def sign(world: World, revision: Revision) -> None:
    """Both sides agree to and sign what the supplier countered with."""
    revision = agreeing.agree(revision, by=world.customer, digest=revision.digest)
    revision = agreeing.sign(revision, by=world.supplier, digest=revision.digest)
    agreeing.sign(revision, by=world.customer, digest=revision.digest)


def correct_article(world: World) -> None:
    """A first article is returned, submitted again and approved with limits; another as it is."""
    first = world.submitted_article("FA-1")
    shipping.return_article(first, by=world.customer, note="A run at the rim.")
    shipping.submit_article(first, by=world.staff, note="Sprayed anew.")
    queue.drain()
    shipping.approve_with_limits(first, by=world.customer, quantity=500, note="For the start.")
    world.approved_article("FA-2")


def every_word(world: World) -> None:
    """One lot per verdict word; one of them is withdrawn, one released and accepted."""
    lot = world.received_lot("L-1")
    shipping.accept_lot(lot, by=world.customer, note="As agreed.")
    lot = world.judged_lot("L-2", 0.08, "reject")
    shipping.withdraw_lot(lot, by=world.supplier, reason="To be painted again.")
    world.judged_lot("L-3", 0.0145)
    lot = world.open_lot("L-4")
    world.measure(world.staff, lot.subject, [("1", curve())])
    weak = world.observer(world.by(world.cast.supplier_lead, "supp"), "Untested", score=None)
    first = world.observers["supp"][0]
    world.sit(world.by(world.cast.supplier_observer), lot.subject, {"1": "accept"}, [first])
    world.sit(world.staff, lot.subject, {"1": "reject"}, [weak])
    shipping.submit_lot(lot, by=world.staff)


def reject_and_settle(world: World) -> None:
    """Rejected, answered, a statement struck, examined, an offer declined, another signed."""
    dispute = world.answered("L-5")
    disputing.post(dispute, by=world.customer, text="See the photograph.", upload=None)
    said = dispute.posts.get(kind="statement")
    disputing.strike(said, by=world.customer, reason="There is none.")
    disputing.begin_examination(dispute, by=world.staff)
    values = {"remedy": "credit", "text": "A tenth.", "pieces": {"accepted": 100}}
    offer = disputing.offer_remedy(dispute, by=world.supplier, costs="supplier", **values)
    disputing.decline_offer(offer, by=world.customer, reason="They cannot be used.")
    values = {"remedy": "replace", "text": "A new lot.", "pieces": {"returned": 100}}
    offer = disputing.offer_remedy(dispute, by=world.supplier, costs="supplier", **values)
    disputing.sign_settlement(offer, by=world.customer)
    disputing.sign_settlement(offer, by=world.supplier)


def take_back(world: World) -> None:
    """A second rejection is withdrawn, with a fresh reading of the target on the other side."""
    lot = world.received_lot("L-6")
    by = world.by(world.cast.customer_colleague)
    world.measure(by, lot.subject, [("standard", curve(0.05))], world.master)
    world.gather(by, lot.subject, 0.05)
    dispute = disputing.reject(
        lot,
        by=world.customer,
        clause="tolerances",
        compared_with="target",
        specimens=["1"],
        text="It looks darker.",
        contained={},
    )
    queue.drain()
    disputing.withdraw(dispute, by=world.customer, reason="Our standard had faded.")


def end(world: World) -> None:
    """Suspended, resumed, ended; a colleague leaves the seat."""
    dossier, today = world.cast.agreement, world.today
    agreeing.suspend(dossier, by=world.customer, from_day=today, reason="Move of the line.")
    agreeing.resume(dossier, by=world.customer, from_day=today, reason="Moved.")
    agreeing.end(dossier, by=world.supplier, from_day=today, reason="The part runs out.")
    leaver = world.by(world.cast.customer_colleague).sitter
    unseat(leaver, by=world.customer, reason="Another post.")


def record(world: World) -> tuple[bytes, str]:
    """The signed record of the dossier and the fingerprint of the installation's root."""
    out = io.BytesIO()
    with clock.fixed(FIRST + dt.timedelta(days=1)):
        checkpoint, jws = root_checkpoint(world.cast.agreement.chain)
    certificate = bytes(installation().certificate)
    export.write_record(
        world.cast.agreement.chain,
        out,
        checkpoint=checkpoint,
        checkpoint_jws=jws,
        root_der=certificate,
    )
    return out.getvalue(), installation().fingerprint
