"""The way of a lot: opened, handed in, judged, released, received, accepted or rejected."""

from __future__ import annotations

import datetime as dt

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from agreements.standing import revision_for_order, today_in
from ledger import chain, clock
from ledger.kinds import Kind
from method.deadlines import due_day
from method.terms import Resolved, resolve
from parties.capacity import Capacity
from parties.models import Dossier, Side
from parties.refusal import Refusal
from parties.transitions.moves import check_side, move, record
from shipments.approvals import check_limits
from shipments.letters import tell_step
from shipments.lists import asks_signature, signature_of
from shipments.models import Lot, Submission, Verdict
from shipments.parts import part_of, part_words
from shipments.transitions.submissions import hand_in

State = Lot.Status


def open_lot(
    dossier: Dossier,
    *,
    by: Capacity,
    number: str,
    order: str,
    accepted_on: dt.date,
    part: str,
    quantity: int,
    made_on: dt.date | None = None,
) -> Lot:
    """Open a lot under the revision that binds its order."""
    check_side(by, Side.SUPPLIER)
    revision = revision_for_order(dossier, accepted_on, today_in(dossier))
    if revision is None:
        raise Refusal(
            "no_terms",
            _("No signed revision was in force on %(day)s, when the order was accepted."),
            field="accepted_on",
            day=accepted_on.isoformat(),
        )
    words = part_words(part_of(revision, part))
    try:
        with transaction.atomic():
            lot = Lot.objects.create(
                dossier=dossier,
                number=number,
                order=order,
                accepted_on=accepted_on,
                part=part,
                part_words=words,
                revision=revision,
                quantity=quantity,
                made_on=made_on,
            )
            record(
                lot,
                Kind.LOT_OPENED,
                by,
                chain.new_act(),
                {
                    "number": number,
                    "order": order,
                    "accepted_on": accepted_on.isoformat(),
                    "part": part,
                    "revision": revision.number,
                    "quantity": quantity,
                },
            )
    except IntegrityError:
        if not Lot.objects.filter(dossier=dossier, number=number).exists():
            raise
        raise Refusal(
            "number_taken", _("There is a lot of this number already."), field="number"
        ) from None
    return lot


def submit_lot(lot: Lot, *, by: Capacity, note: str = "") -> Submission:
    """Hand in the evidence for release: again, too, as long as the lot is not released."""
    check_side(by, Side.SUPPLIER)
    with transaction.atomic():
        move(lot, old=[State.OPEN, State.JUDGED], new=State.SUBMITTED)
        return hand_in(lot, by=by, purpose=Submission.Purpose.LOT, act=chain.new_act(), note=note)


def last_verdict(lot: Lot) -> Verdict | None:
    """The verdict on the last submission for release; None while there is none."""
    last = lot.submissions.filter(purpose=Submission.Purpose.LOT).order_by("-nth").first()
    return Verdict.objects.filter(submission=last).first() if last else None


def terms_of(lot: Lot) -> Resolved:
    """The terms as they bind this lot's part."""
    return resolve(lot.revision.document, lot.part)


def release_lot(lot: Lot, *, by: Capacity, note: str = "") -> Lot:
    """Send a lot on its way. Only a conforming verdict, signed where clause 8 asks, allows it."""
    check_side(by, Side.SUPPLIER)
    with transaction.atomic():
        # Held until the end: no other submission is handed in between verdict and release.
        stands = Lot.objects.select_for_update().get(pk=lot.pk)
        verdict = last_verdict(stands)
        if stands.status == State.JUDGED and (verdict is None or verdict.outcome != "conforming"):
            raise Refusal(
                "not_conforming",
                _("Only a lot whose verdict is “conforming” can be released. Nothing was changed."),
            )
        if verdict and lead_must_sign(lot) and signature_of(verdict.submission) is None:
            raise Refusal(
                "lead_signature", _("By clause 8 your quality lead must sign the evidence first.")
            )
        now = clock.now()
        check_limits(stands, now)
        move(lot, old=[State.JUDGED], new=State.RELEASED, left_at=now)
        facts = {"verdict": verdict.digest if verdict else None, "note": note}
        act = chain.new_act()
        record(lot, Kind.LOT_RELEASED, by, act, facts)
        tell_step(lot, Kind.LOT_RELEASED, by, act)
    return lot


def lead_must_sign(lot: Lot) -> bool:
    """Whether clause 8 asks for the lead's signature on evidence due for release."""
    return asks_signature(lot.revision, lot.part, Submission.Purpose.LOT)


def receive_lot(lot: Lot, *, by: Capacity, received_on: dt.date) -> Lot:
    """The customer has the lot; from here the window to reject runs, where receipt starts it."""
    check_side(by, Side.CUSTOMER)
    today = today_in(lot.dossier)
    if received_on > today:
        raise Refusal("future", _("This day has not come yet."), field="received_on")
    disputes = terms_of(lot).disputes
    until = None
    if disputes.reject_window_days is not None:
        until = due_day(received_on, disputes.reject_window_days, disputes)
    with transaction.atomic():
        move(
            lot,
            old=[State.RELEASED],
            new=State.RECEIVED,
            received_on=received_on,
            reject_until=until,
        )
        act = chain.new_act()
        record(lot, Kind.LOT_RECEIVED, by, act, {"on": received_on.isoformat()})
        tell_step(lot, Kind.LOT_RECEIVED, by, act)
    return lot


def accept_lot(lot: Lot, *, by: Capacity, note: str = "") -> Lot:
    """The customer takes the lot."""
    check_side(by, Side.CUSTOMER)
    with transaction.atomic():
        move(lot, old=[State.RECEIVED], new=State.ACCEPTED)
        act = chain.new_act()
        record(lot, Kind.LOT_ACCEPTED, by, act, {"note": note})
        tell_step(lot, Kind.LOT_ACCEPTED, by, act)
    return lot


def reject_lot(lot: Lot, *, by: Capacity, reason: str, act: str) -> Submission:
    """The customer rejects with evidence of their own, judged under the rejection rule.

    Raises Refusal after the window has closed, or without evidence.
    """
    check_side(by, Side.CUSTOMER)
    today = today_in(lot.dossier)
    if lot.reject_until is not None and today > lot.reject_until:
        raise Refusal(
            "window_closed",
            _("The window to reject closed on %(day)s (clause 9)."),
            day=lot.reject_until.isoformat(),
        )
    first = lot.submissions.filter(purpose=Submission.Purpose.LOT).order_by("-nth").first()
    with transaction.atomic():
        move(lot, old=[State.RECEIVED], new=State.REJECTED)
        record(lot, Kind.LOT_REJECTED, by, act, {"reason": reason})
        return hand_in(
            lot,
            by=by,
            purpose=Submission.Purpose.REJECTION,
            act=act,
            answers=first,
        )


def close_lot(lot: Lot, *, by: Capacity, act: str, note: str = "") -> Lot:
    """A rejected lot is done with: its dispute was settled."""
    move(lot, old=[State.REJECTED], new=State.CLOSED)
    record(lot, Kind.LOT_CLOSED, by, act, {"note": note})
    return lot


def withdraw_lot(lot: Lot, *, by: Capacity, reason: str) -> Lot:
    """The supplier takes a lot back that was not released, also while its verdict is awaited."""
    check_side(by, Side.SUPPLIER)
    with transaction.atomic():
        move(lot, old=[State.OPEN, State.SUBMITTED, State.JUDGED], new=State.WITHDRAWN)
        act = chain.new_act()
        record(lot, Kind.LOT_WITHDRAWN, by, act, {"reason": reason})
        tell_step(lot, Kind.LOT_WITHDRAWN, by, act)
    return lot
