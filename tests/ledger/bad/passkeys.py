"""Tricks with what an authenticator gave back."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec

from tests.ledger import plain as make
from tests.ledger.authenticator import ATTESTED, EXTENDED, PRESENT, VERIFIED, Authenticator, b64url
from tests.ledger.bad.trick import Made, made, refused_by

Evidence = dict[str, Any]


def signed(evidence: Callable[[Authenticator, bytes], Evidence]) -> Made:
    """A record in which a passkey signed with this evidence; all else is as it should be."""
    plain = make.opened()
    ada = plain.certify(make.ADA, "passkey")
    device = ada.passkey
    assert device is not None
    plain.sign(ada, proof=lambda said: {"passkey": evidence(device, said)})
    return made(plain)


def challenge(said: bytes) -> bytes:
    """The right one."""
    return hashlib.sha256(said).digest()


def client(**changes: Any) -> Made:
    """Really signed, with other client data."""

    def evidence(device: Authenticator, said: bytes) -> Evidence:
        return device.sign(device.data(), device.client(challenge(said), **changes))

    return signed(evidence)


def data(**changes: Any) -> Made:
    """Really signed, with other authenticator data."""

    def evidence(device: Authenticator, said: bytes) -> Evidence:
        return device.sign(device.data(**changes), device.client(challenge(said)))

    return signed(evidence)


def text(change: Callable[[str], str]) -> Made:
    """Really signed, over client data written otherwise."""

    def evidence(device: Authenticator, said: bytes) -> Evidence:
        written = change(device.client(challenge(said)).decode())
        return device.sign(device.data(), written.encode())

    return signed(evidence)


def after(change: Callable[[Evidence], Evidence]) -> Made:
    """Good evidence, changed after it was given."""
    return signed(lambda device, said: change(device.assertion(said)))


@refused_by("passkey.challenge")
def a_passkey_over_another_challenge() -> Made:
    return client(challenge=b64url(bytes(32)))


@refused_by("passkey.challenge")
def a_passkey_over_an_earlier_statement() -> Made:
    plain = make.opened()
    ada = plain.certify(make.ADA, "passkey")
    number = plain.sign(ada)
    earlier = json.loads(plain.entries[number - 1].payload)["passkey"]
    plain.sign(ada, proof=lambda said: {"passkey": earlier})
    return made(plain)


@refused_by("passkey.challenge")
def a_challenge_in_padded_base64() -> Made:
    return text(lambda said: said.replace('","origin"', '=","origin"'))


@refused_by("passkey.type")
def a_registration_in_place_of_a_signature() -> Made:
    return client(type="webauthn.create")


@refused_by("passkey.origin")
def a_passkey_used_at_another_origin() -> Made:
    return client(origin="http://localhost:8001")


@refused_by("passkey.cross-origin")
def a_passkey_used_inside_somebody_elses_page() -> Made:
    return client(crossOrigin=True)


@refused_by("passkey.cross-origin")
def a_passkey_used_under_another_top_page() -> Made:
    return client(topOrigin="https://example.org")


@refused_by("passkey.relying-party")
def a_passkey_for_another_relying_party() -> Made:
    return data(party="example.org")


@refused_by("passkey.user-present")
def nobody_touched_the_authenticator() -> Made:
    return data(flags=VERIFIED)


@refused_by("passkey.user-verified")
def no_user_was_verified() -> Made:
    return data(flags=PRESENT)


@refused_by("passkey.form")
def authenticator_data_with_an_attested_key() -> Made:
    return data(flags=PRESENT | VERIFIED | ATTESTED, rest=bytes(60))


@refused_by("passkey.form")
def authenticator_data_with_more_than_it_says() -> Made:
    return data(rest=b"\xa0")


@refused_by("passkey.form")
def extensions_that_are_not_there() -> Made:
    return data(flags=PRESENT | VERIFIED | EXTENDED)


@refused_by("passkey.form")
def authenticator_data_cut_short() -> Made:
    def evidence(device: Authenticator, said: bytes) -> Evidence:
        return device.sign(device.data()[:36], device.client(challenge(said)))

    return signed(evidence)


@refused_by("passkey.form")
def evidence_with_a_part_missing() -> Made:
    def change(evidence: Evidence) -> Evidence:
        del evidence["signature"]
        return evidence

    return after(change)


@refused_by("passkey.form")
def evidence_that_is_not_text() -> Made:
    return after(lambda evidence: evidence | {"signature": [1, 2, 3]})


@refused_by("passkey.form")
def a_signature_that_is_not_der() -> Made:
    return after(lambda evidence: evidence | {"signature": b64url(bytes(64))})


@refused_by("passkey.form")
def oversized_client_data() -> Made:
    return client(padding="x" * 7000)


@refused_by("passkey.signature")
def signed_by_another_authenticator() -> Made:
    return signed(
        lambda device, said: Authenticator(key=ec.generate_private_key(ec.SECP256R1())).assertion(
            said
        )
    )


@refused_by("passkey.signature")
def a_verified_user_ticked_in_afterwards() -> Made:
    def evidence(device: Authenticator, said: bytes) -> Evidence:
        given = device.sign(device.data(flags=PRESENT), device.client(challenge(said)))
        device.counter -= 1
        return given | {"authenticator_data": b64url(device.data())}

    return signed(evidence)


@refused_by("passkey.base64url")
def evidence_in_padded_base64() -> Made:
    def change(evidence: Evidence) -> Evidence:
        return evidence | {"authenticator_data": evidence["authenticator_data"] + "=="}

    return after(change)


@refused_by("passkey.base64url")
def evidence_in_base64_that_decodes_alike() -> Made:
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"

    def change(evidence: Evidence) -> Evidence:
        given = evidence["authenticator_data"]  # 37 bytes: four free bits at the end
        return evidence | {
            "authenticator_data": given[:-1] + alphabet[alphabet.index(given[-1]) ^ 1]
        }

    return after(change)


@refused_by("passkey.duplicate-key")
def client_data_with_two_challenges() -> Made:
    return text(lambda said: said.replace("{", '{"challenge":"AAAA",', 1))


@refused_by("passkey.client-data")
def client_data_that_is_a_list() -> Made:
    return text(lambda said: f"[{said}]")


@refused_by("passkey.client-data")
def client_data_nested_too_deep() -> Made:
    return text(lambda said: said[:-1] + ',"x":' + "[" * 1000 + "]" * 1000 + "}")


@refused_by("passkey.client-data")
def client_data_with_giant_digits() -> Made:
    return text(lambda said: said[:-1] + ',"x":' + "9" * 5000 + "}")
