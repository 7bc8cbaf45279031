"""Lists of evidence: drawn up by a side, signed by its lead, or set aside while unsigned."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from agreements.signatories import service_held
from ledger import blobs, chain, clock, erasure
from ledger.canonical import digest as digest_of
from method.words import gettext_noop
from parties import signing
from parties.capacity import Capacity
from parties.models import Dossier
from parties.refusal import Refusal
from parties.signing_proofs import Proof
from parties.transitions.moves import check_side, move
from shipments.lists import LIST, MOST, list_bytes, signatures_of
from shipments.models import ListedSubmission, Submission, SubmissionList

State = SubmissionList.Status
# What the signature says; entered in the chain as it stands here, in English.
INTENT = gettext_noop("I hand in the evidence on this list for my organisation.")


def draw_up_list(
    dossier: Dossier, *, by: Capacity, submissions: Sequence[Submission]
) -> SubmissionList:
    """Write down which evidence of one's own side shall be signed; the other side sees it signed.

    Raises Refusal: nothing chosen or too much, another side's, signed already, several revisions.
    """
    rows = sorted(set(submissions), key=lambda one: (one.created_at, str(one.pk)))
    if not 1 <= len(rows) <= MOST:
        raise Refusal(
            "how_many",
            _("Choose at least one, and at most %(most)s."),
            field="submissions",
            most=MOST,
        )
    for one in rows:
        check_side(by, one.side)
        if one.dossier_id != dossier.pk:
            raise Refusal("elsewhere", _("This evidence belongs to another agreement."))
    _none_signed(rows)
    revisions = {one.revision_id for one in rows}
    if len(revisions) != 1:
        raise Refusal(
            "revisions",
            _("These fall under different revisions of the terms. Draw up a list for each."),
            field="submissions",
        )
    revision = rows[0].revision
    with transaction.atomic():
        data = list_bytes(revision, rows)
        made = SubmissionList.objects.create(
            dossier=dossier,
            side_only=by.side,
            revision=revision,
            side=by.side,
            made_by=by.sitter.code,
            bytes=data,
            digest=digest_of(data),
        )
        ListedSubmission.objects.bulk_create(
            ListedSubmission(list=made, submission=one) for one in rows
        )
    return made


def sign_list(found: SubmissionList, *, by: Capacity, proof: Proof | None = None) -> SubmissionList:
    """The lead signs the list's digest: one signature for all evidence on it.

    `proof`: as in `parties.signing.sign`.
    """
    check_side(by, found.side)
    act, place = chain.new_act(), found.dossier.chain
    with transaction.atomic():
        # Of two leads who sign at once the second waits here, at the chain's head, and is refused.
        # A frozen row cannot be held: for that the service's role would need a right to change it.
        erasure.lock([place])
        rows = list(found.submissions.order_by("pk"))
        move(found, old=[State.DRAWN_UP], new=State.SIGNED, released_at=clock.now())
        _none_signed(rows)
        blobs.put(place, bytes(found.bytes), "application/json")
        signing.sign(by, to_sign(found, by=by), act=act, proof=proof)
    return found


def to_sign(found: SubmissionList, *, by: Capacity) -> signing.Wanted:
    """What is signed: the list's bytes."""
    return signing.Wanted(
        what=LIST,
        subject=found.subject,
        revision=found.revision.number,
        digest=found.digest,
        intent=INTENT,
        blobs=[found.digest],
        service_held=service_held(found),
    )


def set_list_aside(found: SubmissionList, *, by: Capacity) -> SubmissionList:
    """Leave a list unsigned for good; its evidence may stand on another."""
    check_side(by, found.side)
    move(found, old=[State.DRAWN_UP], new=State.SET_ASIDE)
    return found


def _none_signed(rows: Sequence[Submission]) -> None:
    """Refuse a list on which something is signed already, naming it."""
    made = signatures_of(rows)
    names = [str(one) for one in rows if one.pk in made]
    if names:
        raise Refusal(
            "signed",
            _("This is signed already: %(names)s. Draw up a list without it."),
            names=", ".join(names),
        )
