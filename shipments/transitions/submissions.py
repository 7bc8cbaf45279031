"""Handing evidence in: everything that judging needs is frozen, entered and put up for judging."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.utils.translation import gettext_lazy as _
from pydantic import ValidationError

from agreements.signatories import service_held
from jobs import queue
from ledger import blobs, chain, erasure
from ledger.kinds import Kind
from method.submission import blob_digests, submission_bytes
from method.words import gettext_noop
from parties import signing
from parties.capacity import Capacity
from parties.refusal import Refusal
from parties.signing_proofs import Proof
from parties.transitions.moves import check_side
from shipments.faults import fault
from shipments.gathering import gather
from shipments.lists import ONE, signature_of
from shipments.models import FirstArticle, Lot, Submission

JUDGE = "shipments.judge"
# What the signature says; entered in the chain as it stands here, in English.
INTENT = gettext_noop("I hand in this evidence for my organisation.")


def hand_in(
    what: Lot | FirstArticle,
    *,
    by: Capacity,
    purpose: str,
    act: str,
    note: str = "",
    answers: Submission | None = None,
) -> Submission:
    """Freeze the evidence of the capacity's side about a lot or first article.

    Runs in the caller's transaction. Raises Refusal where there is nothing to hand in or a fact
    cannot be brought into the form of a submission.
    """
    earlier = Submission.objects.filter(**_of(what), purpose=purpose).order_by("-nth").first()
    nth = earlier.nth + 1 if earlier else 1
    try:
        document = gather(what, by=by, purpose=purpose, nth=nth, note=note, answers=answers)
    except ValidationError as error:
        raise fault(error) from None
    data = submission_bytes(document)
    place = what.dossier.chain
    digest = blobs.put(place, data, "application/json")
    row = Submission.objects.create(
        dossier=what.dossier,
        purpose=purpose,
        nth=nth,
        revision=what.revision,
        answers=answers,
        side=by.side,
        made_by=by.sitter.code,
        bytes=data,
        digest=digest,
        **_of(what),
    )
    payload: dict[str, Any] = {"purpose": purpose, "nth": nth, "digest": digest}
    payload["lot" if isinstance(what, Lot) else "article"] = what.number
    chain.append(
        place,
        by=by.actor(),
        kind=Kind.SUBMISSION_MADE,
        subject=row.subject,
        act=act,
        payload=payload,
        blobs=[digest, *blob_digests(document)],
    )
    queue.enqueue(
        JUDGE, subject=row.subject, chain=place, key=f"judge/{row.pk}", submission=str(row.pk)
    )
    return row


def _of(what: Lot | FirstArticle) -> dict[str, Any]:
    return {"lot": what} if isinstance(what, Lot) else {"article": what}


def sign_submission(
    submission: Submission, *, by: Capacity, proof: Proof | None = None
) -> Submission:
    """The lead of the side that handed it in signs its digest, where clause 8 asks or of one's own
    accord. Signing twice is refused. `proof`: as in `parties.signing.sign`."""
    check_side(by, submission.side)
    with transaction.atomic():
        # Of two leads who sign at once the second waits here, at the chain's head, and is refused.
        # A frozen row cannot be held: for that the service's role would need a right to change it.
        erasure.lock([submission.dossier.chain])
        if signature_of(submission) is not None:
            raise Refusal("signed", _("This submission is signed already."))
        signing.sign(by, to_sign(submission, by=by), act=chain.new_act(), proof=proof)
    return submission


def to_sign(submission: Submission, *, by: Capacity) -> signing.Wanted:
    """What is signed: the bytes that the side handed in."""
    return signing.Wanted(
        what=ONE,
        subject=submission.subject,
        revision=submission.revision.number,
        digest=submission.digest,
        intent=INTENT,
        blobs=[submission.digest],
        service_held=service_held(submission),
    )
