"""The way of a lot, and every refusal on it."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import transaction

from evidence import transitions as evidencing
from evidence.models import MeasuredSet, Sitting
from jobs import queue
from jobs.models import Job
from ledger import chain, clock
from ledger.canonical import digest
from ledger.models import Entry
from method.judge import JudgeError
from method.submission import blob_digests, parse_submission
from method.terms.edit import with_item, with_values
from parties.models import Side
from parties.refusal import Refusal
from parties.transitions import supersede
from shipments import transitions
from shipments.models import Lot, Submission, Verdict
from shipments.transitions.lots import lead_must_sign
from tests.world import World, curve, make_world, terms

DUPLICATE = {"target": "duplicate"}


def refused(call, *args, **kwargs) -> Refusal:
    """The refusal; the chain does not grow by what is refused."""
    before = Entry.objects.count()
    with pytest.raises(Refusal) as caught:
        call(*args, **kwargs)
    assert str(caught.value)
    assert Entry.objects.count() == before
    return caught.value


def kinds(subject: str) -> list[str]:
    return list(
        Entry.objects.filter(subject=subject).order_by("number").values_list("kind", flat=True)
    )


def fresh(lot: Lot) -> Lot:
    return Lot.objects.get(pk=lot.pk)


def test_the_whole_way_writes_one_entry_a_step(world):
    lot = world.received_lot()
    transitions.accept_lot(lot, by=world.customer, note="Thank you.")
    assert kinds(lot.subject) == ["lot.opened", "lot.released", "lot.received", "lot.accepted"]
    submission = world.last_submission(lot)
    assert kinds(submission.subject) == ["submission.made", "verdict.given", "signature.made"]
    assert fresh(lot).status == "accepted"


def test_what_is_handed_in_names_everything_by_digest(world):
    lot = world.judged_lot()
    submission = world.last_submission(lot)
    data = bytes(submission.bytes)
    document = parse_submission(data)
    assert digest(data) == submission.digest
    entry = Entry.objects.get(kind="submission.made", subject=submission.subject)
    assert set(entry.blobs) == {submission.digest, *blob_digests(document)}
    assert lot.revision.digest in entry.blobs
    assert (document.lot.number, document.lot.order, document.nth) == ("L-1", "PO-L-1", 1)


def test_a_lot_is_bound_by_the_revision_in_force_when_its_order_was_accepted(world):
    refusal = refused(
        transitions.open_lot,
        world.cast.agreement,
        by=world.staff,
        number="L-0",
        order="PO",
        accepted_on=world.today - dt.timedelta(days=2),
        part=world.part(),
        quantity=1,
    )
    assert (refusal.id, refusal.field) == ("no_terms", "accepted_on")
    assert not Lot.objects.filter(number="L-0").exists()


def test_a_number_is_used_once_and_a_part_must_be_known(world):
    world.open_lot()
    assert refused(world.open_lot).id == "number_taken"
    values = {"by": world.staff, "order": "PO", "accepted_on": world.today, "quantity": 1}
    opened = transitions.open_lot
    refusal = refused(opened, world.cast.agreement, number="L-2", part="part-none", **values)
    assert (refusal.id, refusal.field) == ("unknown_part", "part")


def calls(world, lot):
    """Every act on a lot with the side that it belongs to."""
    return {
        "submit_lot": (Side.SUPPLIER, {}),
        "release_lot": (Side.SUPPLIER, {}),
        "withdraw_lot": (Side.SUPPLIER, {"reason": "x"}),
        "receive_lot": (Side.CUSTOMER, {"received_on": world.today}),
        "accept_lot": (Side.CUSTOMER, {}),
        "reject_lot": (Side.CUSTOMER, {"reason": "x", "act": chain.new_act()}),
    }


@pytest.mark.parametrize(
    "name",
    ["submit_lot", "release_lot", "withdraw_lot", "receive_lot", "accept_lot", "reject_lot"],
)
def test_an_act_of_the_other_side_is_refused(world, name):
    lot = world.judged_lot()
    side, values = calls(world, lot)[name]
    wrong = world.customer if side == Side.SUPPLIER else world.supplier
    auditor = world.by(world.cast.auditor)
    for by in (wrong, auditor):
        assert refused(getattr(transitions, name), lot, by=by, **values).id == "wrong_side"
    assert fresh(lot).status == "judged"


# state → the acts that may be done in it
ALLOWED = {
    "open": {"submit_lot", "withdraw_lot"},
    "submitted": {"withdraw_lot"},
    "judged": {"submit_lot", "release_lot", "withdraw_lot"},
    "released": {"receive_lot"},
    "received": {"accept_lot", "reject_lot"},
    "accepted": set(),
    "rejected": set(),
    "closed": set(),
    "withdrawn": set(),
}


@pytest.mark.parametrize("state", sorted(ALLOWED))
def test_in_each_state_only_its_own_acts_are_done(world, state):
    assert set(ALLOWED) == set(Lot.Status.values)
    lot = world.judged_lot()
    transitions.sign_submission(world.last_submission(lot), by=world.supplier)
    world.gather(world.by(world.cast.customer_colleague), lot.subject, 0.08, "reject")
    Lot.objects.filter(pk=lot.pk).update(status=state)
    for name, (side, values) in calls(world, lot).items():
        by = world.supplier if side == Side.SUPPLIER else world.customer
        do = getattr(transitions, name)
        if name in ALLOWED[state]:
            with transaction.atomic():
                assert do(fresh(lot), by=by, **values)
                transaction.set_rollback(True)
        else:
            assert refused(do, fresh(lot), by=by, **values).id == "wrong_state", name
        assert fresh(lot).status == state


def test_a_stale_page_cannot_do_it_twice(world):
    """Two people had the same page open: the second is told the state as it is now."""
    released = world.released_lot()
    stale = fresh(released)
    transitions.receive_lot(released, by=world.customer, received_on=world.today)
    values = {"by": world.customer, "received_on": world.today}
    refusal = refused(transitions.receive_lot, stale, **values)
    assert refusal.id == "wrong_state" and "received" in str(refusal)


def test_there_must_be_something_to_hand_in(world):
    lot = world.open_lot()
    assert refused(transitions.submit_lot, lot, by=world.staff).id == "no_evidence"
    assert fresh(lot).status == "open"
    world.sit(world.by(world.cast.customer_colleague), lot.subject, {"1": "accept"})
    assert refused(transitions.submit_lot, lot, by=world.staff).id == "no_evidence"


def test_a_sitting_without_judgements_is_not_handed_in(world):
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    sitting = evidencing.open_sitting(
        lot.dossier,
        by=world.staff,
        subject=lot.subject,
        day=world.today,
        booth=world.booths["supp"],
        procedure="blind",
        comparator="master",
        reference=None,
        illuminants=["D65"],
        specimens=["1"],
        warm_up_minutes=1,
        adaptation_minutes=1,
    )
    assert refused(transitions.submit_lot, lot, by=world.staff).id == "sitting_empty"
    evidencing.set_aside(sitting, by=world.staff, reason="never held")
    transitions.submit_lot(lot, by=world.staff)


def test_what_was_set_aside_is_not_handed_in(world):
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    wrong = world.measure(world.staff, lot.subject, [("9", curve(0.2))])
    evidencing.set_aside(wrong, by=world.staff, reason="wrong tray")
    submission = transitions.submit_lot(lot, by=world.staff)
    document = parse_submission(bytes(submission.bytes))
    assert [one.label for one in document.specimens] == ["1", "2", "3"]
    assert wrong.packed not in blob_digests(document)


def test_the_same_readings_of_two_days_are_refused_not_broken(world):
    lot = world.open_lot()
    first = world.measure(world.staff, lot.subject, [("1", curve())])
    again = {
        "answers": {"scale": "factor"},
        "instrument": world.instruments["supp"],
        "measured_on": world.today - dt.timedelta(days=1),
        "zone": "UTC",
        "condition": first.condition,
    }
    evidencing.confirm_reading(first.file, by=world.staff, **again)
    refusal = refused(transitions.submit_lot, lot, by=world.staff)
    assert refusal.id == "unfit" and "twice" in str(refusal)
    assert fresh(lot).status == "open"


def test_two_fresh_readings_of_the_target_leave_it_open_which_is_meant(cast, quick_papers):
    world = make_world(cast, terms_made=with_values(terms("spectral"), "references", DUPLICATE))
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    world.measure(world.staff, lot.subject, [("t", curve())], world.master)
    other = world.measure(world.staff, lot.subject, [("t", curve(0.01))], world.master)
    assert refused(transitions.submit_lot, lot, by=world.staff).id == "several_targets"
    evidencing.set_aside(other, by=world.staff, reason="dirty")
    transitions.submit_lot(lot, by=world.staff)


def test_a_fresh_reading_is_no_target_where_the_terms_ask_for_the_stored_one(world):
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    world.measure(world.staff, lot.subject, [("t", curve(0.05))], world.master)
    submission = transitions.submit_lot(lot, by=world.staff)
    (target,) = parse_submission(bytes(submission.bytes)).conditions.targets
    assert (target.source, target.packed) == ("stored_reading", world.master.reading)


def test_two_days_at_the_same_booth_are_one_fact(world):
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    for days in (1, 2):
        earlier = evidencing.open_sitting(
            lot.dossier,
            by=world.staff,
            subject=lot.subject,
            day=world.today - dt.timedelta(days=days),
            booth=world.booths["supp"],
            procedure="release_check",
            comparator="master",
            reference=world.master,
            illuminants=["D65"],
            specimens=["1"],
            warm_up_minutes=30,
            adaptation_minutes=5,
        )
        evidencing.judge_specimens(
            earlier,
            by=world.staff,
            observer=world.observers["supp"][0],
            said=[evidencing.Said("1", "accept")],
        )
    submission = transitions.submit_lot(lot, by=world.staff)
    document = parse_submission(bytes(submission.bytes))
    assert len(document.conditions.booths) == 1
    assert len({sitting.day for sitting in document.sittings}) == 3


def test_only_conforming_is_released(world):
    lot = world.judged_lot(shift=0.08, outcome="reject")
    assert lot.submissions.get().verdict.outcome == "nonconforming"
    transitions.sign_submission(world.last_submission(lot), by=world.supplier)
    assert refused(transitions.release_lot, lot, by=world.supplier).id == "not_conforming"
    assert fresh(lot).status == "judged"


def test_the_last_submission_decides_not_the_best(world):
    lot = world.judged_lot()
    world.gather(world.staff, lot.subject, 0.08, "reject")
    evidencing.set_aside(
        MeasuredSet.objects.filter(subject=lot.subject).order_by("created_at")[0],
        by=world.staff,
        reason="replaced",
    )
    evidencing.set_aside(
        Sitting.objects.filter(subject=lot.subject).order_by("created_at")[0],
        by=world.staff,
        reason="replaced",
    )
    second = transitions.submit_lot(fresh(lot), by=world.staff)
    assert second.nth == 2
    assert refused(transitions.release_lot, fresh(lot), by=world.supplier).id == "wrong_state"
    queue.drain()
    outcomes = list(Verdict.objects.filter(submission__lot=lot).values_list("outcome", flat=True))
    assert sorted(outcomes) == ["conforming", "nonconforming"]
    transitions.sign_submission(second, by=world.supplier)
    assert refused(transitions.release_lot, fresh(lot), by=world.supplier).id == "not_conforming"


def test_clause_8_asks_for_the_leads_signature(cast, quick_papers):
    world = World(cast)
    world.fill_registers()
    due = {"what": "visual", "supplied_by": "supplier", "occasion": "release"}
    due |= {"required": "yes", "signed_by_lead": "yes"}
    world.sign_terms(with_item(terms("spectral"), "evidence", "items", due))
    world.enter_standard()
    world.approved_article()
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    transitions.submit_lot(lot, by=world.supplier)  # handed in by staff, it would be incomplete
    queue.drain()
    assert lead_must_sign(lot)
    assert refused(transitions.release_lot, lot, by=world.supplier).id == "lead_signature"
    transitions.sign_submission(world.last_submission(lot), by=world.supplier)
    assert transitions.release_lot(lot, by=world.supplier).status == "released"


def test_elsewhere_no_signature_is_asked_for(world):
    lot = world.judged_lot()
    assert not lead_must_sign(lot)
    assert transitions.release_lot(lot, by=world.supplier).status == "released"


def test_evidence_is_signed_once_by_the_lead_of_its_own_side(world):
    submission = world.last_submission(world.judged_lot())
    sign = transitions.sign_submission
    assert refused(sign, submission, by=world.customer).id == "wrong_side"
    for who in ("supplier_staff", "supplier_deputy", "supplier_observer"):
        by = world.by(getattr(world.cast, who))
        assert refused(sign, submission, by=by).id == "signing.role", who
    sign(submission, by=world.supplier)
    assert refused(sign, submission, by=world.supplier).id == "signed"


def test_a_lot_is_not_received_tomorrow(world):
    lot = world.released_lot()
    tomorrow = world.today + dt.timedelta(days=1)
    refusal = refused(transitions.receive_lot, lot, by=world.customer, received_on=tomorrow)
    assert (refusal.id, refusal.field) == ("future", "received_on")


def test_the_window_to_reject_closes(world):
    lot = world.received_lot()
    world.gather(world.by(world.cast.customer_colleague), lot.subject, 0.08, "reject")
    assert lot.reject_until is not None
    last = dt.datetime.combine(lot.reject_until, dt.time(12), tzinfo=dt.UTC)
    values = {"by": world.customer, "reason": "x"}
    with clock.fixed(last + dt.timedelta(days=1)):
        refusal = refused(transitions.reject_lot, lot, act=chain.new_act(), **values)
    assert refusal.id == "window_closed" and lot.reject_until.isoformat() in str(refusal)
    assert fresh(lot).status == "received"
    with clock.fixed(last):
        assert transitions.reject_lot(lot, act=chain.new_act(), **values).purpose == "rejection"


def test_nobody_rejects_without_evidence_of_their_own(world):
    lot = world.received_lot()
    refusal = refused(
        transitions.reject_lot, lot, by=world.customer, reason="x", act=chain.new_act()
    )
    assert refusal.id == "no_evidence"
    assert fresh(lot).status == "received"


def test_a_rejection_answers_the_last_release_and_is_judged_under_its_own_rule(world):
    dispute = world.rejected_lot()
    rejection = dispute.rejection
    release = dispute.lot.submissions.get(purpose="lot")
    document = parse_submission(bytes(rejection.bytes))
    assert (document.answers, document.purpose) == (release.digest, "rejection")
    assert rejection.verdict.outcome == "nonconforming"
    assert fresh(dispute.lot).status == "rejected"


def test_a_verdict_is_given_once(world):
    lot = world.judged_lot()
    submission = world.last_submission(lot)
    first = submission.verdict
    entries = Entry.objects.count()
    assert transitions.judge_submission(submission).pk == first.pk
    Job.objects.filter(name="shipments.judge", subject=submission.subject).update(state="queued")
    queue.drain()
    assert Verdict.objects.filter(submission=submission).count() == 1
    assert Entry.objects.count() == entries


def test_a_judge_that_fails_leaves_the_evidence_and_says_so(world, monkeypatch):
    def broken(*_args):
        raise JudgeError("blob_missing", "0" * 64)

    monkeypatch.setattr("shipments.transitions.judging.judge", broken)
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    submission = transitions.submit_lot(lot, by=world.staff)
    queue.drain()
    job = queue.latest("shipments.judge", submission.subject)
    assert job.state == "failed" and "cannot be judged" in str(job.error_text)
    assert Submission.objects.filter(pk=submission.pk).exists()
    assert not Verdict.objects.filter(submission=submission).exists()


def test_register_rows_written_after_the_submission_change_no_verdict(world):
    lot = world.judged_lot()
    submission = world.last_submission(lot)
    before = bytes(submission.bytes)
    by = world.by(world.cast.supplier_lead, "supp")
    supersede(world.observers["supp"][0], by=by, score=900, valid_from=dt.date(2020, 1, 1))
    again = Submission.objects.get(pk=submission.pk)
    assert bytes(again.bytes) == before
    assert transitions.judge_submission(again).outcome == "conforming"


def test_pieces_taken_up_count_against_limits(world):
    article = world.submitted_article("FA-2")
    transitions.approve_with_limits(article, by=world.customer, quantity=150)
    first = world.released_lot("L-1")
    second = world.open_lot("L-2")
    world.gather(world.staff, second.subject)
    submission = transitions.submit_lot(second, by=world.staff)
    approval = parse_submission(bytes(submission.bytes)).conditions.approval
    assert (approval.outcome, approval.quantity, approval.taken_up) == (
        "approved_with_limits", 150, first.quantity,
    )  # fmt: skip
