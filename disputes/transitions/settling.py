"""Offers and the settlement, which both leads sign."""

from __future__ import annotations

from django.db import transaction
from django.db.models import Max
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from agreements.letters import other_side, tell
from agreements.signatories import service_held
from disputes.models import Dispute, Offer
from disputes.settlement import Pieces, settlement_bytes
from ledger import blobs, chain
from ledger.kinds import Kind
from method.words import gettext_noop
from parties import signing
from parties.capacity import Capacity
from parties.refusal import Refusal
from parties.signing_proofs import Proof
from parties.transitions.moves import move, record
from shipments.transitions import close_lot

State = Dispute.Status
OFFERABLE = [State.ANSWERED, State.EXAMINING, State.REMEDY_OFFERED]
AGREES = gettext_noop("I settle this dispute for my organisation on the terms of this document.")


def offer_remedy(
    dispute: Dispute,
    *,
    by: Capacity,
    remedy: str,
    text: str,
    pieces: Pieces,
    costs: str,
    lessons: str = "",
) -> Offer:
    """Put a settlement before the other side. It replaces an open offer that nobody signed.

    Raises Refusal where the pieces do not add up to the lot.
    """
    if sum(pieces.values()) != dispute.lot.quantity or min(pieces.values()) < 0:
        raise Refusal(
            "pieces",
            _("The settlement must account for all %(quantity)s pieces; it names %(named)s."),
            field="accepted",
            quantity=dispute.lot.quantity,
            named=sum(pieces.values()),
        )
    act = chain.new_act()
    with transaction.atomic():
        move(dispute, old=OFFERABLE, new=State.REMEDY_OFFERED)
        _replace(dispute)
        last = dispute.offers.aggregate(last=Max("number"))["last"] or 0
        data = settlement_bytes(
            dispute,
            number=last + 1,
            remedy=remedy,
            text=text,
            pieces=pieces,
            costs=costs,
            lessons=lessons,
        )
        digest = blobs.put(dispute.dossier.chain, data, "application/json")
        offer = Offer.objects.create(
            dossier=dispute.dossier,
            dispute=dispute,
            number=last + 1,
            side=by.side,
            author=by.sitter.code,
            remedy=remedy,
            text=text,
            bytes=data,
            digest=digest,
        )
        payload = {"remedy": remedy, "text": text, "digest": digest}
        record(offer, Kind.REMEDY_OFFERED, by, act, payload, blobs=[digest])
        tell(
            dispute.dossier,
            other_side(by.side),
            subject=_("A remedy was offered for lot %(lot)s"),
            body=_("The other side offers to settle the dispute about lot %(lot)s."),
            path=offer.get_absolute_url(),
            act=act,
            lot=dispute.lot.number,
        )
    return offer


def _replace(dispute: Dispute) -> None:
    """Close the open offer; one that a lead has signed stands until it is declined."""
    standing = dispute.offers.filter(status=Offer.Status.SIGNED_BY_ONE).exists()
    if standing:
        raise Refusal(
            "signed_offer", _("An offer is signed by one side already: sign it or decline it.")
        )
    dispute.offers.filter(status=Offer.Status.OPEN).update(status=Offer.Status.REPLACED)


def decline_offer(offer: Offer, *, by: Capacity, reason: str) -> Offer:
    """Say no; the dispute goes on."""
    with transaction.atomic():
        move(
            offer,
            old=[Offer.Status.OPEN, Offer.Status.SIGNED_BY_ONE],
            new=Offer.Status.DECLINED,
        )
        move(offer.dispute, old=[State.REMEDY_OFFERED], new=State.EXAMINING)
        act = chain.new_act()
        record(offer, Kind.REMEDY_DECLINED, by, act, {"reason": reason})
        _tell(offer, by, act, _("Your offer for lot %(lot)s was declined"))
    return offer


def to_sign(offer: Offer, *, by: Capacity) -> signing.Wanted:
    """What is signed: the settlement's bytes, with the keys that the lot's terms allow."""
    return signing.Wanted(
        what="settlement",
        subject=offer.subject,
        revision=None,
        digest=offer.digest,
        intent=AGREES,
        blobs=[offer.digest],
        service_held=service_held(offer.dispute.lot),
    )


def sign_settlement(offer: Offer, *, by: Capacity, proof: Proof | None = None) -> Offer:
    """Sign for one's side. With the second signature the dispute is settled and the lot closed.

    `proof`: as in `parties.signing.sign`.
    """
    act = chain.new_act()
    with transaction.atomic():
        second = offer.status == Offer.Status.SIGNED_BY_ONE
        if second and offer.first_signer == by.side:
            raise Refusal("signed", _("Your side has signed; the other side's signature is due."))
        if second:
            move(offer, old=[Offer.Status.SIGNED_BY_ONE], new=Offer.Status.SETTLED)
        else:
            move(
                offer,
                old=[Offer.Status.OPEN],
                new=Offer.Status.SIGNED_BY_ONE,
                first_signer=by.side,
            )
        payload = {"digest": offer.digest, "side": by.side}
        record(offer, Kind.SETTLEMENT_AGREED, by, act, payload, blobs=[offer.digest])
        signing.sign(by, to_sign(offer, by=by), act=act, proof=proof)
        if second:
            move(offer.dispute, old=[State.REMEDY_OFFERED], new=State.SETTLED)
            record(offer.dispute, Kind.DISPUTE_SETTLED, by, act, {"digest": offer.digest})
            close_lot(offer.dispute.lot, by=by, act=act)
        _tell(offer, by, act, _("The settlement of lot %(lot)s was signed by the other side"))
    return offer


def _tell(offer: Offer, by: Capacity, act: str, subject: Promise) -> None:
    """Mail the other side about a step of the settlement."""
    tell(
        offer.dossier,
        other_side(by.side),
        subject=subject,
        body=_("This concerns the agreement “%(title)s”."),
        path=offer.get_absolute_url(),
        act=act,
        lot=offer.dispute.lot.number,
    )
