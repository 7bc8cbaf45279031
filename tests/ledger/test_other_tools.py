"""A record in the eyes of others: JOSE, passkey, zip and OpenSSL tools that are not ours.

What they say must be what the verifier says: the same signatures hold, and the same altered ones
do not. Nothing of ledger/verify is used to read the record here.
"""

from __future__ import annotations

import base64
import hashlib
import io
import json
import subprocess
import zipfile
from pathlib import Path
from typing import Any

import pytest
from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from joserfc import jws as jose
from joserfc.errors import BadSignatureError
from joserfc.jwk import ECKey
from webauthn import verify_authentication_response
from webauthn.helpers.exceptions import InvalidAuthenticationResponse

from ledger.canonical import parse
from tests import needs
from tests.ledger import plain as make
from tests.ledger.plain import LOT


@pytest.fixture(scope="module")
def signed():
    """The chain, both keys and the record's bytes."""
    plain, ada, bo = make.signed()
    return plain, ada, bo, plain.record()


def contents(record: bytes) -> dict[str, bytes]:
    """Members by name, by Python's own zip reader."""
    with zipfile.ZipFile(io.BytesIO(record)) as box:
        assert box.testzip() is None
        return {info.filename: box.read(info) for info in box.infolist()}


def payloads(record: bytes, kind: str) -> list[dict[str, Any]]:
    """Payloads of a kind, in order, by the document alone."""
    found = []
    for name, content in sorted(contents(record).items()):
        if name.startswith("entries/"):
            header, payload, _salt, _ = content.split(b"\n")
            if json.loads(header)["kind"] == kind:
                found.append(json.loads(payload))
    return found


def unpadded(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def b64url(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).decode().rstrip("=")


def certified(record: bytes) -> dict[str, x509.Certificate]:
    """Certificates of the chain by fingerprint."""
    return {
        one["fingerprint"]: x509.load_der_x509_certificate(base64.b64decode(one["certificate"]))
        for one in payloads(record, "key.certified")
    }


def jose_key(certificate: x509.Certificate) -> ECKey:
    public = certificate.public_key()
    return ECKey.import_key(public.public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo))


def attached(detached: str, text: bytes) -> str:
    head, _, tail = detached.split(".")
    return f"{head}.{b64url(text)}.{tail}"


def test_joserfc_accepts_the_browser_held_signature_and_the_checkpoint(signed):
    """RFC 7515, appendix F: the document is put between the dots."""
    *_, record = signed
    members = contents(record)
    root = jose_key(x509.load_der_x509_certificate(members["root.der"]))
    keys = certified(record)
    (one,) = [one for one in payloads(record, "signature.made") if "jws" in one]
    cases = [
        (one["jws"], one["statement"].encode(), jose_key(keys[one["fingerprint"]])),
        (members["checkpoint.jws"].decode(), members["checkpoint.json"], root),
    ]
    for detached, text, key in cases:
        found = jose.deserialize_compact(attached(detached, text), key, algorithms=["ES256"])
        assert found.payload == text
        with pytest.raises(BadSignatureError):
            jose.deserialize_compact(attached(detached, text + b" "), key, algorithms=["ES256"])


def evidence(record: bytes) -> tuple[dict[str, Any], dict[str, Any], x509.Certificate]:
    """The passkey's signature: its payload, the credential, the certificate."""
    (one,) = [one for one in payloads(record, "signature.made") if "passkey" in one]
    (key,) = [key for key in payloads(record, "key.certified") if "credential" in key]
    return one, key["credential"], certified(record)[one["fingerprint"]]


def test_cryptography_alone_accepts_the_passkeys_evidence(signed):
    """Web Authentication level 2, 7.2, steps 11 to 20, written out."""
    *_, record = signed
    one, credential, certificate = evidence(record)
    given = {name: unpadded(text) for name, text in one["passkey"].items()}
    said = json.loads(given["client_data"])
    digest = hashlib.sha256(one["statement"].encode()).digest()
    assert said["type"] == "webauthn.get" and said["origin"] == credential["origin"]
    assert unpadded(said["challenge"]) == digest
    data = given["authenticator_data"]
    assert data[:32] == hashlib.sha256(credential["relying_party"].encode()).digest()
    assert data[32] & 0x01 and data[32] & 0x04  # user present, user verified
    public = certificate.public_key()
    assert isinstance(public, ec.EllipticCurvePublicKey)
    client = hashlib.sha256(given["client_data"]).digest()
    public.verify(given["signature"], data + client, ec.ECDSA(hashes.SHA256()))
    with pytest.raises(InvalidSignature):
        other = hashlib.sha256(given["client_data"] + b" ").digest()
        public.verify(given["signature"], data + other, ec.ECDSA(hashes.SHA256()))


def test_a_library_for_passkeys_accepts_the_same_evidence_and_no_other(signed):
    """The relying party's own check, by the `webauthn` package, with the credential's COSE key."""
    _, ada, _, record = signed
    one, credential, _ = evidence(record)
    answer = {
        "id": credential["id"],
        "rawId": credential["id"],
        "type": "public-key",
        "response": {
            "authenticatorData": one["passkey"]["authenticator_data"],
            "clientDataJSON": one["passkey"]["client_data"],
            "signature": one["passkey"]["signature"],
        },
    }
    facts = {
        "credential": answer,
        "expected_challenge": hashlib.sha256(one["statement"].encode()).digest(),
        "expected_rp_id": credential["relying_party"],
        "expected_origin": credential["origin"],
        "credential_public_key": ada.passkey.cose,
        "credential_current_sign_count": 0,
        "require_user_verification": True,
    }
    found = verify_authentication_response(**facts)
    assert found.user_verified
    others = (
        {"expected_challenge": bytes(32)},
        {"expected_origin": "http://localhost:8001"},
        {"expected_rp_id": "example.org"},
        {"credential_public_key": make.Authenticator().cose},
    )
    for other in others:
        with pytest.raises(InvalidAuthenticationResponse):
            verify_authentication_response(**{**facts, **other})


def test_openssl_accepts_it_by_the_line_in_the_document(signed, tmp_path):
    needs.program("openssl", "openssl")
    *_, record = signed
    one, _, certificate = evidence(record)
    for name, text in one["passkey"].items():
        (tmp_path / name).write_bytes(unpadded(text))
    pem = certificate.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    (tmp_path / "key.pem").write_bytes(pem)
    text = (Path(__file__).parents[2] / "docs" / "record-format.md").read_text(encoding="utf-8")
    (line,) = [line for line in text.splitlines() if "openssl dgst -sha256 -verify" in line]
    command = ["bash", "-c", line.strip("`")]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, "Verified OK\n")
    (tmp_path / "client_data").write_bytes(b"{}")
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode != 0


def test_openssl_finds_every_key_issued_by_the_root(signed, tmp_path):
    needs.program("openssl", "openssl")
    *_, record = signed
    root = x509.load_der_x509_certificate(contents(record)["root.der"])
    (tmp_path / "root.pem").write_bytes(root.public_bytes(Encoding.PEM))
    for fingerprint, certificate in certified(record).items():
        path = tmp_path / f"{fingerprint}.pem"
        path.write_bytes(certificate.public_bytes(Encoding.PEM))
        # The moments of the story lie where they lie: at that of its signatures.
        at = str(int(make.START.timestamp()) + 3600)
        command = ["openssl", "verify", "-CAfile", "root.pem", "-attime", at, path.name]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stdout + done.stderr


def test_unzip_finds_whole_and_part_in_order(signed, tmp_path):
    needs.program("unzip", "unzip")
    plain, *_, record = signed
    part = plain.part(LOT, lambda entry: entry.header["subject"] == LOT).build(plain.root_key)
    for name, data in (("whole.zip", record), ("part.zip", part)):
        (tmp_path / name).write_bytes(data)
        done = subprocess.run(
            ["unzip", "-t", name], cwd=tmp_path, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stdout + done.stderr
        assert "No errors detected" in done.stdout


def test_hashes_and_commitments_follow_from_the_document_alone(signed):
    """sha256sum of the header, and of salt and payload, as the document says."""
    *_, record = signed
    members = contents(record)
    previous = "0" * 64
    entries = sorted(name for name in members if name.startswith("entries/"))
    for name in entries:
        header, payload, salt, _ = members[name].split(b"\n")
        said = parse(header)
        assert said["previous"] == previous
        assert said["payload"] == hashlib.sha256(bytes.fromhex(salt.decode()) + payload).hexdigest()
        previous = hashlib.sha256(header).hexdigest()
    assert parse(members["checkpoint.json"])["hash"] == previous
    assert all(
        hashlib.sha256(data).hexdigest() == name.removeprefix("blobs/")
        for name, data in members.items()
        if name.startswith("blobs/")
    )
