"""Remarks on clauses and items of a shared revision: made, and struck with a reason."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from agreements.letters import other_side, tell
from agreements.models import Remark, Revision
from agreements.models.revisions import PARTIES
from ledger import chain, clock
from ledger.kinds import Kind
from parties.access import STAFF
from parties.capacity import Capacity
from parties.refusal import Refusal


def make_remark(
    revision: Revision, *, by: Capacity, clause: str, text: str, item: str = ""
) -> Remark:
    """Say something about a clause, or one of its items; both sides and the auditor read it."""
    if revision.dossier_id != by.dossier.pk or by.side not in PARTIES:
        raise Refusal("seat.side", _("Only the customer and the supplier make remarks."))
    if by.role not in STAFF:
        raise Refusal("seat.role", _("Your role reads revisions and makes no remarks on them."))
    act = chain.new_act()
    with transaction.atomic():
        remark = Remark.objects.create(
            dossier=revision.dossier,
            revision=revision,
            clause=clause,
            item=item,
            text=text,
            author=by.actor().person,
            side=by.side,
            created_at=clock.now(),
        )
        payload: dict[str, Any] = {"revision": revision.number, "clause": clause, "text": text}
        if item:
            payload["item"] = item
        chain.append(
            revision.dossier.chain,
            by=by.actor(),
            kind=Kind.REMARK_MADE,
            subject=str(remark.pk),
            act=act,
            payload=payload,
        )
        tell(
            revision.dossier,
            other_side(by.side),
            subject=_("%(title)s: a remark on revision %(number)s"),
            body=_("The other side made a remark on revision %(number)s:\n\n%(text)s"),
            path=remark.get_absolute_url(),
            act=act,
            number=str(revision.number),
            text=text,
        )
    return remark


def strike(remark: Remark, *, by: Capacity, reason: str) -> Remark:
    """Strike a remark of one's own side; it stays readable, with the reason."""
    if remark.dossier_id != by.dossier.pk or remark.side != by.side:
        raise Refusal("remark.not_yours", _("Only the side that made a remark can strike it."))
    with transaction.atomic():
        struck = Remark.objects.filter(pk=remark.pk, struck_at__isnull=True).update(
            struck_at=clock.now(), struck_by=by.actor().person, struck_reason=reason
        )
        if struck != 1:
            raise Refusal("remark.struck", _("This remark was struck already."))
        chain.append(
            remark.dossier.chain,
            by=by.actor(),
            kind=Kind.REMARK_STRUCK,
            subject=str(remark.pk),
            act=chain.new_act(),
            payload={"reason": reason},
        )
    remark.refresh_from_db()
    return remark
