"""A firm's own sealing certificate: taken in, replaced, or given up for the installation's."""

from __future__ import annotations

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import load_der_private_key
from cryptography.x509.oid import ExtendedKeyUsageOID
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from jobs import pkcs12
from jobs.pdfseal import Signer
from ledger import clock
from ledger.verify import certs
from ledger.verify.report import Refusal as Unreadable
from parties.access import KEEPERS
from parties.capacity import Capacity
from parties.models import Dossier, SealKey
from parties.refusal import Refusal
from parties.seals import own_key, retire, store

NOT_FOR_SEALS = {
    ExtendedKeyUsageOID.SERVER_AUTH,
    ExtendedKeyUsageOID.TIME_STAMPING,
    ExtendedKeyUsageOID.OCSP_SIGNING,
}
UNOPENED = {
    "size": _("The file is empty or larger than 64 KiB: no PKCS#12 file with one key is."),
    "closed": _("The file does not open: another password, or it is no PKCS#12 file."),
    "empty": _("The file holds no private key with its certificate."),
    "limits": _("The file asks for more work to open than is given."),
}


def take_own_certificate(
    dossier: Dossier, *, by: Capacity, upload: UploadedFile, file_password: str = ""
) -> SealKey:
    """Seal for one's firm with its own certificate from now on; an earlier one is retired.

    The file's password is used once and kept nowhere. Refused: a file that does not open, a key
    not on P-256, a certificate that does not fit, is not valid now or is not for signing.
    """
    _keeper(by, dossier)
    signer = _opened(upload, file_password)
    certificate = _fitting(signer)
    now = clock.now()
    if not certificate.not_valid_before_utc <= now < certificate.not_valid_after_utc:
        raise Refusal(
            "seal.validity",
            _("The certificate is valid from %(start)s to %(end)s (UTC), not today."),
            field="upload",
            start=f"{certificate.not_valid_before_utc:%Y-%m-%d}",
            end=f"{certificate.not_valid_after_utc:%Y-%m-%d}",
        )
    try:
        with transaction.atomic():
            known = own_key(by.organisation)
            if known is not None:
                retire(known)
            return store(by.organisation, SealKey.Issuer.OWN, signer, by=by.person)
    except IntegrityError:
        raise Refusal(
            "seal.moved_on", _("A colleague changed the certificate at the same moment.")
        ) from None


def seal_by_installation(dossier: Dossier, *, by: Capacity) -> None:
    """Go back to the certificate that the installation issues; the own one is retired."""
    _keeper(by, dossier)
    known = own_key(by.organisation)
    if known is None or not retire(known):
        raise Refusal("seal.no_own", _("Your firm seals with the installation's certificate."))


def _keeper(by: Capacity, dossier: Dossier) -> None:
    if by.role not in KEEPERS or dossier.pk != by.dossier.pk:
        raise Refusal(
            "seal.keeper", _("The seal is kept by your firm's administrator or quality lead.")
        )


def _opened(upload: UploadedFile, password: str) -> Signer:
    try:
        found = pkcs12.opened(upload.read(pkcs12.MAX_BYTES + 1), password)
    except pkcs12.Pkcs12Error as error:
        field = "file_password" if error.id == "closed" else "upload"
        raise Refusal(f"seal.{error.id}", UNOPENED[error.id], field=field) from None
    return Signer(found.key, found.certificate, found.chain)


def _fitting(signer: Signer) -> x509.Certificate:
    """The certificate, once it and its key are such as seals need."""
    try:
        key = load_der_private_key(signer.key, password=None)
        certificate = x509.load_der_x509_certificate(signer.certificate)
        public = certificate.public_key()
        odd = _odd(certificate)
        on_curve = isinstance(key, ec.EllipticCurvePrivateKey) and key.curve.name == "secp256r1"
        if on_curve:
            certs.load(signer.certificate)  # as whoever checks the record will read it
    except (ValueError, TypeError, x509.DuplicateExtension, x509.InvalidVersion, Unreadable):
        raise Refusal("seal.form", _("The certificate cannot be read."), field="upload") from None
    if not on_curve:
        raise Refusal(
            "seal.key",
            _("The key is not an elliptic curve key on P-256; only those seal here."),
            field="upload",
        )
    if public != key.public_key():
        raise Refusal(
            "seal.pair", _("The certificate is not that of the key, or too large."), field="upload"
        )
    if odd:
        raise Refusal(
            "seal.use",
            _("The certificate is an authority's, or is not meant for signing documents."),
            field="upload",
        )
    return certificate


def _odd(certificate: x509.Certificate) -> bool:
    """Whether the certificate says that it is not for signing documents."""
    usage = _extension(certificate, x509.KeyUsage)
    if usage is not None and not (usage.digital_signature or usage.content_commitment):
        return True
    constraints = _extension(certificate, x509.BasicConstraints)
    if constraints is not None and constraints.ca:
        return True
    purposes = _extension(certificate, x509.ExtendedKeyUsage)
    return purposes is not None and set(purposes) <= NOT_FOR_SEALS


def _extension(certificate: x509.Certificate, kind: type) -> object | None:
    try:
        return certificate.extensions.get_extension_for_class(kind).value
    except x509.ExtensionNotFound:
        return None
