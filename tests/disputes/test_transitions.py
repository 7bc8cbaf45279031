"""A dispute from the rejection to the settlement, every refusal on the way, and the mails."""

from __future__ import annotations

import json
import re

import pytest
from django.core import mail
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext

from disputes import transitions
from disputes.models import Dispute, Note, Offer, Post
from jobs import queue
from jobs.models import Mail
from ledger import blobs
from ledger.canonical import digest
from ledger.models import Entry
from method.deadlines import due_day
from parties.models import Signature
from parties.refusal import Refusal
from shipments.models import Lot
from shipments.transitions.lots import terms_of

PIECES = {"returned": 60, "sorted_out": 40}


def refused(call, *args, **kwargs) -> Refusal:
    """The refusal; neither the chain nor the outbox grows by what is refused."""
    before = Entry.objects.count(), Mail.objects.count()
    with pytest.raises(Refusal) as caught:
        call(*args, **kwargs)
    assert str(caught.value)
    assert (Entry.objects.count(), Mail.objects.count()) == before
    return caught.value


def fresh(row):
    return type(row).objects.get(pk=row.pk)


def kinds(subject: str) -> list[str]:
    return [e.kind for e in Entry.objects.filter(subject=subject).order_by("number")]


def offer_of(dispute: Dispute, by, **more) -> Offer:
    values = {"remedy": "replace", "text": "As said.", "pieces": PIECES, "costs": "supplier"}
    return transitions.offer_remedy(dispute, by=by, **values | more)


def told(world, since: int) -> dict[str, str]:
    """Address → body of the mails written since; sent through the outbox, never at once."""
    assert mail.outbox == [] or len(mail.outbox) <= Mail.objects.count()
    return {row.to: row.body for row in Mail.objects.order_by("pk")[since:]}


SUPPLIERS = {f"supplier_{who}@example.org" for who in ("lead", "deputy", "staff")}
CUSTOMERS = {"customer_lead@example.org", "customer_colleague@example.org"}


def test_a_rejection_begins_a_dispute_with_grounds_and_a_day(world):
    dispute = world.rejected_lot()
    lot = fresh(dispute.lot)
    disputes = terms_of(lot).disputes
    assert (lot.status, dispute.number, dispute.status) == ("rejected", 1, "raised")
    assert dispute.answer_due == due_day(world.today, disputes.answer_days, disputes)
    entry = Entry.objects.get(kind="dispute.raised")
    assert entry.payload["grounds"][0]["specimens"] == ["1", "2", "3"]
    assert entry.payload["containment"] == {"in_stock": 100}
    same_act = Entry.objects.filter(chain=entry.chain, act=entry.act).order_by("number")
    assert [one.kind for one in same_act] == ["lot.rejected", "submission.made", "dispute.raised"]
    about = Mail.objects.filter(body__contains=dispute.get_absolute_url())
    assert {one.to for one in about} == SUPPLIERS
    queue.drain()
    assert {one.to[0] for one in mail.outbox} >= SUPPLIERS


def test_a_long_statement_can_be_made_when_rejecting(world):
    lot = world.received_lot()
    world.gather(world.by(world.cast.customer_colleague), lot.subject, 0.08, "reject")
    dispute = transitions.reject(
        lot,
        by=world.customer,
        clause="tolerances",
        compared_with="target",
        specimens=["1"],
        text="Long. " * 1500,
        contained={},
    )
    assert Entry.objects.get(kind="dispute.raised").payload["text"] == dispute.text


def test_a_rejection_without_evidence_leaves_no_dispute(world):
    lot = world.received_lot()
    refusal = refused(
        transitions.reject,
        lot,
        by=world.customer,
        clause="tolerances",
        compared_with="target",
        specimens=[],
        text="x",
        contained={},
    )
    assert refusal.id == "no_evidence"
    assert not Dispute.objects.exists() and fresh(lot).status == "received"


def test_the_supplier_answers_once_and_the_customer_is_told(world):
    dispute = world.rejected_lot()
    sent = Mail.objects.count()
    refusal = refused(transitions.answer, dispute, by=world.customer, text="x", contained={})
    assert refusal.id == "wrong_side"
    transitions.answer(dispute, by=world.staff, text="We look.", contained={"sold": 3, "x": 0})
    assert (dispute.status, dispute.posts.get().kind) == ("answered", "answer")
    assert dispute.examination_due and dispute.examination_due > world.today
    assert Entry.objects.get(kind="dispute.answered").payload["facts"] == {"sold": 3}
    assert set(told(world, sent)) == CUSTOMERS
    refusal = refused(transitions.answer, dispute, by=world.staff, text="x", contained={})
    assert refusal.id == "wrong_state"


def test_the_examination_begins_after_the_answer(world):
    dispute = world.rejected_lot()
    assert refused(transitions.begin_examination, dispute, by=world.customer).id == "wrong_state"
    transitions.answer(dispute, by=world.staff, text="x", contained={})
    transitions.begin_examination(dispute, by=world.customer)
    assert dispute.status == "examining"
    assert kinds(dispute.subject)[-1] == "examination.begun"
    assert refused(transitions.begin_examination, dispute, by=world.staff).id == "wrong_state"


def test_a_statement_with_a_file_is_an_entry_with_its_blob(world):
    dispute = world.rejected_lot()
    sent = Mail.objects.count()
    upload = SimpleUploadedFile("photo.png", b"\x89PNG 1", "image/png")
    transitions.post(dispute, by=world.customer, text="Look.", upload=upload)
    said = dispute.posts.get()
    entry = Entry.objects.get(kind="post.made")
    assert entry.blobs == [digest(b"\x89PNG 1")] == entry.payload["files"]
    assert blobs.get(dispute.dossier.chain, entry.blobs[0]) == b"\x89PNG 1"
    assert said.files[0]["name"] == "photo.png"
    assert set(told(world, sent)) == SUPPLIERS


@pytest.mark.parametrize("data", [b"", b"x" * (20 * 2**20 + 1)])
def test_a_file_that_is_empty_or_too_large_is_refused(world, data):
    dispute = world.rejected_lot()
    upload = SimpleUploadedFile("f", data)
    refusal = refused(transitions.post, dispute, by=world.customer, text="x", upload=upload)
    assert (refusal.id, refusal.field) == (
        "file_large" if data else "file_empty",
        "upload",
    )
    assert not dispute.posts.exists()


def test_a_statement_is_struck_by_its_own_side_once_and_stays(world):
    dispute = world.answered()
    said = dispute.posts.get()
    strike = transitions.strike
    assert refused(strike, said, by=world.customer, reason="x").id == "wrong_side"
    strike(said, by=world.supplier, reason="Sent too early.")
    assert (fresh(said).text, fresh(said).struck_reason) == ("We look again.", "Sent too early.")
    assert kinds(said.subject) == ["post.struck"]
    assert refused(strike, said, by=world.supplier, reason="y").id == "struck"
    with pytest.raises(IntegrityError), transaction.atomic():
        Post.objects.filter(pk=said.pk).update(struck_reason="", struck_at=None)
    assert fresh(said).struck_reason == "Sent too early."


def test_a_private_note_is_nobody_elses_and_no_entry(world, sign_in):
    dispute = world.rejected_lot()
    before = Entry.objects.count(), Mail.objects.count()
    transitions.keep_note(dispute, by=world.staff, text="Between us: it was line three.")
    assert (Entry.objects.count(), Mail.objects.count()) == before
    url = dispute.get_absolute_url()
    assert b"line three" in sign_in(world.cast.supplier_lead).get(url).content
    for who in ("customer_lead", "auditor"):
        assert b"line three" not in sign_in(getattr(world.cast, who)).get(url).content
    with pytest.raises(IntegrityError), transaction.atomic():
        Note.objects.create(dossier=dispute.dossier, dispute=dispute, author="x", text="shared")


@pytest.mark.parametrize(
    "pieces",
    [{"returned": 99}, {"returned": 101}, {}, {"returned": 200, "accepted": -100}],
)
def test_pieces_that_do_not_add_up_are_refused(world, pieces):
    dispute = world.answered()
    refusal = refused(offer_of, dispute, world.supplier, pieces=pieces)
    assert (refusal.id, refusal.field) == ("pieces", "accepted")
    assert "100" in str(refusal)
    assert fresh(dispute).status == "answered" and not Offer.objects.exists()


def test_an_offer_is_the_settlement_word_for_word(world):
    dispute = world.answered()
    sent = Mail.objects.count()
    offer = offer_of(dispute, world.supplier, lessons="Name the lamp.")
    document = json.loads(bytes(offer.bytes))
    assert digest(bytes(offer.bytes)) == offer.digest
    assert document["pieces"] == PIECES and document["precedent"] is False
    assert [one["purpose"] for one in document["evidence"]] == ["lot", "rejection"]
    assert [one["outcome"] for one in document["evidence"]] == ["conforming", "nonconforming"]
    assert document["terms"] == dispute.lot.revision.digest
    assert fresh(dispute).status == "remedy_offered"
    assert set(told(world, sent)) == CUSTOMERS


def test_no_remedy_is_offered_before_the_answer(world):
    dispute = world.rejected_lot()
    assert refused(offer_of, dispute, world.supplier).id == "wrong_state"


def test_a_further_offer_replaces_an_open_one_but_no_signed_one(world):
    first = world.offered()
    second = offer_of(first.dispute, world.customer)
    assert (fresh(first).status, second.number) == ("replaced", 2)
    assert refused(transitions.sign_settlement, fresh(first), by=world.customer).id == "wrong_state"
    transitions.sign_settlement(second, by=world.customer)
    assert refused(offer_of, first.dispute, world.supplier).id == "signed_offer"
    assert fresh(second).status == "signed_by_one"


def test_an_offer_is_declined_with_a_reason_also_when_one_side_signed(world):
    offer = world.offered()
    transitions.sign_settlement(offer, by=world.customer)
    transitions.decline_offer(offer, by=world.staff, reason="Not for all pieces.")
    assert (fresh(offer).status, fresh(offer.dispute).status) == ("declined", "examining")
    assert kinds(offer.subject)[-1] == "remedy.declined"
    assert refused(transitions.decline_offer, offer, by=world.staff, reason="x").id == "wrong_state"
    assert refused(transitions.sign_settlement, offer, by=world.supplier).id == "wrong_state"
    assert offer_of(offer.dispute, world.supplier).number == 2


def test_both_leads_sign_the_same_bytes_and_the_lot_is_closed(world):
    offer = world.offered()
    transitions.sign_settlement(offer, by=world.supplier)
    assert (offer.status, offer.first_signer) == ("signed_by_one", "supplier")
    assert fresh(offer.dispute).status == "remedy_offered"
    transitions.sign_settlement(offer, by=world.customer)
    assert (fresh(offer).status, fresh(offer.dispute).status) == ("settled", "settled")
    assert fresh(offer.dispute.lot).status == "closed"
    made = Signature.objects.filter(what="settlement").order_by("created_at")
    assert [(one.side, one.digest) for one in made] == [
        ("supplier", offer.digest), ("customer", offer.digest),
    ]  # fmt: skip
    assert kinds(offer.dispute.lot.subject)[-1] == "lot.closed"
    assert kinds(offer.dispute.subject)[-1] == "dispute.settled"


def test_a_side_does_not_sign_twice(world):
    offer = world.offered()
    transitions.sign_settlement(offer, by=world.supplier)
    assert refused(transitions.sign_settlement, offer, by=world.supplier).id == "signed"
    assert Signature.objects.filter(what="settlement").count() == 1


def test_who_looks_at_a_stale_offer_is_told_so(world):
    """Both leads had the page open: the second of two first signatures does not overwrite."""
    offer = world.offered()
    stale = fresh(offer)
    transitions.sign_settlement(offer, by=world.supplier)
    assert refused(transitions.sign_settlement, stale, by=world.customer).id == "wrong_state"
    assert Signature.objects.filter(what="settlement").count() == 1


@pytest.mark.parametrize(
    "who", ["supplier_staff", "supplier_deputy", "customer_colleague", "customer_observer"]
)
def test_only_a_lead_settles(world, who):
    offer = world.offered()
    by = world.by(getattr(world.cast, who))
    assert refused(transitions.sign_settlement, offer, by=by).id == "signing.role"
    assert fresh(offer).status == "open"


def test_the_customer_withdraws_and_the_lot_counts_as_accepted(world):
    offer = world.offered()
    transitions.sign_settlement(offer, by=world.supplier)
    dispute = offer.dispute
    refusal = refused(transitions.withdraw, dispute, by=world.supplier, reason="x")
    assert refusal.id == "wrong_side"
    transitions.withdraw(dispute, by=world.customer, reason="Our lamp was old.")
    assert fresh(dispute).status == "withdrawn"
    assert Lot.objects.get(pk=dispute.lot_id).status == "accepted"
    assert fresh(offer).status == "declined"  # nobody is asked to sign it any more
    assert refused(transitions.sign_settlement, fresh(offer), by=world.customer).id == "wrong_state"
    assert kinds(dispute.subject)[-1] == "dispute.withdrawn"


@pytest.mark.parametrize("end", ["settled", "withdrawn"])
def test_a_closed_dispute_stays_closed(world, end):
    if end == "settled":
        dispute = world.settled()
    else:
        dispute = transitions.withdraw(world.answered(), by=world.customer, reason="x")
    do = transitions
    assert refused(do.post, dispute, by=world.customer, text="x").id == "closed"
    assert refused(offer_of, dispute, world.supplier).id == "wrong_state"
    assert refused(do.withdraw, dispute, by=world.customer, reason="x").id == "wrong_state"
    assert refused(do.begin_examination, dispute, by=world.customer).id == "wrong_state"
    assert refused(do.answer, dispute, by=world.staff, text="x", contained={}).id == "wrong_state"


def test_two_disputes_of_an_agreement_are_numbered(world):
    first, second = world.rejected_lot("L-1"), world.rejected_lot("L-2")
    assert (first.number, second.number) == (1, 2)


def test_mails_say_no_more_than_where_to_look(world):
    """No score, no statement, no token: a link to a page that asks who you are, and the public one
    on which the mail itself can be checked."""
    world.offered()
    for row in Mail.objects.all():
        assert "Darker than the master" not in row.body and "We replace" not in row.body
        page, check = re.findall(r"http\S+", row.body)
        assert check.endswith(reverse("desk:held-checkpoint"))
        assert "?" not in page + check


def test_a_mail_is_in_its_readers_language(world):
    world.cast.supplier_lead.language = "zh-hans"
    world.cast.supplier_lead.save()
    world.rejected_lot()
    words = "The customer has rejected lot %(lot)s and says why."
    for who, language in (("supplier_lead", "zh-hans"), ("supplier_staff", "en")):
        with translation.override(language):
            wanted = gettext(words) % {"lot": "L-1"}
        row = Mail.objects.filter(to=f"{who}@example.org").order_by("-pk")[0]
        assert row.body.startswith(wanted), who
