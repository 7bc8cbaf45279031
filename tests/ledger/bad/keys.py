"""Tricks with keys, their certificates and what was signed with them."""

from __future__ import annotations

import base64
import hashlib
import json
from typing import Any

from ledger import certificates, clock
from ledger.canonical import canonical_bytes
from ledger.verify import jws
from tests.ledger import plain as make
from tests.ledger.authenticator import Authenticator
from tests.ledger.bad.trick import Made, made, refused_by
from tests.ledger.plain import ADA, BO, CY, DI, SYSTEM, Held, Plain


def with_keys() -> tuple[Plain, Held, Held]:
    """Both leads' keys, nothing signed yet."""
    plain = make.opened()
    return plain, plain.certify(ADA, "passkey"), plain.certify(BO, "browser-held")


@refused_by("statement.nonce")
def a_replayed_signature() -> Made:
    plain, _, bo = with_keys()
    number = plain.sign(bo)
    plain.add(BO, "signature.made", make.REVISION, json.loads(plain.entries[number - 1].payload))
    return made(plain)


@refused_by("statement.chain")
def a_signature_replayed_from_another_chain() -> Made:
    plain, _, bo = with_keys()
    plain.sign(bo, chain="another-chain")
    return made(plain)


@refused_by("statement.role")
def a_signature_in_a_foreign_role() -> Made:
    plain, _, bo = with_keys()
    plain.sign(bo, role="observer")
    return made(plain)


@refused_by("statement.side")
def a_signature_for_the_wrong_side() -> Made:
    plain, _, bo = with_keys()
    plain.sign(bo, side="customer")
    return made(plain)


@refused_by("signature.person")
def the_other_sides_key() -> Made:
    plain, _, bo = with_keys()
    plain.sign(Held(CY, "browser-held", bo.fingerprint, bo.certificate, bo.private))
    return made(plain)


@refused_by("statement.signer")
def a_signature_entered_by_somebody_else() -> Made:
    plain, _, bo = with_keys()
    plain.sign(bo, by=DI)
    return made(plain)


@refused_by("statement.digest")
def a_document_that_is_not_in_the_record() -> Made:
    plain, _, bo = with_keys()
    plain.sign(bo, digest="0" * 64)
    return made(plain)


@refused_by("statement.digest")
def a_document_of_another_subject() -> Made:
    plain, _, bo = with_keys()
    plain.sign(bo, subject="settlement/one")
    return made(plain)


@refused_by("statement.head")
def a_head_that_never_was() -> Made:
    plain, _, bo = with_keys()
    plain.sign(bo, head={"number": 3, "hash": "0" * 64})
    return made(plain)


@refused_by("statement.keys")
def a_stale_list_of_keys() -> Made:
    plain, _, bo = with_keys()
    stale = plain.standing()
    plain.certify(DI, "browser-held")
    plain.sign(bo, keys=stale)
    return made(plain)


@refused_by("statement.keys")
def a_revoked_key_still_listed() -> Made:
    plain, _, bo = with_keys()
    di = plain.certify(DI, "browser-held")
    stale = plain.standing()
    plain.revoke(di)
    plain.sign(bo, keys=stale)
    return made(plain)


@refused_by("statement.keys")
def a_planted_key_kept_from_the_other_side() -> Made:
    plain, ada, bo = with_keys()
    plain.certify(DI, "browser-held")
    shown = plain.standing() | {"supplier": [bo.fingerprint]}
    plain.sign(ada, keys=shown)
    return made(plain)


@refused_by("signature.revoked")
def a_revoked_key() -> Made:
    plain, _, bo = with_keys()
    before = plain.standing()
    seen = {"number": len(plain.entries), "hash": plain.hash(len(plain.entries))}
    plain.revoke(bo)
    plain.sign(bo, keys=before, head=seen)
    return made(plain)


@refused_by("key.revoked")
def a_revoked_key_certified_again() -> Made:
    plain, _, bo = with_keys()
    plain.revoke(bo)
    plain.certify(BO, "browser-held", private=bo.private)
    return made(plain)


@refused_by("revocation.key")
def a_key_revoked_that_never_was() -> Made:
    plain, _, bo = with_keys()
    plain.revoke(bo, fingerprint="0" * 64)
    return made(plain)


@refused_by("revocation.organisation")
def a_key_revoked_by_the_other_side() -> Made:
    plain, _, bo = with_keys()
    plain.revoke(bo, by=ADA)
    return made(plain)


@refused_by("key.organisation")
def a_key_entered_by_the_other_side() -> Made:
    plain = make.opened()
    plain.certify(BO, "browser-held", by=ADA)
    return made(plain)


@refused_by("key.unconfirmed")
def a_new_key_for_a_signatory_without_a_second_person() -> Made:
    plain, _, bo = with_keys()
    plain.sign(bo)
    plain.certify(BO, "browser-held", replaces=bo.fingerprint)
    return made(plain)


@refused_by("key.unconfirmed")
def a_service_held_key_slipped_under_an_own_one() -> Made:
    plain, _, _ = with_keys()
    plain.certify(BO, "service-held", by=SYSTEM)
    return made(plain)


def confirmed(by: str) -> Made:
    """A replaced key that this person is said to have confirmed."""
    plain, _, bo = with_keys()
    plain.sign(bo)
    plain.certify(BO, "browser-held", replaces=bo.fingerprint, confirmed_by=by)
    return made(plain)


@refused_by("key.confirmed-by")
def a_second_person_who_is_the_first() -> Made:
    return confirmed(BO.person)


@refused_by("key.confirmed-by")
def a_second_person_of_the_other_side() -> Made:
    return confirmed(ADA.person)


@refused_by("key.confirmed-by")
def a_second_person_whom_nobody_knows() -> Made:
    return confirmed("S-9")


@refused_by("key.replaces")
def a_key_that_replaces_somebody_elses() -> Made:
    plain, ada, _ = with_keys()
    plain.certify(DI, "browser-held", replaces=ada.fingerprint)
    return made(plain)


@refused_by("key.shared")
def one_key_for_two_people() -> Made:
    plain, _, bo = with_keys()
    plain.certify(DI, "browser-held", private=bo.private)
    return made(plain)


@refused_by("key.assurance")
def a_service_held_key_dressed_up_as_an_own_one() -> Made:
    plain = make.opened()
    held = plain.certify(BO, "service-held")
    plain.certify(BO, "browser-held", private=held.private)
    return made(plain)


@refused_by("key.assurance")
def an_assurance_that_nobody_knows() -> Made:
    plain = make.opened()
    plain.certify(BO, "notary-held")
    return made(plain)


@refused_by("key.credential")
def a_credential_on_a_browser_held_key() -> Made:
    plain = make.opened()
    plain.certify(BO, "browser-held", credential=Authenticator().credential)
    return made(plain)


@refused_by("key.credential")
def a_passkey_without_a_credential() -> Made:
    plain = make.opened()
    key = certificates.new_key()
    plain.certify(BO, "passkey", passkey=Authenticator(key=key), credential=None)
    return made(plain)


@refused_by("key.credential")
def a_credential_whose_origin_is_not_the_relying_partys() -> Made:
    plain = make.opened()
    elsewhere = Authenticator("example.org", "https://notexample.org")
    plain.certify(BO, "passkey", passkey=elsewhere)
    return made(plain)


@refused_by("signature.proof")
def a_plain_signature_by_a_passkey() -> Made:
    plain, ada, _ = with_keys()
    plain.sign(ada, proof=lambda said: {"jws": jws.sign(ada.private, said, jws.STATEMENT)})
    return made(plain)


@refused_by("signature.proof")
def two_proofs_at_once() -> Made:
    plain, ada, _ = with_keys()

    def both(said: bytes) -> dict[str, Any]:
        return {"jws": jws.sign(ada.private, said, jws.STATEMENT), **make.proof_of(ada, said)}

    plain.sign(ada, proof=both)
    return made(plain)


@refused_by("signature.proof")
def no_proof_at_all() -> Made:
    plain, _, bo = with_keys()
    plain.sign(bo, proof=lambda said: {})
    return made(plain)


@refused_by("statement.assurance")
def an_assurance_better_than_the_keys() -> Made:
    plain = make.opened()
    plain.sign(plain.certify(BO, "service-held"), assurance="browser-held")
    return made(plain)


@refused_by("base64")
def a_certificate_in_base64_that_decodes_alike() -> Made:
    plain = make.opened()
    while True:
        bo = plain.certify(BO, "browser-held")
        text = base64.b64encode(bo.certificate).decode()
        if text.endswith("="):
            break
        plain = make.opened()  # a length without padding leaves no free bits
    at = len(text.rstrip("=")) - 1
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
    alike = text[:at] + alphabet[alphabet.index(text[at]) ^ 1] + text[at + 1 :]
    plain.entries[-1].say(lambda said: said.update(certificate=alike))
    return made(plain, plain.forgery().build(plain.root_key))


@refused_by("certificate.fingerprint")
def a_certificate_under_another_fingerprint() -> Made:
    plain = make.opened()
    plain.certify(BO, "browser-held", fingerprint="0" * 64)
    return made(plain)


@refused_by("jws.signature")
def a_statement_edited_after_it_was_signed() -> Made:
    plain, _, bo = with_keys()
    plain.sign(bo)
    forgery = plain.forgery()

    def soften(said: dict[str, Any]) -> None:
        said["statement"] = said["statement"].replace("I agree", "I object")

    forgery.entries[-1].say(soften)
    return made(plain, forgery.build(plain.root_key))


@refused_by("json.canonical")
def a_statement_written_in_another_way() -> Made:
    plain, _, bo = with_keys()
    said = plain.statement(bo).replace(b":", b": ", 1)
    payload = {"statement": said.decode(), "fingerprint": bo.fingerprint}
    payload["jws"] = jws.sign(bo.private, said, jws.STATEMENT)
    plain.add(BO, "signature.made", make.REVISION, payload)
    return made(plain)


def enter_seal(plain: Plain, certificate: bytes | None = None, **changes: Any) -> str:
    """A seal's certificate of this root, or another one, entered; its fingerprint."""
    if certificate is None:
        with clock.fixed(plain.now):
            public = certificates.new_key().public_key()
            certificate = certificates.issue_leaf(
                plain.root_key, plain.root, public, name="Seal", organisation="Example Interiors"
            )
    fingerprint = hashlib.sha256(certificate).hexdigest()
    payload = {"organisation": "ORG-C", "side": "customer", "issuer": "installation"}
    payload |= {"certificate": base64.b64encode(certificate).decode(), "fingerprint": fingerprint}
    plain.add(SYSTEM, "seal.certified", f"seal:{fingerprint}", payload | changes)
    return fingerprint


def sealed(plain: Plain, pdf: bytes, **changes: Any) -> str:
    """A sealed document's entry; the fingerprint of its seal."""
    seal = enter_seal(plain)
    add_sealed(plain, pdf, changes.pop("seals", [seal]), **changes)
    return seal


def add_sealed(plain: Plain, pdf: bytes, seals: list[str], **changes: Any) -> None:
    """A sealed document's entry by certificates that were entered before."""
    said = {"what": "terms", "revision": 1, "shows": plain.terms, "seals": seals}
    said |= {"digest": hashlib.sha256(pdf).hexdigest(), **changes}
    plain.add(SYSTEM, "document.sealed", make.REVISION, said, pdf)


@refused_by("seal.document")
def a_sealed_file_that_is_not_there() -> Made:
    plain = make.opened()
    sealed(plain, b"%PDF-1", digest="0" * 64)
    return made(plain)


@refused_by("seal.shows")
def a_sealed_file_that_shows_something_else() -> Made:
    plain = make.opened()
    sealed(plain, b"%PDF-1", shows="0" * 64)
    return made(plain)


@refused_by("seal.unknown")
def a_seal_that_nobody_certified() -> Made:
    plain = make.opened()
    sealed(plain, b"%PDF-1", seals=["0" * 64])
    return made(plain)


@refused_by("seal.continues")
def a_sealed_file_that_does_not_continue_the_first() -> Made:
    plain = make.opened()
    first = b"%PDF-1 quantity 10"
    seal = sealed(plain, first)
    second = b"%PDF-1 quantity 99, sealed twice"
    before = hashlib.sha256(first).hexdigest()
    add_sealed(plain, second, [seal, seal], continues=before)
    return made(plain)


@refused_by("certificate.signature")
def a_seal_of_another_installation() -> Made:
    plain = make.opened()
    enter_seal(plain, make.opened().certify(ADA).certificate)
    return made(plain)


@refused_by("certificate.fingerprint")
def a_seal_under_another_fingerprint() -> Made:
    plain = make.opened()
    enter_seal(plain, fingerprint="0" * 64)
    return made(plain)


@refused_by("seal.issuer")
def a_seal_of_an_unheard_of_issuer() -> Made:
    plain = make.opened()
    enter_seal(plain, issuer="notary")
    return made(plain)


@refused_by("field.unknown")
def a_signature_with_a_word_more() -> Made:
    plain, _, bo = with_keys()
    plain.sign(bo)
    forgery = plain.forgery()
    forgery.entries[-1].payload = canonical_bytes(
        {**json.loads(forgery.entries[-1].payload), "note": "only as a draft"}
    )
    return made(plain, forgery.build(plain.root_key))
