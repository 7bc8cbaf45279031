"""Signing a revision: each side once, over the digest that both named."""

from __future__ import annotations

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext_lazy as _
from django.utils.translation import gettext_noop

from agreements.letters import other_side, tell
from agreements.models import Revision
from agreements.models.revisions import PARTIES
from agreements.signatories import may_sign, service_held, signing_roles
from agreements.transitions.negotiation import moved_on, no_blockers, same_digest
from agreements.transitions.papers import order_papers
from ledger import chain, clock
from ledger.canonical import parse
from ledger.kinds import Kind
from parties.capacity import Capacity
from parties.models import Role
from parties.refusal import Refusal
from parties.signing import Wanted
from parties.signing import sign as sign_statement
from parties.signing_proofs import Proof

WHAT = "revision"
# Signed in this wording; pages show it in the reader's language.
INTENT = gettext_noop("I agree to these terms for the organisation named here.")


def sign(revision: Revision, *, by: Capacity, digest: str, proof: Proof | None = None) -> Revision:
    """Sign for one's side; the second side's signature makes the revision signed.

    `proof`: as in `parties.signing.sign`. Refused: somebody the terms do not name, another digest,
    blockers, a second signature of the same side, a key that these terms do not allow.
    """
    wanted = to_sign(revision, by=by, digest=digest)
    act = chain.new_act()
    with transaction.atomic():
        _move_to_signed(revision, by)
        made = sign_statement(by, wanted, act=act, proof=proof)
        chain.append(
            revision.dossier.chain,
            by=by.actor(),
            kind=Kind.REVISION_SIGNED,
            subject=str(revision.pk),
            act=act,
            payload={
                "number": revision.number,
                "digest": revision.digest,
                "side": by.side,
                "nonce": parse(bytes(made.statement))["nonce"],
            },
        )
        _tell_signed(revision, by, act)
        order_papers(revision)
    return revision


def first_to_sign(revision: Revision, *, by: Capacity, digest: str) -> Wanted:
    """What a key of one's own is to sign, while the revision's state lets this side sign."""
    status = Revision.Status
    if revision.status == status.SIGNED_BY_ONE and revision.first_signer == by.side:
        raise _signed_already()
    if revision.status not in (status.AGREED, status.SIGNED_BY_ONE):
        raise moved_on(revision)
    return to_sign(revision, by=by, digest=digest)


def to_sign(revision: Revision, *, by: Capacity, digest: str) -> Wanted:
    """What is signed; Refusal where these terms cannot be signed, or not by `by`."""
    if revision.dossier_id != by.dossier.pk or by.side not in PARTIES:
        raise Refusal("seat.side", _("Only the customer and the supplier sign the terms."))
    terms = revision.document
    if not may_sign(terms, by.side, by.role):
        raise Refusal(
            "signature.not_a_signatory",
            _("Clause 10 of these terms does not let your role sign for your side."),
        )
    same_digest(revision, digest)
    no_blockers(terms)
    return Wanted(
        what=WHAT,
        subject=str(revision.pk),
        revision=revision.number,
        digest=revision.digest,
        intent=INTENT,
        blobs=[revision.digest],
        deputies=Role.DEPUTY in signing_roles(terms, by.side),
        service_held=service_held(revision),
    )


def _signed_already() -> Refusal:
    return Refusal("signature.made_already", _("Your side has signed this revision already."))


def _move_to_signed(revision: Revision, by: Capacity) -> None:
    """Agreed → signed by one, or signed by the other → signed: one conditional update each."""
    status = Revision.Status
    rows = Revision.objects.filter(pk=revision.pk, digest=revision.digest)
    first = rows.filter(status=status.AGREED).update(
        status=status.SIGNED_BY_ONE, first_signer=by.side
    )
    second = 0
    if not first:
        second = rows.filter(~Q(first_signer=by.side), status=status.SIGNED_BY_ONE).update(
            status=status.SIGNED, signed_at=clock.now()
        )
    revision.refresh_from_db()
    if first + second == 1:
        return
    if revision.status == status.SIGNED_BY_ONE:
        raise _signed_already()
    raise moved_on(revision)


def _tell_signed(revision: Revision, by: Capacity, act: str) -> None:
    complete = revision.status == Revision.Status.SIGNED
    tell(
        revision.dossier,
        other_side(by.side),
        subject=_("%(title)s: signed by both sides")
        if complete
        else _("%(title)s: signed by one side, awaits your signature"),
        body=_("%(firm)s signed revision %(number)s (digest %(digest)s)."),
        path=revision.get_absolute_url(),
        act=act,
        firm=by.organisation.name,
        number=str(revision.number),
        digest=revision.digest,
    )
