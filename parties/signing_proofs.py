"""What a signatory's own key gave back for a statement, and whether it holds.

Of a passkey the challenge is the SHA-256 of the statement's bytes; of a key in the browser the
proof is a detached JWS over them, in the form of docs/record-format.md.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _
from webauthn import verify_authentication_response
from webauthn.helpers import base64url_to_bytes, bytes_to_base64url
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AuthenticationCredential,
    AuthenticatorAssertionResponse,
)

from ledger import clock, statements
from parties.keys import unconfirmed
from parties.models import Key
from parties.models.keys import PASSKEY
from parties.refusal import Refusal


@dataclass(frozen=True)
class Proof:
    """A prepared statement and what the browser answered: `jws`, or the three of a passkey, each
    in unpadded base64url."""

    fingerprint: str
    statement: bytes
    jws: str = ""
    authenticator_data: str = ""
    client_data: str = ""
    passkey_signature: str = ""

    def evidence(self, key: Key) -> dict[str, object]:
        """What is kept of it: one of the two fields of a signature."""
        if key.assurance != PASSKEY:
            return {"jws": self.jws}
        return {
            "passkey": {
                "authenticator_data": self.authenticator_data,
                "client_data": self.client_data,
                "signature": self.passkey_signature,
            }
        }


def check_proof(key: Key, proof: Proof) -> None:
    """Refusal unless `key` signed the statement. A passkey's counter moves on, inside the
    caller's transaction."""
    if key.assurance == PASSKEY:
        _check_passkey(key, proof)
        return
    try:
        statements.verify_detached(bytes(key.certificate), proof.statement, proof.jws)
    except statements.SignatureError as problem:
        raise _refused(problem) from None


def _check_passkey(key: Key, proof: Proof) -> None:
    """Challenge, origin, relying party, presence and verification of the person, signature, and a
    counter that does not go back where the device counts (Web Authentication level 2, 7.2)."""
    try:
        raw = base64url_to_bytes(key.credential)
        answer = AuthenticatorAssertionResponse(
            client_data_json=_strict(proof.client_data),
            authenticator_data=_strict(proof.authenticator_data),
            signature=_strict(proof.passkey_signature),
        )
        found = verify_authentication_response(
            credential=AuthenticationCredential(id=key.credential, raw_id=raw, response=answer),
            expected_challenge=hashlib.sha256(proof.statement).digest(),
            expected_rp_id=key.relying_party,
            expected_origin=key.origin,
            credential_public_key=bytes(key.cose or b""),
            credential_current_sign_count=key.sign_count,
            require_user_verification=True,
        )
    # The library lets errors of its decoders through as they are.
    except (WebAuthnException, ValueError, TypeError, KeyError, IndexError) as problem:
        raise _refused(problem) from None
    rows = Key.objects.filter(pk=key.pk, sign_count=key.sign_count, revoked_at__isnull=True)
    if rows.update(sign_count=found.new_sign_count) != 1:
        raise _refused("the counter of this passkey moved on meanwhile")


def _strict(text: str) -> bytes:
    """Bytes of unpadded base64url that encodes back to the same text."""
    data = base64url_to_bytes(text)
    if not text or bytes_to_base64url(data) != text:
        raise ValueError("not unpadded base64url")
    return data


def check_usable(key: Key, *, name: str, organisation_name: str) -> None:
    """Refusal where this key signs nothing today, for the first reason that applies."""
    if key.revoked_at is not None:
        raise Refusal("key.revoked", _("This key was revoked: it signs nothing any more."))
    if key.is_pending:
        raise unconfirmed()
    if key.expires_at <= clock.now():
        raise Refusal("key.expired", _("The certificate of this key has expired: replace it."))
    if (key.name, key.organisation_name) != (name, organisation_name):
        raise Refusal(
            "key.other_name",
            _("This key is certified for another name (%(name)s): replace it."),
            name=f"{key.name}, {key.organisation_name}",
        )


def _refused(problem: object) -> Refusal:
    return Refusal(
        "proof",
        _("The signature does not hold (%(problem)s). Nothing was signed; begin again."),
        problem=str(problem)[:200],
    )
