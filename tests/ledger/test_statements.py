"""Certificates and detached signatures, checked also by a JOSE library that is not ours."""

import base64
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from joserfc import jws as jose
from joserfc.errors import BadSignatureError
from joserfc.jwk import ECKey

from ledger import certificates, clock, statements
from ledger.canonical import parse
from ledger.chain import ChainError
from ledger.statements import SignatureError
from tests.ledger.small import CHAIN, CUSTOMER, NAMES, SUPPLIER, composed, signed, unsigned

NOW = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
FIELDS = {
    "v", "chain", "what", "subject", "revision", "digest", "signer", "name", "organisation",
    "organisation_name", "side", "role", "intent", "nonce", "time", "head", "keys", "assurance",
}  # fmt: skip


@pytest.fixture
def small(db):
    return unsigned()


def test_a_statement_has_the_fields_fixed_for_good(small):
    value = parse(composed(small, SUPPLIER))
    assert set(value) == FIELDS
    assert value["signer"] == "S-1" and value["name"] == NAMES["supplier"][0]
    assert value["head"] == {"number": 5, "hash": statements.head(CHAIN).hash}
    assert set(value["keys"]) == {"customer", "supplier"}
    assert value["keys"]["customer"] == [certificates.fingerprint(small.certificates["customer"])]


def test_two_statements_never_have_the_same_nonce(small):
    one, two = (parse(composed(small, SUPPLIER))["nonce"] for _ in range(2))
    assert one != two and len(one) == 64


def test_nothing_is_signed_in_an_empty_chain(db):
    with pytest.raises(ChainError):
        statements.checkpoint("nowhere", root_fingerprint="0" * 64)


def test_a_jose_library_accepts_the_signature_and_refuses_another_text(small):
    statement = composed(small, SUPPLIER)
    signature = statements.sign_detached(small.keys["supplier"], statement)
    leaf = x509.load_der_x509_certificate(small.certificates["supplier"])
    public = leaf.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    key = ECKey.import_key(public)
    head, _, tail = signature.split(".")

    def attached(text: bytes) -> str:
        middle = base64.urlsafe_b64encode(text).decode().rstrip("=")
        return f"{head}.{middle}.{tail}"

    found = jose.deserialize_compact(attached(statement), key, algorithms=["ES256"])
    assert found.payload == statement
    assert found.headers() == {"alg": "ES256", "typ": "countershade-statement"}
    with pytest.raises(BadSignatureError):
        jose.deserialize_compact(
            attached(statement.replace(b"agree", b"argue")), key, algorithms=["ES256"]
        )


def test_our_check_accepts_it_and_refuses_text_key_and_kind(small):
    statement = composed(small, SUPPLIER)
    signature = statements.sign_detached(small.keys["supplier"], statement)
    leaf = small.certificates["supplier"]
    statements.verify_detached(leaf, statement, signature)
    with pytest.raises(SignatureError, match="does not fit"):
        statements.verify_detached(leaf, statement + b" ", signature)
    with pytest.raises(SignatureError, match="does not fit"):
        statements.verify_detached(small.certificates["customer"], statement, signature)
    with pytest.raises(SignatureError, match="protected header"):
        statements.verify_checkpoint(leaf, statement, signature)


def test_a_base64url_that_decodes_alike_is_refused(small):
    statement = composed(small, SUPPLIER)
    signature = statements.sign_detached(small.keys["supplier"], statement)
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    # 64 bytes end in a character of which four bits are unused: fifteen others decode alike.
    start = alphabet.index(signature[-1]) & 0b110000
    for last in alphabet[start : start + 16]:
        changed = signature[:-1] + last
        if changed == signature:
            continue
        with pytest.raises(SignatureError, match="re-encode"):
            statements.verify_detached(small.certificates["supplier"], statement, changed)


def test_the_root_says_when_it_is_a_demo():
    plain = x509.load_der_x509_certificate(certificates.make_root()[1])
    demo = x509.load_der_x509_certificate(certificates.make_root(demo=True)[1])
    assert plain.subject.rfc4514_string() == "CN=Countershade installation root"
    assert demo.subject.rfc4514_string() == "CN=Countershade installation root (demo)"


def test_a_leaf_holds_under_its_root_and_within_its_years():
    with clock.fixed(NOW):
        key, root = certificates.make_root()
        leaf = certificates.issue_leaf(
            key, root, certificates.new_key().public_key(), name="Ada Example", organisation="O"
        )
        _, other = certificates.make_root()
    certificates.check_leaf(root, leaf, NOW)
    with pytest.raises(certificates.CertificateError, match="not yet valid"):
        certificates.check_leaf(root, leaf, NOW - timedelta(seconds=1))
    with pytest.raises(certificates.CertificateError, match="no longer valid"):
        certificates.check_leaf(root, leaf, NOW + timedelta(days=3 * 365, seconds=1))
    with pytest.raises(certificates.CertificateError, match="signature"):
        certificates.check_leaf(other, leaf, NOW)
    with pytest.raises(certificates.CertificateError, match="authority"):
        certificates.check_leaf(root, root, NOW)
    with pytest.raises(certificates.CertificateError, match="not a certificate"):
        certificates.check_leaf(root, leaf[:-1], NOW)


def test_a_long_name_is_cut_to_what_a_certificate_holds():
    key, root = certificates.make_root()
    leaf = certificates.issue_leaf(
        key, root, certificates.new_key().public_key(), name="N" * 200, organisation="Ø" * 200
    )
    certificates.check_leaf(root, leaf, clock.now())


def test_signing_after_both_keys_are_certified_names_both(db):
    small = signed()
    value = parse(composed(small, CUSTOMER))
    assert {len(prints) for prints in value["keys"].values()} == {1}
