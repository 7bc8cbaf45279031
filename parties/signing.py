"""The signing act, for every app that needs a signature. Signatures are not legal advice.

One path for all: what is to be signed (`Wanted`) becomes a statement on the chain's head. A key
that the service holds signs at once, after the password was asked again (`parties.forms`). A key
that the signatory holds signs in the browser: `prepare` gives the statement, and `sign` takes it
back with the browser's `Proof`. The caller passes the act's id, so that the signature and what it
signs stand in one act of the chain.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, BinaryIO

from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from ledger import chain, clock, export, statements
from ledger.canonical import parse
from ledger.erasure import lock
from ledger.kinds import Kind
from parties.access import LEADS, SIGNERS
from parties.capacity import Capacity
from parties.chain_keys import (
    ChainKey,
    actor_in,
    chain_keys,
    enter_revocation,
    standing,
)
from parties.keys import (
    installation,
    key_of,
    own_keys,
    private_part,
    root_key,
    service_refusal,
)
from parties.models import Key, Side, Signature
from parties.models.keys import ASSURANCES, PASSKEY, SERVICE_HELD
from parties.refusal import Refusal
from parties.signing_proofs import Proof, check_proof, check_usable


@dataclass(frozen=True)
class Wanted:
    """What is to be signed.

    what: sort of document ("revision", "settlement", …); subject: which one, ASCII, as the chain
    names it; digest: SHA-256 of its bytes; intent: what the signature means, in English, as it
    enters the chain; blobs: digests of stored bytes the signature is over; deputies: whether the
    terms let a deputy sign this; service_held: whether they let a key sign that the service holds.
    """

    what: str
    subject: str
    revision: int | None
    digest: str
    intent: str
    blobs: Sequence[str] = ()
    deputies: bool = False
    service_held: bool = True


def statement_facts(by: Capacity, intent: str, signed: Any) -> dict[str, Any]:
    """What a page shows (components/signing.html) before `by` signs; the form says with which key.

    intent: in the reader's language; signed: what the signature is over, with its `digest`.
    """
    return {
        "signed": signed,
        "signer": by,
        "intent": intent,
        "sides_keys": standing(by.dossier.chain),
        "assurances": ASSURANCES,
    }


def sign(by: Capacity, wanted: Wanted, *, act: str, proof: Proof | None = None) -> Signature:
    """Sign a document's digest in this dossier's chain, inside the caller's transaction.

    `proof`: what the browser gave back for a prepared statement; None: the service signs with the
    key it holds. Entries: key.certified once, signature.made. Raises Refusal where the role does
    not sign, the terms ask for a key of one's own, or the proof does not hold.
    """
    check_role(by, wanted)
    with transaction.atomic():
        # A revocation takes this lock first too: it comes wholly before the signature, or after it.
        lock([by.dossier.chain])
        if proof is None:
            key, statement, evidence = _by_the_service(by, wanted, act)
        else:
            key = _proven(by, wanted, proof)
            statement, evidence = proof.statement, proof.evidence(key)
        made = Signature.objects.create(
            dossier=by.dossier,
            what=wanted.what,
            subject=wanted.subject,
            revision=wanted.revision,
            digest=wanted.digest,
            intent=wanted.intent,
            statement=statement,
            fingerprint=key.fingerprint,
            signer=by.actor().person,
            name=by.person.name,
            side=by.side,
            act=act,
            assurance=key.assurance,
            **evidence,
        )
        _record(made, by, wanted.blobs)
    return made


def prepare(by: Capacity, wanted: Wanted, key: Key) -> bytes:
    """The statement that `key`, which the signatory holds, is to sign: on the chain's head.

    Certifies the key in the chain where it is not yet (entries), inside the caller's transaction.
    """
    check_role(by, wanted)
    _check_holder(by, key)
    certify(by, key, act=chain.new_act())
    return _composed(by, wanted, key)


def check_role(by: Capacity, wanted: Wanted) -> None:
    """Refusal where the role of `by` does not sign this."""
    if by.role not in (SIGNERS if wanted.deputies else LEADS):
        raise Refusal(
            "signing.role",
            _("Only the quality lead signs this, or a deputy where the terms name them."),
        )


def own_key_asked(by: Capacity) -> Refusal:
    """Why the service's key does not sign here, and what to do about it."""
    waiting = Key.objects.pending().filter(person=by.person, organisation=by.organisation)
    own = by.organisation.seats.get(side=Side.OWN)
    link = reverse("parties:keys", kwargs={"dossier": own.dossier_id}), _("Signing keys")
    if waiting.exists():
        return Refusal(
            "signing.own_key",
            _(
                "Clause 10 of these terms asks for a key that the signatory holds. Yours waits for "
                "a second person of your firm who confirms it."
            ),
            link=link,
        )
    return Refusal(
        "signing.own_key",
        _(
            "Clause 10 of these terms asks for a key that the signatory holds. Make one under "
            "“Signing keys”, which your account page leads to."
        ),
        link=link,
    )


def _by_the_service(by: Capacity, wanted: Wanted, act: str) -> tuple[Key, bytes, dict[str, Any]]:
    if not wanted.service_held:
        raise own_key_asked(by)
    key = certify(by, key_of(by.person, by.organisation), act=act)
    statement = _composed(by, wanted, key)
    return key, statement, {"jws": statements.sign_detached(private_part(key), statement)}


def _composed(by: Capacity, wanted: Wanted, key: Key) -> bytes:
    return statements.compose(
        by.dossier.chain,
        by=by.actor(),
        what=wanted.what,
        subject=wanted.subject,
        revision=wanted.revision,
        digest=wanted.digest,
        name=by.person.name,
        organisation_name=by.organisation.name,
        intent=wanted.intent,
        assurance=key.assurance,
    )


def _check_holder(by: Capacity, key: Key) -> None:
    """The key is the signatory's own for this organisation, and signs today."""
    own = (by.person.pk, by.organisation.pk)
    if (key.person_id, key.organisation_id) != own or key.assurance == SERVICE_HELD:
        raise Refusal("key.foreign", _("This is no key that you hold for this organisation."))
    check_usable(key, name=by.person.name, organisation_name=by.organisation.name)


def _proven(by: Capacity, wanted: Wanted, proof: Proof) -> Key:
    """The key that signed the prepared statement; Refusal where anything does not hold.

    Nothing is composed again: what the statement says must be what this act is about.
    """
    key = Key.objects.select_for_update().filter(fingerprint=proof.fingerprint).first()
    if key is None:
        raise Refusal("key.foreign", _("This is no key that you hold for this organisation."))
    _check_holder(by, key)
    known = chain_keys(by.dossier.chain).get(key.fingerprint)
    if known is None or known.revoked is not None:
        raise _revoked()
    said = parse(proof.statement)
    expected = parse(_composed(by, wanted, key))
    # Of the moment when it was prepared: these the statement keeps.
    for name in ("nonce", "time", "head", "keys"):
        expected[name] = said[name]
    if said != expected:
        raise Refusal(
            "statement.other",
            _("What was prepared is not what is to be signed now. Look at it again, then sign."),
        )
    seen = chain.entries(by.dossier.chain).filter(**said["head"])
    signed = Signature.objects.filter(dossier=by.dossier, statement=proof.statement)
    if not seen.exists() or signed.exists():
        raise Refusal("statement.used", _("This statement was signed before. Begin again."))
    check_proof(key, proof)
    return key


def _record(made: Signature, by: Capacity, blobs: Sequence[str]) -> None:
    """The entry: whoever has the record alone can check the signature."""
    payload: dict[str, Any] = {
        "statement": bytes(made.statement).decode(),
        "fingerprint": made.fingerprint,
    }
    payload |= {"passkey": made.passkey} if made.passkey else {"jws": made.jws}
    chain.append(
        by.dossier.chain,
        by=by.actor(),
        kind=Kind.SIGNATURE_MADE,
        subject=made.subject,
        act=made.act,
        payload=payload,
        blobs=blobs,
    )


def enrol(by: Capacity, *, act: str, service_held: bool = True) -> Key | None:
    """Certify in the chain the key with which the signatory will sign: their newest own one, or
    the service's where there is none, the terms allow it and it may sign (None otherwise).

    Call it when a side agrees, so that each side's first signature already names the other side's
    key. Runs inside the caller's transaction.
    """
    own = own_keys(by.person, by.organisation)
    by_service = service_held and service_refusal(by.person, by.organisation) is None
    if not own and not by_service:
        return None
    return certify(by, own[0] if own else key_of(by.person, by.organisation), act=act)


def certify(by: Capacity, key: Key, *, act: str) -> Key:
    """Copy the certificate of the signatory's key into the chain, once; keys of theirs that ended
    meanwhile end here too. Refusal where the key was revoked."""
    lock([by.dossier.chain])
    known = chain_keys(by.dossier.chain)
    ended = Key.objects.filter(
        fingerprint__in=[one.fingerprint for one in known.values() if one.revoked is None],
        person=by.person,
        organisation=by.organisation,
        revoked_at__isnull=False,
    )
    for one in ended:
        enter_revocation(by.dossier, one, by=by.actor(), act=act)
    if key.fingerprint not in known:
        _check_second_person(by, key, known.values(), act)
        # Held, so that a revocation at this moment sees that the key came into this chain too.
        held = Key.objects.select_for_update().filter(pk=key.pk, revoked_at__isnull=True)
        if held.first() is None:
            raise _revoked()
        chain.append(
            by.dossier.chain,
            by=by.actor(),
            kind=Kind.KEY_CERTIFIED,
            subject=f"key:{key.fingerprint}",
            act=act,
            payload=_certification(by, key, set(known)),
        )
    elif known[key.fingerprint].revoked is not None:
        raise _revoked()
    return key


def _revoked() -> Refusal:
    return Refusal("key.revoked", _("This key was revoked: it signs nothing any more."))


def service_barred(by: Capacity) -> bool:
    """Whether a new key of the service's cannot sign for this person here: the chain knows a key of
    their own, and none of the service's that stands; unless a second person confirmed it."""
    mine = _keys_here(by, chain_keys(by.dossier.chain).values())
    stands = any(one.assurance == SERVICE_HELD and one.revoked is None for one in mine)
    confirmed = Key.objects.usable(clock.now()).filter(
        person=by.person,
        organisation=by.organisation,
        assurance=SERVICE_HELD,
        confirmed_at__isnull=False,
    )
    own = any(one.assurance != SERVICE_HELD for one in mine)
    return own and not stands and not confirmed.exists()


def _keys_here(by: Capacity, known: Iterable[ChainKey]) -> list[ChainKey]:
    """Those of the signatory, ended ones too."""
    actor = by.actor()
    holder = (actor.person, actor.organisation, by.side)
    return [one for one in known if (one.person, one.organisation, one.side) == holder]


def _make_known(by: Capacity, second: chain.Actor, act: str) -> None:
    """An administrator who confirmed a key has no seat here: their role and code are entered, so
    that a reader of the record knows of which organisation the second person is."""
    here = chain.entries(by.dossier.chain)
    subject = f"sitter:{second.person}"
    seated = here.filter(kind=Kind.SITTER_SEATED.value, subject=subject)
    about_keys = [Kind.KEY_CERTIFIED.value, Kind.KEY_REVOKED.value]
    acted = here.filter(kind__in=about_keys, actor=second.person, side=by.side)
    if seated.exists() or acted.exists():
        return
    chain.append(
        by.dossier.chain,
        by=by.actor(),
        kind=Kind.SITTER_SEATED,
        subject=subject,
        act=act,
        payload={
            "person": second.person,
            "role": second.role,
            "side": second.side,
            "organisation": second.organisation,
        },
    )


def _check_second_person(by: Capacity, key: Key, known: Iterable[ChainKey], act: str) -> None:
    """Refusal where a record with this key would be refused (docs/record-format.md, certified
    keys): a new key for somebody who signs here already needs a second person, who is known here.
    """
    actor = by.actor()
    if key.confirmed_by is not None:
        _make_known(by, actor_in(by.dossier, key.confirmed_by, by.organisation), act)
        return
    if key.assurance == SERVICE_HELD:
        if any(one.assurance != SERVICE_HELD for one in _keys_here(by, known)):
            raise Refusal(
                "signing.own_key_here",
                _(
                    "You signed here with a key of your own: the service's key cannot take its "
                    "place. Sign with your own key, or make a new one."
                ),
            )
        return
    signed = chain.entries(by.dossier.chain).filter(
        kind=Kind.SIGNATURE_MADE.value, actor=actor.person, organisation=actor.organisation
    )
    if signed.filter(side=by.side).exists():
        raise Refusal(
            "key.unconfirmed",
            _(
                "You have signed here with another key: this one needs a second person of your "
                "firm. Make a new key; a colleague is then asked to confirm it."
            ),
        )


def _certification(by: Capacity, key: Key, known: set[str]) -> dict[str, Any]:
    actor = by.actor()
    payload: dict[str, Any] = {
        "person": actor.person,
        "organisation": actor.organisation,
        "side": by.side,
        "certificate": base64.b64encode(bytes(key.certificate)).decode(),
        "fingerprint": key.fingerprint,
        "assurance": key.assurance,
    }
    if key.replaces is not None and key.replaces.fingerprint in known:
        payload["replaces"] = key.replaces.fingerprint
    if key.confirmed_by is not None:
        payload["confirmed_by"] = actor_in(by.dossier, key.confirmed_by, by.organisation).person
    if key.assurance == PASSKEY:
        payload["credential"] = {
            "id": key.credential,
            "relying_party": key.relying_party,
            "origin": key.origin,
        }
    return payload


def root_checkpoint(name: str) -> tuple[bytes, str]:
    """The head of chain `name` at this moment, signed by the installation's root: bytes and JWS.

    Writes nothing: a download does not make the chain grow.
    """
    document = statements.checkpoint(name, root_fingerprint=installation().fingerprint)
    return document, statements.sign_checkpoint(root_key(), document)


def write_record(
    name: str, out: BinaryIO, *, about: str | None = None, full: export.Full = ()
) -> tuple[bytes, str]:
    """Write the signed record of chain `name` at its present head to `out`; gives its checkpoint
    and the root's signature over it.

    about, full: of a part (`ledger.export`); `desk.parts_of_record` says which entries.
    """
    document, jws = root_checkpoint(name)
    export.write_record(
        name,
        out,
        checkpoint=document,
        checkpoint_jws=jws,
        root_der=bytes(installation().certificate),
        about=about,
        full=full,
    )
    return document, jws
