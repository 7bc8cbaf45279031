"""Rejecting a lot and talking about it: grounds, answer, statements, examination."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext_lazy as _

from agreements.letters import other_side, tell
from agreements.standing import today_in
from disputes.models import Dispute, Note, Offer, Post
from ledger import chain, clock
from ledger.erasure import lock
from ledger.kinds import Kind
from method.deadlines import due_day
from parties.capacity import Capacity
from parties.models import Side
from parties.refusal import Refusal
from parties.transitions.moves import check_side, move, record
from parties.uploads import keep
from shipments.models import Lot
from shipments.transitions import reject_lot
from shipments.transitions.lots import terms_of

State = Dispute.Status
OPEN = [State.RAISED, State.ANSWERED, State.EXAMINING, State.REMEDY_OFFERED]
STANDING = [Offer.Status.OPEN, Offer.Status.SIGNED_BY_ONE]


def reject(
    lot: Lot,
    *,
    by: Capacity,
    clause: str,
    compared_with: str,
    specimens: Sequence[str],
    text: str,
    contained: dict[str, int],
) -> Dispute:
    """Reject a lot with one's own evidence and say why: the dispute begins.

    `contained` counts pieces per place (in stock, at the line, …) that the customer holds back.
    """
    act = chain.new_act()
    with transaction.atomic():
        rejection = reject_lot(lot, by=by, reason=text, act=act)
        last = Dispute.objects.filter(dossier=lot.dossier).aggregate(last=Max("number"))["last"]
        disputes = terms_of(lot).disputes
        today = today_in(lot.dossier)
        days = disputes.answer_days
        grounds = [{"clause": clause, "compared_with": compared_with, "specimens": list(specimens)}]
        dispute = Dispute.objects.create(
            dossier=lot.dossier,
            number=(last or 0) + 1,
            lot=lot,
            rejection=rejection,
            grounds=grounds,
            contained=contained,
            text=text,
            raised_by=by.sitter.code,
            answer_due=due_day(today, days, disputes) if days is not None else None,
        )
        payload = {
            "lot": lot.number,
            "grounds": grounds,
            "containment": {name: count for name, count in contained.items() if count},
            "text": text,
        }
        record(dispute, Kind.DISPUTE_RAISED, by, act, payload)
        tell(
            lot.dossier,
            other_side(by.side),
            subject=_("Lot %(lot)s was rejected"),
            body=_("The customer has rejected lot %(lot)s and says why."),
            path=dispute.get_absolute_url(),
            act=act,
            lot=lot.number,
        )
    return dispute


def answer(dispute: Dispute, *, by: Capacity, text: str, contained: dict[str, int]) -> Dispute:
    """The supplier answers, and says what they hold back."""
    check_side(by, Side.SUPPLIER)
    act = chain.new_act()
    with transaction.atomic():
        disputes = terms_of(dispute.lot).disputes
        days = disputes.examination_days
        today = today_in(dispute.dossier)
        ends = due_day(today, days, disputes) if days is not None else None
        move(dispute, old=[State.RAISED], new=State.ANSWERED, examination_due=ends)
        said = _say(dispute, by, text, Post.Kind.ANSWER, [])
        facts = {name: count for name, count in contained.items() if count}
        record(dispute, Kind.DISPUTE_ANSWERED, by, act, {"text": text, "facts": facts})
        _tell(dispute, by, act, _("The rejection of lot %(lot)s was answered"), said)
    return dispute


def begin_examination(dispute: Dispute, *, by: Capacity) -> Dispute:
    """Both sides look again at specimens and conditions."""
    with transaction.atomic():
        move(dispute, old=[State.ANSWERED], new=State.EXAMINING)
        record(dispute, Kind.EXAMINATION_BEGUN, by, chain.new_act(), {})
    return dispute


def post(
    dispute: Dispute, *, by: Capacity, text: str, upload: UploadedFile | None = None
) -> Dispute:
    """Say something in the shared thread, with a file if wanted."""
    if not dispute.is_open:
        raise Refusal("closed", _("This dispute is closed; nothing more can be said in it."))
    act = chain.new_act()
    with transaction.atomic():
        files = [_keep(dispute, upload)] if upload else []
        said = _say(dispute, by, text, Post.Kind.STATEMENT, files)
        digests = [file["digest"] for file in files]
        payload: dict[str, Any] = {"text": text}
        if digests:
            payload["files"] = digests
        record(said, Kind.POST_MADE, by, act, payload, blobs=digests)
        _tell(dispute, by, act, _("New statement about lot %(lot)s"), said)
    return dispute


def strike(said: Post, *, by: Capacity, reason: str) -> Post:
    """Take one's own side's statement back: it stays readable, struck, with the reason."""
    check_side(by, said.side)
    with transaction.atomic():
        struck = Post.objects.filter(pk=said.pk, struck_at__isnull=True).update(
            struck_at=clock.now(), struck_by=by.sitter.code, struck_reason=reason
        )
        if struck != 1:
            raise Refusal("struck", _("This statement was struck before."))
        record(said, Kind.POST_STRUCK, by, chain.new_act(), {"reason": reason})
    said.refresh_from_db()
    return said


def keep_note(dispute: Dispute, *, by: Capacity, text: str) -> Dispute:
    """A note for one's own side only. It is no entry and is never released."""
    Note.objects.create(
        dossier=dispute.dossier,
        side_only=by.side,
        dispute=dispute,
        author=by.sitter.code,
        text=text,
    )
    return dispute


def withdraw(dispute: Dispute, *, by: Capacity, reason: str) -> Dispute:
    """The customer takes the rejection back: the lot counts as accepted."""
    check_side(by, Side.CUSTOMER)
    act = chain.new_act()
    with transaction.atomic():
        move(dispute, old=OPEN, new=State.WITHDRAWN)
        for offer in dispute.offers.filter(status__in=STANDING):
            move(offer, old=STANDING, new=Offer.Status.DECLINED)
            record(offer, Kind.REMEDY_DECLINED, by, act, {"reason": reason})
        move(dispute.lot, old=[Lot.Status.REJECTED], new=Lot.Status.ACCEPTED)
        record(dispute, Kind.DISPUTE_WITHDRAWN, by, act, {"reason": reason})
        record(dispute.lot, Kind.LOT_ACCEPTED, by, act, {"note": reason})
    return dispute


def _say(dispute: Dispute, by: Capacity, text: str, kind: str, files: list[dict[str, Any]]) -> Post:
    # One after the other: a page that is open asks for what came after what it shows.
    lock([dispute.dossier.chain])
    return Post.objects.create(
        dossier=dispute.dossier,
        dispute=dispute,
        side=by.side,
        author=by.sitter.code,
        kind=kind,
        text=text,
        files=files,
    )


def _keep(dispute: Dispute, upload: UploadedFile) -> dict[str, Any]:
    """A file of the thread: its bytes are a blob of the dossier."""
    return asdict(keep(dispute.dossier.chain, upload))


def _tell(dispute: Dispute, by: Capacity, act: str, subject: Any, said: Post) -> None:
    tell(
        dispute.dossier,
        other_side(by.side),
        subject=subject,
        body=_("The other side has written in the dispute about lot %(lot)s."),
        path=said.get_absolute_url(),
        act=act,
        lot=dispute.lot.number,
    )
