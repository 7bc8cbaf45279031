"""The installation's root and the certificates it issues for signatories' keys (X.509, P-256).

A signatory's certificate carries the person's and the organisation's name: these are part of what
is signed and cannot be erased.
"""

from __future__ import annotations

import unicodedata
from datetime import UTC, datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import NameOID

from ledger import clock
from ledger.canonical import digest
from ledger.verify import certs
from ledger.verify.report import Refusal

ROOT_NAME = "Countershade installation root"
ROOT_DAYS = 30 * 365
LEAF_DAYS = 3 * 365


class CertificateError(ValueError):
    """A certificate that does not hold; the message says why."""


def new_key() -> ec.EllipticCurvePrivateKey:
    """A fresh P-256 key."""
    return ec.generate_private_key(ec.SECP256R1())


def make_root(*, demo: bool = False) -> tuple[ec.EllipticCurvePrivateKey, bytes]:
    """A new root: its private key and its certificate (DER), valid for 30 years from now."""
    key = new_key()
    name = x509.Name(
        [x509.NameAttribute(NameOID.COMMON_NAME, ROOT_NAME + (" (demo)" if demo else ""))]
    )
    builder = _builder(name, name, key.public_key(), timedelta(days=ROOT_DAYS))
    builder = builder.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    builder = builder.add_extension(_usage(certify=True), critical=True)
    certificate = builder.sign(key, hashes.SHA256())
    return key, certificate.public_bytes(Encoding.DER)


def issue_leaf(
    root_key: ec.EllipticCurvePrivateKey,
    root_der: bytes,
    public_key: ec.EllipticCurvePublicKey,
    *,
    name: str,
    organisation: str,
    demo: bool = False,
) -> bytes:
    """A certificate (DER) for a signatory's key: person's and organisation's name, three years."""
    root = x509.load_der_x509_certificate(root_der)
    attributes = [
        x509.NameAttribute(NameOID.ORGANIZATION_NAME, certified_name(organisation)),
        x509.NameAttribute(NameOID.COMMON_NAME, certified_name(name)),
    ]
    if demo:
        attributes.insert(1, x509.NameAttribute(NameOID.ORGANIZATIONAL_UNIT_NAME, "demo"))
    builder = _builder(x509.Name(attributes), root.subject, public_key, timedelta(days=LEAF_DAYS))
    builder = builder.add_extension(x509.BasicConstraints(ca=False, path_length=None), True)
    builder = builder.add_extension(_usage(certify=False), critical=True)
    return builder.sign(root_key, hashes.SHA256()).public_bytes(Encoding.DER)


def certified_name(name: str) -> str:
    """A name as certificates carry it: NFC, cut to the 64 characters that X.520 allows."""
    return unicodedata.normalize("NFC", name)[: certs.NAME_LIMIT]


def check_leaf(root_der: bytes, leaf_der: bytes, at: datetime) -> ec.EllipticCurvePublicKey:
    """The certified key; CertificateError unless the root issued it and it was valid `at`."""
    try:
        return certs.check_leaf(certs.load(root_der), certs.load(leaf_der), at.astimezone(UTC))
    except Refusal as refusal:
        raise CertificateError(str(refusal)) from None


def fingerprint(certificate_der: bytes) -> str:
    """SHA-256 of the certificate's DER, lowercase hex."""
    return digest(certificate_der)


def _builder(
    subject: x509.Name,
    issuer: x509.Name,
    public_key: ec.EllipticCurvePublicKey,
    valid: timedelta,
) -> x509.CertificateBuilder:
    start = clock.now().astimezone(UTC).replace(microsecond=0)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public_key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(start + valid)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public_key), critical=False)
    )


def _usage(*, certify: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=True,
        content_commitment=not certify,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=certify,
        crl_sign=certify,
        encipher_only=False,
        decipher_only=False,
    )
