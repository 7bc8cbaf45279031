"""Signing with keys that the signatory holds: what holds; refusals by evidence and statement."""

from __future__ import annotations

import dataclasses

import pytest
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from django.db import transaction
from joserfc import jws as jose
from joserfc.jwk import ECKey

from ledger import chain
from ledger.canonical import canonical_bytes, parse
from ledger.kinds import Kind
from parties.models import Key
from tests.own_keys import (
    WANTED,
    browser_key,
    in_register,
    passkey,
    passkey_proof,
    prepared,
)
from tests.parties.signing_tries import certified, public_of, refused, signed
from tests.softauth import PRESENT, VERIFIED, SoftAuthenticator, b64u, check_evidence, fits


def test_a_passkey_signs_the_statements_digest(customer, held):
    """Evidence in the entry holds by `cryptography` alone (tests/softauth.py), over its bytes."""
    statement = prepared(customer, held)
    made = signed(customer, held.proof(statement))
    assert (made.assurance, made.jws) == ("passkey", "")
    entry = chain.entries(customer.dossier.chain).get(kind=Kind.SIGNATURE_MADE)
    assert entry.payload["statement"].encode() == statement
    assert "jws" not in entry.payload
    [key] = certified(customer)
    check_evidence(public_of(key), entry.payload["passkey"], statement)
    assert not fits(public_of(key), entry.payload["passkey"], statement + b" ")
    assert key["credential"] == {
        "id": held.holder.credential_id,
        "relying_party": "localhost",
        "origin": "http://localhost:8000",
    }
    assert parse(statement)["assurance"] == key["assurance"] == "passkey"
    assert parse(statement)["keys"] == {"customer": [held.key.fingerprint]}


def test_a_key_in_the_browser_gives_a_jws_that_a_jose_library_checks(cast, customer):
    """joserfc, with the statement put between the dots (RFC 7515, appendix F)."""
    held = browser_key(in_register(cast, cast.customer_lead))
    statement = prepared(customer, held)
    made = signed(customer, held.proof(statement))
    assert made.assurance == "browser-held"
    assert made.passkey is None
    entry = chain.entries(customer.dossier.chain).get(kind=Kind.SIGNATURE_MADE)
    [key] = certified(customer)
    assert "credential" not in key
    header, _none, signature = entry.payload["jws"].split(".")
    whole = f"{header}.{b64u(statement)}.{signature}"
    pem = public_of(key).public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    found = jose.deserialize_compact(whole, ECKey.import_key(pem), algorithms=["ES256"])
    assert found.payload == statement


def test_the_head_is_the_one_that_was_shown(customer, held):
    """What happens between preparing and signing is not in the statement."""
    statement = prepared(customer, held)
    seen = parse(statement)["head"]
    with transaction.atomic():
        chain.append(
            customer.dossier.chain,
            by=customer.actor(),
            kind=Kind.REMARK_MADE,
            subject="remark:1",
            act=chain.new_act(),
            payload={"revision": 3, "clause": "scope", "text": "Between."},
        )
    signed(customer, held.proof(statement))
    entry = chain.entries(customer.dossier.chain).get(kind=Kind.SIGNATURE_MADE)
    assert seen["number"] == entry.number - 2


# Refusals by the evidence (Web Authentication level 2, 7.2).


@pytest.mark.parametrize(
    "faults",
    [
        {"origin": "http://localhost:9000"},
        {"origin": "https://elsewhere.example"},
        {"party": "elsewhere.example"},
        {"flags": PRESENT},
        {"flags": VERIFIED},
        {"kind": "webauthn.create"},
    ],
    ids=["port", "origin", "relying-party", "not-verified", "not-present", "ceremony"],
)
def test_evidence_of_another_ceremony_is_refused(customer, held, faults):
    statement = prepared(customer, held)
    assert refused(customer, held.proof(statement, **faults)).id == "proof"
    assert Key.objects.get(pk=held.key.pk).sign_count == held.key.sign_count


def test_a_signature_over_another_digest_is_refused(customer, held):
    statement = prepared(customer, held)
    evidence = held.holder.get(statement.replace(b"revision-3", b"revision-4"))
    assert refused(customer, passkey_proof(held.key, statement, evidence)).id == "proof"


def test_another_device_is_refused(customer, held):
    statement = prepared(customer, held)
    evidence = SoftAuthenticator(count=7).get(statement)
    assert refused(customer, passkey_proof(held.key, statement, evidence)).id == "proof"


def test_a_counter_that_does_not_move_on_is_refused(customer, held):
    """A copy of the device that stayed behind; the original goes on."""
    signed(customer, held.proof(prepared(customer, held)))
    now = Key.objects.get(pk=held.key.pk).sign_count
    assert now == held.holder.count
    held.holder.count = now - 1
    statement = prepared(customer, held)
    proof = held.proof(statement)
    assert held.holder.count == now
    assert refused(customer, proof).id == "proof"
    signed(customer, held.proof(statement))


def test_a_device_that_does_not_count_may_stay_at_nought(cast, customer):
    held = passkey(in_register(cast, cast.customer_lead), count=0)
    for _time in range(2):
        signed(customer, held.proof(prepared(customer, held)))
    assert Key.objects.get().sign_count == 0


@pytest.mark.parametrize(
    "spoil",
    [
        lambda one: dataclasses.replace(one, client_data=one.client_data + "="),
        lambda one: dataclasses.replace(one, client_data=b64u(b"{")),
        lambda one: dataclasses.replace(one, client_data=b64u(b"[1]")),
        lambda one: dataclasses.replace(one, client_data="ä"),
        lambda one: dataclasses.replace(one, authenticator_data=b64u(b"short")),
        lambda one: dataclasses.replace(one, authenticator_data=""),
        lambda one: dataclasses.replace(one, passkey_signature=b64u(b"none")),
        lambda one: dataclasses.replace(one, passkey_signature=""),
    ],
    ids=["padded", "no-json", "a-list", "not-ascii", "short", "no-data", "no-der", "no-signature"],
)
def test_malformed_evidence_is_refused_and_not_stumbled_over(customer, held, spoil):
    statement = prepared(customer, held)
    assert refused(customer, spoil(held.proof(statement))).id == "proof"


@pytest.mark.parametrize("spoil", ["other", "type", "empty", "attached"])
def test_a_jws_that_does_not_fit_is_refused(cast, customer, spoil):
    held = browser_key(in_register(cast, cast.customer_lead))
    statement = prepared(customer, held)
    bad = {
        "other": lambda: held.holder.sign(statement + b" "),
        "type": lambda: held.holder.sign(statement, typ="countershade-checkpoint"),
        "empty": lambda: "",
        "attached": lambda: held.holder.sign(statement).replace("..", f".{b64u(statement)}."),
    }[spoil]()
    assert refused(customer, dataclasses.replace(held.proof(statement), jws=bad)).id == "proof"


# Refusals by the statement.


def test_a_statement_is_used_once(customer, held):
    """The nonce: even the same device, asked again for the same bytes."""
    statement = prepared(customer, held)
    signed(customer, held.proof(statement))
    assert refused(customer, held.proof(statement)).id == "statement.used"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("digest", "cd" * 32),
        ("subject", "revision-4"),
        ("revision", 4),
        ("what", "settlement"),
        ("intent", "I sign something else."),
    ],
)
def test_what_was_prepared_is_what_is_signed(customer, held, field, value):
    """A document that changed between the two steps."""
    statement = prepared(customer, held)
    other = dataclasses.replace(WANTED, **{field: value})
    assert refused(customer, held.proof(statement), other).id == "statement.other"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("side", "supplier"),
        ("role", "deputy"),
        ("name", "Somebody Else"),
        ("assurance", "service-held"),
        ("chain", "another"),
    ],
)
def test_a_statement_about_somebody_else_is_refused(customer, held, field, value):
    said = parse(prepared(customer, held)) | {field: value}
    assert refused(customer, held.proof(canonical_bytes(said))).id == "statement.other"


def test_a_head_that_is_none_of_the_chain_is_refused(customer, held):
    said = parse(prepared(customer, held))
    said["head"] = {"number": 1, "hash": "0" * 64}
    assert refused(customer, held.proof(canonical_bytes(said))).id == "statement.used"
