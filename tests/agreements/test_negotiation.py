"""From the first draft to two signatures, and everything that is refused on the way."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from django.db import IntegrityError

from agreements import transitions
from agreements.models import Draft, Naming, Remark, Revision
from agreements.standing import in_force
from jobs.models import Mail
from ledger import blobs, chain, clock
from ledger.canonical import digest, parse
from ledger.kinds import Kind
from method.terms.document import terms_bytes
from method.terms.edit import with_values
from method.terms.starter import starter
from parties.models import Dossier, Invitation, Signature, Sitter
from parties.refusal import Refusal
from tests.agreements.conftest import complete


def kinds(dossier: Dossier) -> list[str]:
    return [entry.kind for entry in chain.entries(dossier.chain)]


def refused(id: str, do, *args, **kwargs) -> Refusal:
    """The act is refused with this id, and the chain does not grow."""
    with pytest.raises(Refusal) as caught:
        do(*args, **kwargs)
    assert caught.value.id == id
    assert str(caught.value)
    return caught.value


def test_a_firm_starts_an_agreement_and_the_other_side_is_invited(cast):
    register = cast.registers["cust"]
    by = cast.capacity(cast.customer_lead, register)
    dossier = transitions.start_agreement(
        register,
        by=by,
        title="Blue knobs",
        side="customer",
        terms="spectral",
        firm="Newcomer (invented)",
        email="lead@newcomer.example",
    )
    draft = Draft.objects.get(dossier=dossier)
    assert (draft.side_only, draft.document.title) == ("customer", "Blue knobs")
    invitation = Invitation.objects.get(dossier=dossier)
    assert (invitation.side, invitation.email) == ("supplier", "lead@newcomer.example")
    assert not chain.exists(dossier.chain)
    seated = Sitter.objects.filter(dossier=dossier, person=cast.customer_colleague)
    assert seated.count() == 1


def test_an_agreement_is_not_started_from_another_dossier(cast, table):
    values = {
        "title": "t",
        "side": "customer",
        "terms": "visual",
        "firm": "f",
        "email": "a@b.example",
    }
    refused(
        "agreement.not_own_register",
        transitions.start_agreement,
        cast.agreement,
        by=table.customer,
        **values,
    )


def test_the_first_proposal_opens_the_chain_and_freezes_the_terms(cast, table):
    draft = table.draft()
    data = bytes(draft.terms)
    revision = transitions.propose(draft, by=table.customer, note="Please look at clause 6.")
    assert (revision.number, revision.status, revision.proposed_by) == (1, "proposed", "customer")
    assert revision.digest == digest(data)
    assert blobs.get(cast.agreement.chain, revision.digest) == data
    assert not Draft.objects.filter(dossier=cast.agreement).exists()
    assert kinds(cast.agreement)[0] == Kind.DOSSIER_OPENED
    entry = chain.entries(cast.agreement.chain).get(kind=Kind.REVISION_PROPOSED)
    assert entry.blobs == [revision.digest]
    assert entry.payload["note"] == "Please look at clause 6."
    assert Naming.objects.get(revision=revision).side == "customer"
    told = set(Mail.objects.values_list("to", flat=True))
    assert told == {
        "supplier_lead@example.org",
        "supplier_deputy@example.org",
        "supplier_staff@example.org",
    }
    assert revision.get_absolute_url() in Mail.objects.first().body


def test_the_whole_negotiation(cast, table):
    with clock.fixed(datetime(2026, 3, 2, 9, tzinfo=UTC)):
        first = table.proposed()
        mine = transitions.take_up(first, by=table.supplier)
        changed = with_values(mine.document, "viewing", {"distance_mm": "600"})
        transitions.rewrite(mine, by=table.supplier, terms=changed)
        second = transitions.counter(mine, by=table.supplier)
        transitions.agree(second, by=table.customer, digest=second.digest)
        transitions.sign(second, by=table.supplier, digest=second.digest)
        assert second.status == "signed_by_one"
        assert in_force(cast.agreement, datetime(2026, 3, 2, tzinfo=UTC).date()) is None
        transitions.sign(second, by=table.customer, digest=second.digest)
    first.refresh_from_db()
    assert (first.status, second.status) == ("countered", "signed")
    assert (second.number, second.based_on_id) == (2, first.pk)
    assert in_force(cast.agreement, second.signed_at.date()) == second
    own = [kind for kind in kinds(cast.agreement) if kind.startswith("revision.")]
    assert own == [
        "revision.proposed",
        "revision.countered",
        "revision.agreed",
        "revision.signed",
        "revision.signed",
    ]
    statements = [parse(bytes(row.statement)) for row in Signature.objects.order_by("created_at")]
    assert [one["side"] for one in statements] == ["supplier", "customer"]
    assert {one["digest"] for one in statements} == {second.digest}
    # Each side's first signature already names the other side's key.
    assert set(statements[0]["keys"]) == {"customer", "supplier"}


@pytest.mark.parametrize("name", ["visual", "spectral"])
def test_starter_terms_can_be_proposed_once_completed(table, name):
    revision = transitions.propose(table.draft(terms=complete(name)), by=table.customer)
    assert revision.status == "proposed"


def test_blockers_forbid_proposing_and_name_how_many(table, cast):
    draft = table.draft(terms=starter("spectral"))  # names no part
    refused("terms.blockers", transitions.propose, draft, by=table.customer)
    assert not chain.exists(cast.agreement.chain)
    assert Draft.objects.filter(pk=draft.pk).exists()


def test_blockers_forbid_signing(table):
    data = terms_bytes(starter("spectral"))
    revision = Revision.objects.create(
        dossier=table.cast.agreement,
        number=1,
        terms=data,
        digest=digest(data),
        proposed_by="customer",
        status="agreed",
    )
    refused("terms.blockers", transitions.sign, revision, by=table.customer, digest=digest(data))
    revision.refresh_from_db()
    assert revision.status == "agreed"


def test_a_draft_of_the_other_side_cannot_be_touched(table):
    draft = table.draft()
    by = table.supplier
    for do in (transitions.propose, transitions.counter, transitions.rebase, transitions.discard):
        refused("draft.not_yours", do, draft, by=by)
    refused("draft.not_yours", transitions.rewrite, draft, by=by, terms=complete())


def test_staff_edit_but_do_not_propose(table, cast):
    draft = table.draft()
    colleague = cast.capacity(cast.customer_colleague)
    transitions.rewrite(draft, by=colleague, terms=complete())
    refused("seat.role", transitions.propose, draft, by=colleague)


def test_only_one_revision_is_open(table):
    table.proposed()
    refused("revision.open", transitions.propose, table.draft(), by=table.customer)
    draft = table.draft(by=table.supplier)
    refused("revision.open", transitions.propose, draft, by=table.supplier)


def test_two_open_revisions_are_refused_by_the_database_too(table):
    revision = table.proposed()
    with pytest.raises(IntegrityError):
        Revision.objects.create(
            dossier=revision.dossier,
            number=2,
            terms=b"{}",
            digest="0" * 64,
            proposed_by="supplier",
        )


def test_nobody_counters_or_agrees_to_their_own_proposal(table):
    revision = table.proposed()
    mine = transitions.take_up(revision, by=table.customer)
    refused("revision.own_proposal", transitions.counter, mine, by=table.customer)
    refused(
        "revision.own_proposal",
        transitions.agree,
        revision,
        by=table.customer,
        digest=revision.digest,
    )


def test_a_counter_needs_an_open_proposal(table):
    draft = table.draft(by=table.supplier)
    refused("revision.none_open", transitions.counter, draft, by=table.supplier)
    table.agreed()
    refused("revision.none_open", transitions.counter, draft, by=table.supplier)


def test_a_stale_draft_is_not_lost_but_set_against_the_latest_revision(table):
    old = table.draft(by=table.supplier)
    revision = table.proposed()
    refused("draft.stale", transitions.counter, old, by=table.supplier)
    transitions.rebase(old, by=table.supplier)
    refused("draft.up_to_date", transitions.rebase, old, by=table.supplier)
    assert transitions.counter(old, by=table.supplier).based_on == revision


def test_a_draft_is_taken_up_once_and_from_the_latest(table):
    first = table.proposed()
    mine = transitions.take_up(first, by=table.supplier)
    refused("draft.exists", transitions.take_up, first, by=table.supplier)
    transitions.counter(mine, by=table.supplier)
    refused("revision.not_latest", transitions.take_up, first, by=table.customer)


def test_a_colleagues_change_is_not_overwritten(table, cast):
    draft = table.draft()
    seen = draft.version
    transitions.rewrite(draft, by=cast.capacity(cast.customer_colleague), terms=complete())
    late = Draft.objects.get(pk=draft.pk)
    refused(
        "draft.changed",
        transitions.rewrite,
        late,
        by=table.customer,
        terms=complete(),
        version=seen,
    )
    refused("draft.changed", transitions.propose, late, by=table.customer, version=seen)


def test_a_draft_changed_at_the_last_moment_is_not_proposed_in_its_old_text(table):
    draft = table.draft()
    stale = Draft.objects.get(pk=draft.pk)
    transitions.rewrite(draft, by=table.customer, terms=complete())
    refused("draft.changed", transitions.propose, stale, by=table.customer)
    assert not Revision.objects.exists()


def test_the_only_text_is_not_thrown_away(table):
    draft = table.draft()
    refused("draft.is_all", transitions.discard, draft, by=table.customer)
    revision = transitions.propose(draft, by=table.customer)
    mine = transitions.take_up(revision, by=table.supplier)
    assert transitions.discard(mine, by=table.supplier) == revision
    assert not Draft.objects.exists()


@pytest.mark.parametrize("act", ["agree", "sign"])
def test_another_digest_is_refused(table, act):
    revision = table.proposed() if act == "agree" else table.agreed()
    refused("digest.stale", getattr(transitions, act), revision, by=table.supplier, digest="0" * 64)


def test_agreeing_twice_and_signing_what_is_not_agreed_are_refused(table):
    revision = table.proposed()
    refused("revision.state", transitions.sign, revision, by=table.customer, digest=revision.digest)
    transitions.agree(revision, by=table.supplier, digest=revision.digest)
    refused(
        "revision.state", transitions.agree, revision, by=table.supplier, digest=revision.digest
    )
    assert Signature.objects.count() == 0


def test_a_side_signs_once(table):
    revision = table.signed_by_one()
    refused(
        "signature.made_already",
        transitions.sign,
        revision,
        by=table.customer,
        digest=revision.digest,
    )
    transitions.sign(revision, by=table.supplier, digest=revision.digest)
    refused("revision.state", transitions.sign, revision, by=table.supplier, digest=revision.digest)
    assert Signature.objects.count() == 2


def test_whom_the_terms_do_not_name_does_not_sign(table, cast):
    revision = table.agreed()
    staff = cast.capacity(cast.supplier_staff)
    refused(
        "signature.not_a_signatory", transitions.sign, revision, by=staff, digest=revision.digest
    )
    deputy = cast.capacity(cast.supplier_deputy)
    assert transitions.sign(revision, by=deputy, digest=revision.digest).first_signer == "supplier"


def test_without_a_deputy_in_the_terms_the_deputy_does_not_sign(table, cast):
    terms = complete()
    changes = terms.shared.changes.model_copy(update={"signatories": ()})
    terms = terms.model_copy(
        update={"shared": terms.shared.model_copy(update={"changes": changes})}
    )
    revision = transitions.propose(table.draft(terms=terms), by=table.customer)
    transitions.agree(revision, by=table.supplier, digest=revision.digest)
    refused(
        "signature.not_a_signatory",
        transitions.sign,
        revision,
        by=cast.capacity(cast.supplier_deputy),
        digest=revision.digest,
    )
    assert transitions.sign(revision, by=table.supplier, digest=revision.digest)


def test_a_proposal_is_withdrawn_by_its_own_side_only(table):
    revision = table.proposed()
    refused("revision.not_yours", transitions.withdraw, revision, by=table.supplier, reason="no")
    transitions.withdraw(revision, by=table.customer, reason="A mistake in clause 6.")
    assert revision.status == "withdrawn"
    refused(
        "revision.state", transitions.agree, revision, by=table.supplier, digest=revision.digest
    )
    refused("revision.state", transitions.sign, revision, by=table.customer, digest=revision.digest)
    refused("revision.state", transitions.withdraw, revision, by=table.customer, reason="again")


@pytest.mark.parametrize("stage", ["agreed", "signed_by_one"])
def test_either_side_withdraws_until_the_second_signature(table, stage):
    revision = getattr(table, stage)()
    transitions.withdraw(revision, by=table.supplier, reason="The line was moved.")
    entry = chain.entries(revision.dossier.chain).get(kind=Kind.REVISION_WITHDRAWN)
    assert entry.payload["reason"] == "The line was moved."
    again = transitions.take_up(revision, by=table.supplier)
    assert transitions.propose(again, by=table.supplier).number == 2


def test_what_both_signed_is_not_withdrawn(table):
    revision = table.signed()
    refused("revision.state", transitions.withdraw, revision, by=table.customer, reason="late")


def test_the_auditor_decides_nothing(table, cast):
    revision = table.proposed()
    auditor = cast.capacity(cast.auditor)
    refused("seat.side", transitions.agree, revision, by=auditor, digest=revision.digest)
    refused("seat.side", transitions.withdraw, revision, by=auditor, reason="no")
    refused("seat.side", transitions.sign, revision, by=auditor, digest=revision.digest)
    refused("seat.side", transitions.make_remark, revision, by=auditor, clause="scope", text="x")


def test_roles_are_checked_by_the_transitions_too(table, cast):
    revision = table.proposed()
    staff, observer = cast.capacity(cast.supplier_staff), cast.capacity(cast.supplier_observer)
    refused("seat.role", transitions.agree, revision, by=staff, digest=revision.digest)
    refused("seat.role", transitions.withdraw, revision, by=staff, reason="no")
    refused("seat.role", transitions.make_remark, revision, by=observer, clause="scope", text="x")
    refused("seat.role", transitions.take_up, revision, by=observer)
    refused("seat.side", transitions.take_up, revision, by=cast.capacity(cast.auditor))
    mine = transitions.take_up(revision, by=staff)
    refused("seat.role", transitions.rewrite, mine, by=observer, terms=complete())


def test_a_capacity_of_another_dossier_is_refused(table, cast):
    revision = table.proposed()
    elsewhere = cast.capacity(cast.supplier_lead, cast.other)
    refused("seat.side", transitions.agree, revision, by=elsewhere, digest=revision.digest)


def test_a_remark_is_struck_by_its_own_side_once_and_stays(table):
    revision = table.proposed()
    item = revision.document.shared.changes.signatories[0].id
    remark = transitions.make_remark(
        revision, by=table.supplier, clause="changes", item=item, text="Who is that?"
    )
    refused("remark.not_yours", transitions.strike, remark, by=table.customer, reason="no")
    transitions.strike(remark, by=table.supplier, reason="Answered by telephone.")
    refused("remark.struck", transitions.strike, remark, by=table.supplier, reason="twice")
    kept = Remark.objects.get(pk=remark.pk)
    assert (kept.text, kept.struck_reason) == ("Who is that?", "Answered by telephone.")
    made = chain.entries(revision.dossier.chain).get(kind=Kind.REMARK_MADE)
    assert made.payload["item"] == item
    assert kinds(revision.dossier)[-1] == Kind.REMARK_STRUCK


def test_an_act_that_fails_leaves_nothing_behind(table, monkeypatch):
    revision = table.proposed()
    before = kinds(revision.dossier)

    def broken(*args, **kwargs):
        raise RuntimeError("the outbox is gone")

    monkeypatch.setattr("agreements.letters.mail.post", broken)
    with pytest.raises(RuntimeError):
        transitions.agree(revision, by=table.supplier, digest=revision.digest)
    revision.refresh_from_db()
    assert revision.status == "proposed"
    assert Naming.objects.count() == 1
    assert kinds(revision.dossier) == before
