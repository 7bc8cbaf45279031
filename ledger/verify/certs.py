"""X.509 as far as the record needs it: one root, leaves issued by it directly, P-256 throughout."""

from __future__ import annotations

import warnings
from datetime import datetime
from typing import TypeVar

from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import NameOID

from ledger.verify.report import Refusal

Extension = TypeVar("Extension", x509.BasicConstraints, x509.KeyUsage)

MAX_DER = 8192
NAME_LIMIT = 64  # X.520's bound for common name and organisation name


def load(der: bytes) -> x509.Certificate:
    """The certificate of a DER encoding that re-encodes to itself."""
    if len(der) > MAX_DER:
        raise Refusal("certificate.size", f"certificate of more than {MAX_DER} bytes")
    try:
        with warnings.catch_warnings():
            # Oddities that are tolerated today are printed by the library: not our report.
            warnings.simplefilter("ignore")
            certificate = x509.load_der_x509_certificate(der)
            _touch(certificate)
        again = certificate.public_bytes(Encoding.DER)
        _public(certificate)
    except (
        ValueError,
        TypeError,
        UnsupportedAlgorithm,
        x509.DuplicateExtension,
        x509.InvalidVersion,
    ) as error:
        raise Refusal("certificate.form", f"not a certificate: {type(error).__name__}") from None
    if again != der:
        raise Refusal("certificate.form", "certificate does not re-encode to itself")
    return certificate


def _touch(certificate: x509.Certificate) -> None:
    """Read what the library parses lazily, so that hostile parts are refused at once."""
    _ = (list(certificate.extensions), certificate.subject, certificate.issuer)
    _ = (certificate.not_valid_before_utc, certificate.not_valid_after_utc)
    _ = (certificate.version, certificate.signature, certificate.signature_algorithm_oid)


def check_root(certificate: x509.Certificate) -> ec.EllipticCurvePublicKey:
    """The root's public key; Refusal unless it is a self-signed P-256 authority."""
    if certificate.issuer != certificate.subject:
        raise Refusal("root.issuer", "the root certificate is not issued by itself")
    _signed_by(certificate, _public(certificate), "root.signature")
    constraints = _extension(certificate, x509.BasicConstraints)
    if constraints is None or not constraints.ca:
        raise Refusal("root.authority", "the root certificate is no authority")
    usage = _extension(certificate, x509.KeyUsage)
    if usage is None or not usage.key_cert_sign or not usage.digital_signature:
        raise Refusal("root.usage", "the root may not certify keys and sign checkpoints")
    return _public(certificate)


def check_leaf(
    root: x509.Certificate, leaf: x509.Certificate, at: datetime
) -> ec.EllipticCurvePublicKey:
    """The leaf's public key; Refusal unless the root issued it and it was valid `at` that time."""
    if leaf.issuer != root.subject:
        raise Refusal("certificate.issuer", "certificate was not issued by the root")
    _signed_by(leaf, _public(root), "certificate.signature")
    constraints = _extension(leaf, x509.BasicConstraints)
    if constraints is None or constraints.ca:
        raise Refusal("certificate.authority", "a signatory's certificate may not be an authority")
    usage = _extension(leaf, x509.KeyUsage)
    if usage is None or not usage.digital_signature or usage.key_cert_sign:
        raise Refusal("certificate.usage", "certificate is not for digital signatures alone")
    check_time(leaf, at)
    return _public(leaf)


def check_time(certificate: x509.Certificate, at: datetime) -> None:
    """Refusal unless `at` (aware) lies within the certificate's validity."""
    # Certificates carry whole seconds.
    if not certificate.not_valid_before_utc <= at.replace(microsecond=0):
        raise Refusal("certificate.time", "certificate was not yet valid at that time")
    if at > certificate.not_valid_after_utc:
        raise Refusal("certificate.time", "certificate was no longer valid at that time")


def names(certificate: x509.Certificate) -> tuple[str, str]:
    """Common name and organisation name; empty where absent or repeated."""
    result = []
    for oid in (NameOID.COMMON_NAME, NameOID.ORGANIZATION_NAME):
        found = certificate.subject.get_attributes_for_oid(oid)
        result.append(str(found[0].value) if len(found) == 1 else "")
    return result[0], result[1]


def _public(certificate: x509.Certificate) -> ec.EllipticCurvePublicKey:
    key = certificate.public_key()
    if not isinstance(key, ec.EllipticCurvePublicKey) or key.curve.name != "secp256r1":
        raise Refusal("certificate.key", "the certified key is not on P-256")
    return key


def _signed_by(certificate: x509.Certificate, key: ec.EllipticCurvePublicKey, id: str) -> None:
    try:
        algorithm = certificate.signature_hash_algorithm
    except UnsupportedAlgorithm:
        algorithm = None
    if not isinstance(algorithm, hashes.SHA256):
        raise Refusal(id, "certificate is not signed with ECDSA and SHA-256")
    try:
        key.verify(
            certificate.signature,
            certificate.tbs_certificate_bytes,
            ec.ECDSA(algorithm),
        )
    except InvalidSignature:
        raise Refusal(id, "the certificate's signature does not fit its issuer's key") from None


def _extension(certificate: x509.Certificate, kind: type[Extension]) -> Extension | None:
    try:
        return certificate.extensions.get_extension_for_class(kind).value
    except x509.ExtensionNotFound:
        return None
