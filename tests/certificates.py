"""Invented firms' own certificates in PKCS#12 files, made with `cryptography` alone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    pkcs12,
)
from cryptography.x509.oid import NameOID

DAY = timedelta(days=1)


@dataclass(frozen=True)
class Own:
    """The file, and what is in it."""

    file: bytes
    root: bytes
    certificate: bytes
    key: Any


def own_certificate(
    password: str = "",
    *,
    key: Any = None,
    start: datetime | None = None,
    days: int = 365,
    usage: bool = True,
    authority: bool = False,
    purposes: list[x509.ObjectIdentifier] | None = None,
    of_key: Any = None,
    with_certificate: bool = True,
) -> Own:
    """A firm's authority issues a certificate for its seal: invented names, one year from today."""
    start = start or datetime.now(UTC).replace(microsecond=0) - DAY
    root_key = ec.generate_private_key(ec.SECP256R1())
    root = _issue(
        "Quarrow authority (invented)", "Quarrow authority (invented)", root_key.public_key(),
        root_key, start - DAY, 3650, authority=True, usage=True, purposes=None,
    )  # fmt: skip
    key = key or ec.generate_private_key(ec.SECP256R1())
    leaf = _issue(
        "Quarrow document seal (invented)", "Quarrow authority (invented)",
        (of_key or key).public_key(), root_key, start, days,
        authority=authority, usage=usage, purposes=purposes,
    )  # fmt: skip
    hidden = BestAvailableEncryption(password.encode()) if password else NoEncryption()
    file = pkcs12.serialize_key_and_certificates(
        b"seal", key, leaf if with_certificate else None, [root], hidden
    )
    der = Encoding.DER
    return Own(file, root.public_bytes(der), leaf.public_bytes(der), key)


def _issue(
    subject: str,
    issuer: str,
    public_key: Any,
    by: Any,
    start: datetime,
    days: int,
    *,
    authority: bool,
    usage: bool,
    purposes: list[x509.ObjectIdentifier] | None,
) -> x509.Certificate:
    def name(text: str) -> x509.Name:
        return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])

    builder = (
        x509.CertificateBuilder()
        .subject_name(name(subject))
        .issuer_name(name(issuer))
        .public_key(public_key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(start + days * DAY)
        .add_extension(x509.BasicConstraints(ca=authority, path_length=None), critical=True)
        .add_extension(
            x509.KeyUsage(
                digital_signature=usage, content_commitment=False, key_encipherment=not usage,
                data_encipherment=False, key_agreement=False, key_cert_sign=authority,
                crl_sign=authority, encipher_only=False, decipher_only=False,
            ),
            critical=True,
        )
    )  # fmt: skip
    if purposes:
        builder = builder.add_extension(x509.ExtendedKeyUsage(purposes), critical=False)
    return builder.sign(by, hashes.SHA256())
