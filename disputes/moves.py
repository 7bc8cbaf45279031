"""Whose move it is in a dispute."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from disputes.models import Dispute, Offer
from parties.whose_move import BOTH, NOBODY, SUPPLIER, Move

Status = Dispute.Status
STANDING = ("open", "signed_by_one")
WORDS: dict[str, str | Promise] = {
    "answer": _("answer the rejection."),
    "examine": _("look at the specimens again, then offer a remedy."),
    "sign": _("sign or decline the settlement that is offered."),
    "settled": _("the dispute is settled."),
    "withdrawn": _("the rejection is withdrawn."),
}


def waits_for(offer: Offer) -> frozenset[str]:
    """Whom a standing offer waits for: the side that neither made nor signed it."""
    made = offer.first_signer or offer.side
    return BOTH - {made}


def dispute_move(dispute: Dispute, offers: Iterable[Offer]) -> Move:
    """The move that a dispute asks for, its `offers` being all that were made."""
    if dispute.status == Status.RAISED:
        return _told("answer", SUPPLIER)
    if not dispute.is_open:
        return _told(str(dispute.status), NOBODY)
    standing = [waits_for(one) for one in offers if one.status in STANDING]
    if standing:
        return _told("sign", frozenset().union(*standing))
    return _told("examine", BOTH)


def _told(id: str, sides: frozenset[str]) -> Move:
    return Move(id, sides, WORDS[id], WORDS[id])
