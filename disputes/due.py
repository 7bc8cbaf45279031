"""What awaits a sitter in disputes; the desk merges the apps' lists."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from django.utils.translation import gettext

from disputes.models import Dispute, Offer
from disputes.moves import STANDING, waits_for
from parties.access import STAFF
from parties.capacity import Capacity
from parties.due import Due
from parties.models import Side


def due(capacity: Capacity, day: dt.date) -> list[Due]:
    """What this sitter's side has to do in one dossier."""
    return due_in([capacity], day)


def due_in(capacities: Sequence[Capacity], day: dt.date) -> list[Due]:
    """The same for several dossiers of one person, in two queries."""
    own = {
        by.dossier.pk: by
        for by in capacities
        if by.role in STAFF and by.side in (Side.CUSTOMER, Side.SUPPLIER)
    }
    if not own:
        return []
    found = []
    sitters = [by.sitter for by in own.values()]
    disputes = Dispute.objects.visible_to_any(sitters).filter(
        status__in=[Dispute.Status.RAISED, Dispute.Status.ANSWERED, Dispute.Status.EXAMINING],
    )
    for dispute in disputes.select_related("lot").order_by("number"):
        one = _of_dispute(dispute, own[dispute.dossier_id], day)
        if one:
            found.append(one)
    offers = Offer.objects.visible_to_any(sitters).filter(status__in=STANDING)
    for offer in offers.select_related("dispute__lot").order_by("created_at"):
        one = _of_offer(offer, own[offer.dossier_id], day)
        if one:
            found.append(one)
    return found


def _of_dispute(dispute: Dispute, by: Capacity, day: dt.date) -> Due | None:
    params = {"lot": dispute.lot.number}
    if dispute.status == Dispute.Status.RAISED:
        if by.side != Side.SUPPLIER:
            return None
        words, until = gettext("Answer the rejection of lot %(lot)s"), dispute.answer_due
        return Due("answer", words % params, dispute.get_absolute_url(), until or day)
    words = gettext("Examine lot %(lot)s, then offer a remedy")
    until = dispute.examination_due
    return Due("examine", words % params, dispute.get_absolute_url(), until or day)


def _of_offer(offer: Offer, by: Capacity, day: dt.date) -> Due | None:
    """An open offer awaits the other side; a signed one the side that has not signed."""
    if by.side not in waits_for(offer):
        return None
    words = gettext("Sign or decline the settlement of lot %(lot)s")
    params = {"lot": offer.dispute.lot.number}
    return Due("sign", words % params, offer.get_absolute_url(), day)
