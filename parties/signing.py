"""The signing act, for every app that needs a signature. Signatures are not legal advice.

The caller has asked for the password again (`parties.forms.SigningForm`) and passes the act's id,
so that the signature and what it signs stand in one act of the chain.
"""

from __future__ import annotations

import base64
from collections.abc import Sequence
from typing import Any, BinaryIO

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from ledger import chain, export, statements
from ledger.kinds import Kind
from parties.access import LEADS, SIGNERS
from parties.capacity import Capacity
from parties.keys import installation, key_of, private_part, root_key
from parties.models import Key, Signature
from parties.models.keys import ASSURANCES
from parties.refusal import Refusal

ASSURANCE = "service-held"


def statement_facts(by: Capacity, intent: str, signed: Any) -> dict[str, Any]:
    """What a page shows (components/signing.html) of the statement that `by` is about to sign.

    intent: in the reader's language; signed: what the signature is over, with its `digest`.
    """
    return {
        "signed": signed,
        "signer": by,
        "intent": intent,
        "assurance": ASSURANCE,
        "assurance_words": ASSURANCES[ASSURANCE],
    }


def sign(
    by: Capacity,
    *,
    what: str,
    subject: str,
    revision: int | None,
    digest: str,
    intent: str,
    act: str,
    blobs: Sequence[str] = (),
    deputies: bool = False,
) -> Signature:
    """Sign a document's digest in this dossier's chain, inside the caller's transaction.

    what: sort of document ("revision", "settlement", …); subject: which one, ASCII, as the chain
    names it; digest: SHA-256 of its bytes; blobs: digests of stored bytes the signature is over;
    deputies: whether the terms let a deputy sign this. Entries: key.certified once, signature.made.
    Raises Refusal where the role does not sign.
    """
    if by.role not in (SIGNERS if deputies else LEADS):
        raise Refusal(
            "signing.role",
            _("Only the quality lead signs this, or a deputy where the terms name them."),
        )
    with transaction.atomic():
        key = enrol(by, act=act)
        statement = statements.compose(
            by.dossier.chain,
            by=by.actor(),
            what=what,
            subject=subject,
            revision=revision,
            digest=digest,
            name=by.person.name,
            organisation_name=by.organisation.name,
            intent=intent,
            assurance=ASSURANCE,
        )
        made = Signature.objects.create(
            dossier=by.dossier,
            what=what,
            subject=subject,
            revision=revision,
            digest=digest,
            intent=intent,
            statement=statement,
            jws=statements.sign_detached(private_part(key), statement),
            fingerprint=key.fingerprint,
            signer=by.actor().person,
            name=by.person.name,
            side=by.side,
            act=act,
            assurance=ASSURANCE,
        )
        _record(made, by, blobs)
    return made


def _record(made: Signature, by: Capacity, blobs: Sequence[str]) -> None:
    """The entry: whoever has the record alone can check the signature."""
    chain.append(
        by.dossier.chain,
        by=by.actor(),
        kind=Kind.SIGNATURE_MADE,
        subject=made.subject,
        act=made.act,
        payload={
            "statement": bytes(made.statement).decode(),
            "jws": made.jws,
            "fingerprint": made.fingerprint,
        },
        blobs=blobs,
    )


def enrol(by: Capacity, *, act: str) -> Key:
    """Make the signatory's key and copy its certificate into the chain, once.

    Called by `sign`; call it earlier (when a side agrees) so that each side's first signature
    already names the other side's key. Runs inside the caller's transaction.
    """
    key = key_of(by.person, by.organisation)
    subject = f"key:{key.fingerprint}"
    known = chain.entries(by.dossier.chain).filter(kind=Kind.KEY_CERTIFIED.value, subject=subject)
    if not known.exists():
        actor = by.actor()
        chain.append(
            by.dossier.chain,
            by=actor,
            kind=Kind.KEY_CERTIFIED,
            subject=subject,
            act=act,
            payload={
                "person": actor.person,
                "organisation": actor.organisation,
                "side": by.side,
                "certificate": base64.b64encode(bytes(key.certificate)).decode(),
                "fingerprint": key.fingerprint,
                "assurance": ASSURANCE,
            },
        )
    return key


def root_checkpoint(name: str) -> tuple[bytes, str]:
    """The head of chain `name` at this moment, signed by the installation's root: bytes and JWS.

    Writes nothing: a download does not make the chain grow.
    """
    document = statements.checkpoint(name, root_fingerprint=installation().fingerprint)
    return document, statements.sign_checkpoint(root_key(), document)


def write_record(name: str, out: BinaryIO) -> bytes:
    """Write the signed record of chain `name` at its present head to `out`; its checkpoint."""
    document, jws = root_checkpoint(name)
    certificate = bytes(installation().certificate)
    export.write_record(name, out, checkpoint=document, checkpoint_jws=jws, root_der=certificate)
    return document
