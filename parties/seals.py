"""Which certificate seals PDFs for whom: the service's own, an organisation's, and their entries.

A seal shows what the service sealed on somebody's behalf and when. It is no signatory's signature.
"""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils.translation import gettext

from jobs import pdfseal
from jobs.pdfseal import Said, Signer, Stamping
from ledger import chain, clock
from ledger.certificates import fingerprint, issue_leaf, new_key
from ledger.chain import SYSTEM
from ledger.kinds import Kind
from ledger.sealing import seal, unseal
from parties.keys import installation, root_key
from parties.models import DocumentSeal, Dossier, Organisation, Person, SealKey, Seat, Sitter

SERVICE_NAME = "Countershade service seal"
SERVICE_ORGANISATION = "Countershade installation"
SERVICE = SYSTEM.side  # whose seal it is, where an organisation's has its side
SERVICE_FIELD = "Service"
FIELDS = {"customer": "Customer", "supplier": "Supplier"}


def service_key() -> SealKey:
    """The key of the service's certification seal, made when there is none that holds."""
    return _kept(None, lambda known: known.expires_at > clock.now())


def key_for(organisation: Organisation) -> SealKey:
    """The key that seals for an organisation today: its own certificate while that is valid,
    otherwise one issued by the installation, made when there is none that holds."""
    own = own_key(organisation)
    if own is not None and valid(own):
        return own
    return _kept(
        organisation,
        lambda known: (
            known.expires_at > clock.now() and known.organisation_name == organisation.name
        ),
    )


def own_key(organisation: Organisation) -> SealKey | None:
    """The organisation's own certificate in use, valid or not."""
    return _in_use(organisation, SealKey.Issuer.OWN)


def valid(key: SealKey) -> bool:
    """Whether its certificate is valid now."""
    return key.valid_from <= clock.now() < key.expires_at


def _in_use(organisation: Organisation | None, issuer: str) -> SealKey | None:
    return SealKey.objects.filter(
        organisation=organisation, issuer=issuer, retired_at__isnull=True
    ).first()


def _kept(organisation: Organisation | None, holds: Callable[[SealKey], bool]) -> SealKey:
    """The installation's key for an organisation (None: the service), made anew where it does not
    hold; what an old one sealed stands."""
    issuer = SealKey.Issuer.INSTALLATION
    known = _in_use(organisation, issuer)
    if known is not None and holds(known):
        return known
    try:
        with transaction.atomic():
            if known is not None:
                retire(known)
            return _issued(organisation)
    except IntegrityError:
        # Somebody else made it at the same moment.
        return SealKey.objects.get(organisation=organisation, issuer=issuer, retired_at=None)


def retire(key: SealKey) -> bool:
    """Take a key out of use; False where it was already."""
    rows = SealKey.objects.filter(pk=key.pk, retired_at__isnull=True)
    return rows.update(retired_at=clock.now()) == 1


def _issued(organisation: Organisation | None) -> SealKey:
    private = new_key()
    name = organisation.name if organisation else SERVICE_ORGANISATION
    certificate = issue_leaf(
        root_key(),
        bytes(installation().certificate),
        private.public_key(),
        name=f"Seal of {name}" if organisation else SERVICE_NAME,
        organisation=name,
        demo=settings.DEMO,
    )
    key = private.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
    return store(organisation, SealKey.Issuer.INSTALLATION, Signer(key, certificate))


def store(
    organisation: Organisation | None, issuer: str, signer: Signer, *, by: Person | None = None
) -> SealKey:
    """Keep a key; its private part is sealed at rest."""
    read = x509.load_der_x509_certificate(signer.certificate)
    digest = fingerprint(signer.certificate)
    return SealKey.objects.create(
        organisation=organisation,
        issuer=issuer,
        certificate=signer.certificate,
        chain="".join(_pem(one) for one in signer.chain),
        sealed=seal(signer.key, _label(digest)),
        fingerprint=digest,
        name=read.subject.rfc4514_string()[:400],
        organisation_name=organisation.name if organisation else "",
        valid_from=read.not_valid_before_utc,
        expires_at=read.not_valid_after_utc,
        entered_by=by,
    )


def _pem(der: bytes) -> str:
    return x509.load_der_x509_certificate(der).public_bytes(Encoding.PEM).decode()


def _label(digest: str) -> str:
    return f"document seal {digest}"


def signer_of(key: SealKey) -> Signer:
    """The opened key, for the moment of sealing."""
    private = unseal(bytes(key.sealed), _label(key.fingerprint))
    above = x509.load_pem_x509_certificates(key.chain.encode()) if key.chain else []
    ders = tuple(one.public_bytes(Encoding.DER) for one in above)
    return Signer(private, bytes(key.certificate), ders)


@dataclass(frozen=True)
class Put:
    """A seal that was put on a file: by which key, for whom, and what became of its time stamp."""

    key: SealKey
    seat: Seat | None  # none: the service
    stamp: str
    at: datetime

    @property
    def side(self) -> str:
        """The side it stands for; `system` for the service."""
        return self.seat.side if self.seat else SERVICE

    @property
    def holder(self) -> str:
        """The organisation's name; empty for the service."""
        return self.seat.organisation.name if self.seat else ""


def stamping() -> Stamping | None:
    """The time stamp authority of the settings; one value for all seals of a job."""
    if not settings.TIMESTAMP_URL:
        return None
    return Stamping(settings.TIMESTAMP_URL, tuple(settings.TIMESTAMP_ROOTS))


def certify(
    pdf: bytes, *, places: Sequence[str] = (), stamp: Stamping | None = None
) -> tuple[bytes, Put]:
    """Seal a PDF for the service, with empty fields kept for the sides' seals.

    What the seal says of itself is in the active language. Raises jobs.pdfseal.SealingError,
    sealing errors of the key store.
    """
    key, at = service_key(), clock.now()
    reason = gettext("Made and sealed by this service. Only further seals may be added.")
    said = Said(SERVICE_FIELD, SERVICE_NAME, reason, at)
    made = pdfseal.certify(pdf, signer_of(key), said, places=places, stamping=stamp)
    return made.pdf, Put(key, None, made.stamp, at)


def seal_for(seat: Seat, pdf: bytes, *, stamp: Stamping | None = None) -> tuple[bytes, Put]:
    """Seal a certified PDF for the organisation on a seat, in the field of its side."""
    key, at = key_for(seat.organisation), clock.now()
    reason = gettext(
        "Sealed by this service on behalf of %(firm)s. The signature itself stands in the signed "
        "record."
    ) % {"firm": seat.organisation.name}
    said = Said(FIELDS[seat.side], seat.organisation.name, reason, at)
    made = pdfseal.countersign(pdf, signer_of(key), said, stamping=stamp)
    return made.pdf, Put(key, seat, made.stamp, at)


def record(dossier: Dossier, digest: str, put: Sequence[Put], *, before: str = "") -> list[str]:
    """The rows of a PDF's seals, after those of the PDF that it begins with (`before`, a digest).

    Inside the caller's transaction. Returns the certificates' fingerprints in the file's order.
    """
    earlier = DocumentSeal.objects.filter(dossier=dossier, digest=before).order_by("place")
    rows = [
        DocumentSeal(
            dossier=dossier, digest=digest, place=one.place, key=one.key, side=one.side,
            holder=one.holder, stamp=one.stamp, sealed_at=one.sealed_at,
        )
        for one in earlier.select_related("key")
    ]  # fmt: skip
    for place, one in enumerate(put, len(rows) + 1):
        rows.append(
            DocumentSeal(
                dossier=dossier, digest=digest, place=place, key=one.key, side=one.side,
                holder=one.holder, stamp=one.stamp, sealed_at=one.at,
            )
        )  # fmt: skip
    DocumentSeal.objects.bulk_create(rows)
    return [row.key.fingerprint for row in rows]


def enter_certificates(dossier: Dossier, put: Sequence[Put], *, act: str) -> None:
    """Copy the certificates into the chain, each once, inside the caller's transaction."""
    Dossier.objects.select_for_update().get(pk=dossier.pk)  # one after the other: each only once
    for one in put:
        subject = f"seal:{one.key.fingerprint}"
        known = chain.entries(dossier.chain).filter(kind=Kind.SEAL_CERTIFIED.value, subject=subject)
        if known.exists():
            continue
        chain.append(
            dossier.chain,
            by=SYSTEM,
            kind=Kind.SEAL_CERTIFIED,
            subject=subject,
            act=act,
            payload={
                "organisation": one.seat.code if one.seat else SYSTEM.organisation,
                "side": one.side,
                "certificate": base64.b64encode(bytes(one.key.certificate)).decode(),
                "fingerprint": one.key.fingerprint,
                "issuer": one.key.issuer,
            },
        )


def stamps_on(paper: Any) -> list[str]:
    """What became of the time stamp of each seal on a PDF (a row with `dossier` and `digest`)."""
    rows = DocumentSeal.objects.filter(dossier=paper.dossier, digest=paper.digest)
    return list(rows.order_by("place").values_list("stamp", flat=True))


def seals_of(sitter: Sitter, digests: Iterable[str]) -> dict[str, list[DocumentSeal]]:
    """The seals on these PDFs as far as the sitter sees them, in the files' order."""
    found: dict[str, list[DocumentSeal]] = {}
    rows = DocumentSeal.objects.visible_to(sitter).filter(digest__in=["", *digests])
    for row in rows.select_related("key").order_by("digest", "place"):
        found.setdefault(row.digest, []).append(row)
    return found
