"""The installation's root and the keys of signatories.

The root and the keys that the service holds are made when first needed and sealed at rest; the
root certifies every signatory's key, whoever holds it.
"""

from __future__ import annotations

from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_der_private_key,
)
from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from ledger import clock
from ledger.certificates import fingerprint, issue_leaf, make_root, new_key
from ledger.sealing import seal, unseal
from parties.models import Installation, Key, Organisation, Person
from parties.models.keys import SERVICE_HELD, KeyQuerySet
from parties.refusal import Refusal

ROOT_LABEL = "installation root"


def installation() -> Installation:
    """The root of this installation; made once, by the first act that needs it."""
    known = Installation.objects.first()
    if known is not None:
        return known
    private, certificate = make_root(demo=settings.DEMO)
    try:
        with transaction.atomic():
            return Installation.objects.create(
                id=1,
                name=_subject(certificate),
                certificate=certificate,
                sealed=_sealed(private, ROOT_LABEL),
                fingerprint=fingerprint(certificate),
            )
    except IntegrityError:
        return Installation.objects.get()  # somebody else made it at the same moment


def root_key() -> ec.EllipticCurvePrivateKey:
    """The root's private part."""
    return _opened(bytes(installation().sealed), ROOT_LABEL)


def key_of(person: Person, organisation: Organisation) -> Key:
    """The key with which this person signs for this organisation, made when there is none.

    A changed name or an expired certificate asks for a new key; the old one is revoked and its
    signatures stay valid for the time they were made. Refusal (`service_refusal`) where somebody
    revoked the last one.
    """
    refusal = service_refusal(person, organisation)
    if refusal is not None:
        raise refusal
    in_use = _service_held(person, organisation).filter(revoked_at__isnull=True)
    known = in_use.first()
    if known is not None and _holds(known, person, organisation):
        return known
    try:
        with transaction.atomic():
            if known is not None:
                stale = Key.objects.filter(pk=known.pk, revoked_at__isnull=True)
                stale.update(revoked_at=clock.now())
            return make_service_key(person, organisation)
    except IntegrityError:
        # The same person acted elsewhere at the same moment and made it first.
        return in_use.get()


def service_ended(person: Person, organisation: Organisation) -> bool:
    """Whether somebody revoked the last key that the service held for this person, which is more
    than that it was renewed: no new one comes of itself."""
    last = _service_held(person, organisation).order_by("-created_at").first()
    return last is not None and last.revoked_by_id is not None


def service_refusal(person: Person, organisation: Organisation) -> Refusal | None:
    """Why no key that the service holds signs for this person; None where one does, or is made."""
    if service_ended(person, organisation):
        return Refusal(
            "key.service_ended",
            _(
                "The key that this service held for you was revoked, and no new one is made by "
                "itself. Make a key of your own under “Signing keys”, which your account page "
                "leads to, or ask there for a new one held by the service; a second person of your "
                "firm confirms it."
            ),
        )
    if _service_held(person, organisation).pending().exists():
        return unconfirmed()
    return None


def unconfirmed() -> Refusal:
    """Why a key that waits signs nothing."""
    return Refusal(
        "key.unconfirmed",
        _("A second person of your firm has not confirmed this key yet: it signs nothing."),
    )


def _service_held(person: Person, organisation: Organisation) -> KeyQuerySet:
    return Key.objects.filter(person=person, organisation=organisation, assurance=SERVICE_HELD)


def own_keys(person: Person, organisation: Organisation) -> list[Key]:
    """The keys that this person holds and may sign with for this organisation, newest first: in
    force today, and bearing the names of today."""
    return list(
        Key.objects.own()
        .usable(clock.now())
        .filter(
            person=person,
            organisation=organisation,
            name=person.name,
            organisation_name=organisation.name,
        )
        .order_by("-created_at")
    )


def certified(
    public: ec.EllipticCurvePublicKey, person: Person, organisation: Organisation
) -> dict[str, Any]:
    """The certificate of the root for a signatory's public part, as the fields of a `Key`."""
    certificate = issue_leaf(
        root_key(),
        bytes(installation().certificate),
        public,
        name=person.name,
        organisation=organisation.name,
        demo=settings.DEMO,
    )
    return {
        "person": person,
        "organisation": organisation,
        "certificate": certificate,
        "fingerprint": fingerprint(certificate),
        "name": person.name,
        "organisation_name": organisation.name,
        "expires_at": x509.load_der_x509_certificate(certificate).not_valid_after_utc,
    }


def private_part(key: Key) -> ec.EllipticCurvePrivateKey:
    """The private part, for the moment of signing."""
    return _opened(bytes(key.sealed), key.fingerprint)


def _holds(key: Key, person: Person, organisation: Organisation) -> bool:
    names = (key.name, key.organisation_name) == (person.name, organisation.name)
    return names and key.expires_at > clock.now()


def make_service_key(
    person: Person, organisation: Organisation, *, needs_confirmation: bool = False
) -> Key:
    """A new key that the service holds; one that needs confirmation signs nothing before it."""
    private = new_key()
    fields = certified(private.public_key(), person, organisation)
    return Key.objects.create(
        assurance=SERVICE_HELD,
        sealed=_sealed(private, fields["fingerprint"]),
        needs_confirmation=needs_confirmation,
        **fields,
    )


def _subject(certificate: bytes) -> str:
    return x509.load_der_x509_certificate(certificate).subject.rfc4514_string()


def _sealed(private: ec.EllipticCurvePrivateKey, label: str) -> bytes:
    return seal(private.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption()), label)


def _opened(sealed: bytes, label: str) -> ec.EllipticCurvePrivateKey:
    private = load_der_private_key(unseal(sealed, label), password=None)
    if not isinstance(private, ec.EllipticCurvePrivateKey):
        raise TypeError(f"{label}: not a P-256 key")
    return private
