"""Keys that a signatory holds: what a browser must do to enrol one, and the check of what it did.

Passkeys: Web Authentication level 2, ES256 only, the device must make sure of its owner, no
attestation. Keys in the browser: P-256 by WebCrypto; the private part reaches the service only
under AES-256-GCM with a key from the passphrase (PBKDF2-SHA-256), and possession is proven by a
signature over the service's challenge.
"""

from __future__ import annotations

import binascii
import hashlib
import json
import secrets
import unicodedata
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    PublicFormat,
    load_der_public_key,
)
from django.utils.translation import gettext_lazy as _
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from webauthn import generate_registration_options, options_to_json, verify_registration_response
from webauthn.helpers import (
    base64url_to_bytes,
    bytes_to_base64url,
    decode_credential_public_key,
    decoded_public_key_to_cryptography,
)
from webauthn.helpers.cose import COSEAlgorithmIdentifier
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AttestationConveyancePreference,
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from ledger.canonical import digest
from parties.models import Key, Organisation, Person
from parties.models.keys import BROWSER_HELD, PASSKEY
from parties.refusal import Refusal
from parties.relying import relying_party

# OWASP's figure for PBKDF2-HMAC-SHA-256 (from memory); a browser takes about a second for it.
ITERATIONS = 600_000
PASSPHRASE_LENGTH = 12
POSSESSION = b"countershade key enrolment "  # no statement begins so: it is no canonical JSON
LIMIT = 20_000  # characters of what a browser may answer

Base64Url = Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]+$", max_length=2_000)]


class Wrapped(BaseModel):
    """A private part (PKCS #8) under a passphrase, with what is needed to open it in a browser."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    v: Literal[1]
    kdf: Literal["PBKDF2-SHA-256"]
    iterations: Annotated[int, Field(ge=ITERATIONS, le=100_000_000)]
    salt: Base64Url
    cipher: Literal["AES-256-GCM"]
    iv: Base64Url
    data: Base64Url


@dataclass(frozen=True)
class NewKey:
    """A public part whose holder has shown to have the private one; fields as `Key` stores them."""

    assurance: str
    public: ec.EllipticCurvePublicKey
    stored: dict[str, Any]

    @property
    def public_part(self) -> str:
        """SHA-256 of the public part as SubjectPublicKeyInfo."""
        return digest(self.public.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo))


def new_challenge() -> str:
    """32 random bytes, unpadded base64url."""
    return bytes_to_base64url(secrets.token_bytes(32))


def passkey_options(person: Person, organisation: Organisation, challenge: str) -> dict[str, Any]:
    """What navigator.credentials.create takes, in JSON; Refusal where passkeys do not work."""
    known = Key.objects.filter(person=person, assurance=PASSKEY, revoked_at__isnull=True)
    handle = digest(f"{person.pk}/{organisation.pk}".encode())
    made = generate_registration_options(
        rp_id=relying_party().id,
        rp_name="Countershade",
        user_id=bytes.fromhex(handle),
        user_name=person.email,
        user_display_name=f"{person.name}, {organisation.name}",
        challenge=base64url_to_bytes(challenge),
        attestation=AttestationConveyancePreference.NONE,
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.DISCOURAGED,
            user_verification=UserVerificationRequirement.REQUIRED,
        ),
        exclude_credentials=[
            PublicKeyCredentialDescriptor(id=base64url_to_bytes(one.credential)) for one in known
        ],
        supported_pub_key_algs=[COSEAlgorithmIdentifier.ECDSA_SHA_256],
    )
    options: dict[str, Any] = json.loads(options_to_json(made))
    return options


def check_passkey(credential: str, challenge: str) -> NewKey:
    """The passkey that answered the challenge; `credential`: JSON of what the browser gave back."""
    party = relying_party()
    try:
        found = verify_registration_response(
            credential=credential,
            expected_challenge=base64url_to_bytes(challenge),
            expected_rp_id=party.id,
            expected_origin=party.origin,
            require_user_verification=True,
            supported_pub_key_algs=[COSEAlgorithmIdentifier.ECDSA_SHA_256],
        )
        cose = decode_credential_public_key(found.credential_public_key)
        public = decoded_public_key_to_cryptography(cose)
    # The library lets errors of its decoders through as they are.
    except (WebAuthnException, ValueError, TypeError, KeyError, IndexError) as problem:
        raise _not_enrolled(problem) from None
    if not _on_p256(public):
        raise _not_enrolled("not on P-256")
    stored = {
        "credential": bytes_to_base64url(found.credential_id),
        "relying_party": party.id,
        "origin": party.origin,
        "cose": found.credential_public_key,
        "sign_count": found.sign_count,
    }
    return NewKey(PASSKEY, public, stored)


def check_browser_key(public: str, wrapped: str, possession: str, challenge: str) -> NewKey:
    """The key made in the browser: `public` (SubjectPublicKeyInfo) and `possession` (r ‖ s over
    POSSESSION and the challenge) in base64url, `wrapped` as JSON of `Wrapped`."""
    try:
        key = load_der_public_key(base64url_to_bytes(public))
        form = Wrapped.model_validate_json(wrapped)
        signature = base64url_to_bytes(possession)
        sizes = (len(base64url_to_bytes(form.salt)), len(base64url_to_bytes(form.iv)))
    except (ValueError, ValidationError, binascii.Error) as problem:
        raise _not_enrolled(problem) from None
    if not _on_p256(key) or sizes[0] < 16 or sizes[1] != 12 or len(signature) != 64:
        raise _not_enrolled("not P-256, or salt, initial value or signature of another length")
    r, s = (int.from_bytes(half, "big") for half in (signature[:32], signature[32:]))
    try:
        key.verify(  # type: ignore[call-arg, union-attr]
            encode_dss_signature(r, s),
            POSSESSION + challenge.encode(),
            ec.ECDSA(hashes.SHA256()),  # type: ignore[arg-type]
        )
    except (InvalidSignature, ValueError):
        raise _not_enrolled("the challenge is not signed by this key") from None
    return NewKey(BROWSER_HELD, key, {"wrapped": form.model_dump()})  # type: ignore[arg-type]


def _on_p256(key: Any) -> bool:
    return isinstance(key, ec.EllipticCurvePublicKey) and isinstance(key.curve, ec.SECP256R1)


def _not_enrolled(problem: Any) -> Refusal:
    return Refusal(
        "key.not_enrolled",
        _("The browser's answer does not hold (%(problem)s). No key was enrolled; begin again."),
        problem=str(problem)[:200],
    )


def password_mark(password: str, challenge: str) -> str:
    """By this the browser that makes a key finds that its passphrase is the account's password,
    which the service reads at each sign-in. As slow to search as a wrapped key; on that page only.
    """
    typed = unicodedata.normalize("NFC", password).encode()
    made = hashlib.pbkdf2_hmac("sha256", typed, challenge.encode(), ITERATIONS)
    return bytes_to_base64url(made)
