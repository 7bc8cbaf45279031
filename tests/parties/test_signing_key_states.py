"""Signing with keys that the signatory holds: refusals by the key's state, what others see."""

from __future__ import annotations

import base64
import dataclasses
import datetime as dt
import json
import tempfile
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection, transaction

from ledger import chain, clock
from ledger.canonical import canonical_bytes, parse
from ledger.kinds import Kind
from ledger.verify import verify
from parties import signing
from parties.keys import installation, key_of
from parties.models import Key, Signature
from parties.refusal import Refusal
from parties.signing import write_record
from parties.transitions import open_dossier_chain, remove_member
from parties.transitions.keys import ask_service_key, confirm_key, revoke_key
from tests.own_keys import (
    WANTED,
    browser_key,
    in_register,
    kinds,
    passkey,
    prepared,
)
from tests.parties.signing_tries import certified, not_prepared, refused, signed

# Refusals by the key.


def test_terms_that_want_own_keys_refuse_the_services(customer):
    assert refused(customer, None).id == "signing.own_key"
    assert signed(customer, None, dataclasses.replace(WANTED, service_held=True)).jws


def test_somebody_elses_key_does_not_sign(cast, customer, held):
    """Neither another person's of the same firm, nor one's own of another firm."""
    statement = prepared(customer, held)
    supplier = cast.capacity(cast.supplier_lead)
    said = parse(statement) | {"signer": supplier.actor().person}
    assert refused(supplier, held.proof(canonical_bytes(said))).id == "key.foreign"
    unknown = dataclasses.replace(held.proof(statement), fingerprint="0" * 64)
    assert refused(customer, unknown).id == "key.foreign"


def test_a_key_of_the_service_is_no_key_of_ones_own(customer, held):
    service = key_of(customer.person, customer.organisation)
    proof = dataclasses.replace(
        held.proof(prepared(customer, held)), fingerprint=service.fingerprint
    )
    assert refused(customer, proof).id == "key.foreign"


def test_a_revoked_key_signs_nothing_more_and_what_it_signed_stands(cast, customer, held):
    """Revoked between the two steps, too; the next statement does not name it."""
    first = signed(customer, held.proof(prepared(customer, held)))
    statement = prepared(customer, held)
    revoke_key(held.key, by=in_register(cast, cast.customer_lead), reason="Device lost")
    assert refused(customer, held.proof(statement)).id == "key.revoked"
    not_prepared("key.revoked", customer, held)
    entry = chain.entries(customer.dossier.chain).get(kind=Kind.KEY_REVOKED)
    assert entry.payload["fingerprint"] == held.key.fingerprint
    assert entry.payload["reason"] == "Device lost"
    assert entry.payload["person"] == customer.actor().person
    assert Signature.objects.get() == first
    supplier = cast.capacity(cast.supplier_lead)
    made = signed(supplier, None, dataclasses.replace(WANTED, service_held=True))
    assert set(parse(bytes(made.statement))["keys"]) == {"supplier"}


@pytest.mark.only_on("postgresql", "SQLite lets one writer in at a time")
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("whose", ["the service's", "one's own"])
def test_a_revocation_at_the_same_moment_stands_after_the_signature(cast, monkeypatch, whose):
    """It waits for the signature: no record has a signature after its key's end."""
    customer = cast.capacity(cast.customer_lead)
    with transaction.atomic():
        open_dossier_chain(customer.dossier, customer)
    wanted = dataclasses.replace(WANTED, service_held=True)
    if whose == "one's own":
        held = browser_key(in_register(cast, cast.customer_lead))
        key, proof = held.key, held.proof(prepared(customer, held))
    else:
        signed(customer, None, wanted)
        key, proof = key_of(customer.person, customer.organisation), None
    signs, revoked, compose = threading.Event(), threading.Event(), signing._composed

    def composed(*said):
        made = compose(*said)
        signs.set()
        revoked.wait(1)
        return made

    def revoke():
        try:
            signs.wait(10)
            revoke_key(key, by=in_register(cast, cast.customer_lead), reason="Device lost")
        finally:
            revoked.set()
            connection.close()

    monkeypatch.setattr(signing, "_composed", composed)
    with ThreadPoolExecutor(1) as pool:
        done = pool.submit(revoke)
        signed(customer, proof, wanted)
        done.result()
    assert kinds(customer.dossier.chain)[-2:] == ["signature.made", "key.revoked"]


def at_once(monkeypatch, slow, first, second) -> None:
    """`second` begins while `first` stands in `slow`, a function of the signing act."""
    begun, done, call = threading.Event(), threading.Event(), getattr(signing, slow)

    def waiting(*said):
        made = call(*said)
        begun.set()
        done.wait(1)
        return made

    def other():
        try:
            begun.wait(10)
            second()
        finally:
            done.set()
            connection.close()

    monkeypatch.setattr(signing, slow, waiting)
    with ThreadPoolExecutor(1) as pool:
        ended = pool.submit(other)
        first()
        ended.result()


@pytest.mark.only_on("postgresql", "SQLite lets one writer in at a time")
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("known", [False, True], ids=["nowhere else", "in another chain"])
@pytest.mark.parametrize("whose", ["the service's", "one's own"])
def test_a_key_revoked_while_it_first_enters_a_chain_ends_there_too(
    cast, monkeypatch, whose, known
):
    """The revocation waits for the certification and enters that chain as well."""
    by = cast.capacity(cast.supplier_lead)
    other = cast.capacity(cast.supplier_lead, cast.other)
    for one in (by, other):
        with transaction.atomic():
            open_dossier_chain(one.dossier, one)
    register, key = in_register(cast, cast.supplier_lead), None
    held = browser_key(register) if whose == "one's own" else None
    key = held.key if held else key_of(by.person, by.organisation)

    def enters(there):
        if held:
            return prepared(there, held)
        return signed(there, None, dataclasses.replace(WANTED, service_held=True))

    if known:
        enters(other)
    at_once(
        monkeypatch,
        "_composed",
        lambda: enters(by),
        lambda: revoke_key(key, by=register, reason="Device lost"),
    )
    assert kinds(by.dossier.chain).count("key.certified") == 1
    assert kinds(by.dossier.chain)[-1] == "key.revoked"
    assert kinds(other.dossier.chain).count("key.revoked") == int(known)


@pytest.mark.only_on("postgresql", "SQLite lets one writer in at a time")
@pytest.mark.django_db(transaction=True)
def test_a_key_that_is_being_revoked_enters_no_further_chain(cast, monkeypatch):
    """The certification waits for the revocation and is refused; nothing enters the chain."""
    by = cast.capacity(cast.supplier_lead)
    with transaction.atomic():
        open_dossier_chain(by.dossier, by)
    register = in_register(cast, cast.supplier_lead)
    held, before = browser_key(register), kinds(by.dossier.chain)
    looked = []

    def enters():
        with pytest.raises(Refusal) as caught:
            prepared(by, held)
        looked.append(caught.value.id)

    at_once(monkeypatch, "_check_second_person", enters, lambda: revoke_key(held.key, by=register))
    assert (looked, kinds(by.dossier.chain)) == (["key.revoked"], before)


def test_an_unconfirmed_key_signs_nothing(cast, customer, held):
    """A second own key needs a second person."""
    second = browser_key(in_register(cast, cast.customer_lead))
    not_prepared("key.unconfirmed", customer, second)
    assert "key.certified" not in kinds(customer.dossier.chain)


def test_an_expired_key_signs_nothing(customer, held):
    with clock.fixed(held.key.expires_at + dt.timedelta(seconds=1)):
        not_prepared("key.expired", customer, held)


def test_a_key_certified_for_another_name_signs_nothing(customer, held):
    customer.person.name = "Ines Vellmar-Roe"
    not_prepared("key.other_name", customer, held)


def test_whoever_leaves_the_firm_takes_no_key_along(cast):
    """All their keys end in every chain in which they were certified."""
    lead = cast.capacity(cast.supplier_lead)
    deputy = cast.capacity(cast.supplier_deputy)
    held = passkey(in_register(cast, cast.supplier_deputy))
    wanted = dataclasses.replace(WANTED, deputies=True, service_held=True)
    other = cast.capacity(cast.supplier_deputy, cast.other)
    for by in (deputy, other):
        with transaction.atomic():
            open_dossier_chain(by.dossier, by)
    signed(other, held.proof(prepared(other, held, wanted)), wanted)
    signed(deputy, None, wanted)  # with the service's key, in the other dossier
    member = cast.firms["supp"].memberships.get(person=cast.supplier_deputy)
    remove_member(member, by=in_register(cast, cast.supplier_lead), reason="Left")
    found = chain.entries(cast.agreement.chain).filter(kind=Kind.KEY_REVOKED)
    assert [one.actor for one in found] == [lead.actor().person]
    assert kinds(cast.other.chain).count("key.revoked") == 1
    assert not Key.objects.filter(person=cast.supplier_deputy, revoked_at=None).exists()


# What the other side sees.


def plant(by) -> Key:
    """The operator's doing: a key of the service's for somebody with a key of their own, put into
    the chain past the acts."""
    planted = key_of(by.person, by.organisation)
    payload = {
        "person": by.actor().person,
        "organisation": by.actor().organisation,
        "side": by.side,
        "certificate": base64.b64encode(bytes(planted.certificate)).decode(),
        "fingerprint": planted.fingerprint,
        "assurance": "service-held",
    }
    with transaction.atomic():
        chain.append(
            by.dossier.chain,
            by=by.actor(),
            kind=Kind.KEY_CERTIFIED,
            subject=f"key:{planted.fingerprint}",
            act=chain.new_act(),
            payload=payload,
        )
    return planted


def test_a_planted_key_shows_in_the_other_sides_statement(cast, customer, held):
    """Whoever runs the service makes a key in the customer's name and certifies it: the supplier's
    next statement names it, and so does every one after."""
    signed(customer, held.proof(prepared(customer, held)))
    planted = plant(customer)
    supplier = cast.capacity(cast.supplier_lead)
    own = browser_key(in_register(cast, cast.supplier_lead))
    keys = parse(prepared(supplier, own))["keys"]
    assert keys == {
        "customer": sorted([held.key.fingerprint, planted.fingerprint]),
        "supplier": [own.key.fingerprint],
    }
    assert finding(customer.dossier) == "key.unconfirmed"


def finding(dossier) -> str:
    """What the verifier has against the keys of the dossier's record; empty where nothing. (What is
    signed here is in no entry, so its check of signatures comes after and says so.)"""
    with tempfile.NamedTemporaryFile(suffix=".zip") as file:
        write_record(dossier.chain, file)
        file.flush()
        report = verify(file.name, installation().fingerprint)
    [keys] = [check for check in report.checks if check.id == "keys"]
    return "" if keys.status == "passed" else report.findings[0].id


def test_the_services_key_takes_no_place_of_an_own_one(customer, held):
    """Neither while the own key stands nor after it was revoked; the record verifies throughout."""
    wanted = dataclasses.replace(WANTED, service_held=True)
    signed(customer, held.proof(prepared(customer, held)))
    assert refused(customer, None, wanted).id == "signing.own_key_here"
    assert finding(customer.dossier) == ""
    revoke_key(held.key, by=customer, reason="Device lost")
    assert refused(customer, None, wanted).id == "signing.own_key_here"
    assert finding(customer.dossier) == ""


def test_a_first_own_key_of_somebody_who_signed_waits_for_a_second_person(cast):
    """They signed with the service's key: from then on a colleague confirms each new key."""
    by = cast.capacity(cast.supplier_lead)
    with transaction.atomic():
        open_dossier_chain(by.dossier, by)
    signed(by, None, dataclasses.replace(WANTED, service_held=True))
    own = browser_key(in_register(cast, cast.supplier_lead))
    not_prepared("key.unconfirmed", by, own)
    confirm_key(own.key, by=in_register(cast, cast.supplier_deputy))
    own.key.refresh_from_db()
    signed(by, own.proof(prepared(by, own)))
    assert finding(by.dossier) == ""


def test_a_key_made_before_another_one_signed_is_not_slipped_in(cast, customer, held):
    """Enrolled while nothing was signed, so confirmed by nobody: it does not sign here after the
    service's key did."""
    signed(customer, None, dataclasses.replace(WANTED, service_held=True))
    not_prepared("key.unconfirmed", customer, held)
    assert finding(customer.dossier) == ""


def test_an_administrator_who_confirmed_is_made_known_in_the_agreement(cast):
    """They have no seat here: their code and role are entered, once, so that a reader of the record
    knows of which organisation the second person is (docs/record-format.md, certified keys)."""
    by = cast.capacity(cast.supplier_lead)
    with transaction.atomic():
        open_dossier_chain(by.dossier, by)
    passkey(in_register(cast, cast.supplier_lead))
    second = browser_key(in_register(cast, cast.supplier_lead))
    confirm_key(second.key, by=in_register(cast, cast.supplier_admin))
    second.key.refresh_from_db()
    for _time in range(2):
        signed(by, second.proof(prepared(by, second)))
    [payload] = [one for one in certified(by) if one.get("confirmed_by")]
    known = chain.entries(by.dossier.chain).filter(
        kind=Kind.SITTER_SEATED, subject=f"sitter:{payload['confirmed_by']}"
    )
    assert [one.payload["role"] for one in known] == ["administrator"]
    assert known.get().payload["organisation"] == by.actor().organisation
    assert not by.dossier.sitters.filter(person=cast.supplier_admin).exists()


def test_a_replacement_says_what_it_replaces_and_who_confirmed_it(cast):
    """The old key ends when the new one is confirmed; the chain tells both."""
    by = cast.capacity(cast.supplier_lead)
    with transaction.atomic():
        open_dossier_chain(by.dossier, by)
    old = passkey(in_register(cast, cast.supplier_lead))
    signed(by, old.proof(prepared(by, old)))
    new = browser_key(in_register(cast, cast.supplier_lead), replaces=old.key)
    prepared(by, old)  # it signs until then
    confirm_key(new.key, by=in_register(cast, cast.supplier_admin))
    new.key.refresh_from_db()
    made = signed(by, new.proof(prepared(by, new)))
    first, second = certified(by)
    assert second["replaces"] == first["fingerprint"] == old.key.fingerprint
    assert second["confirmed_by"] not in (None, by.actor().person)
    # The administrator has no seat in the agreement, and still a code of their own.
    assert second["confirmed_by"].startswith("P-")
    assert parse(bytes(made.statement))["keys"] == {"supplier": [new.key.fingerprint]}
    assert kinds(by.dossier.chain).count("key.revoked") == 1
    assert finding(by.dossier) == ""


def test_evidence_is_json_text_that_a_record_keeps(customer, held):
    """Unpadded base64url, three members, nothing else."""
    made = signed(customer, held.proof(prepared(customer, held)))
    assert set(made.passkey) == {"authenticator_data", "client_data", "signature"}
    assert not set("=+/ ") & set("".join(made.passkey.values()))
    assert json.dumps(made.passkey).isascii()


def test_a_key_of_the_service_for_an_old_name_ends_where_the_new_one_begins(cast, customer):
    """The chain tells of both; the next statement names the new one only."""
    wanted = dataclasses.replace(WANTED, service_held=True)
    first = signed(customer, None, wanted)
    cast.customer_lead.name = "Ines Vellmar-Roe"
    cast.customer_lead.save()
    by = cast.capacity(cast.customer_lead)
    second = signed(by, None, wanted)
    assert second.fingerprint != first.fingerprint
    assert parse(bytes(second.statement))["keys"] == {"customer": [second.fingerprint]}
    ended = chain.entries(by.dossier.chain).get(kind=Kind.KEY_REVOKED)
    assert ended.payload["fingerprint"] == first.fingerprint


# A key of the service's that somebody revoked.

BY_SERVICE = dataclasses.replace(WANTED, service_held=True)


@pytest.fixture
def ended(cast):
    """The supplier's lead, who signed with the service's key; the administrator revoked it."""
    by = cast.capacity(cast.supplier_lead)
    with transaction.atomic():
        open_dossier_chain(by.dossier, by)
    signed(by, None, BY_SERVICE)
    first = key_of(by.person, by.organisation)
    revoke_key(first, by=in_register(cast, cast.supplier_admin), reason="Password stolen")
    return by


def test_a_revoked_key_of_the_service_does_not_come_back_by_itself(cast, ended):
    """Neither at the next signing, nor when a side agrees, nor beside an own key that waits."""
    assert refused(ended, None, BY_SERVICE).id == "key.service_ended"
    with transaction.atomic():
        assert signing.enrol(ended, act=chain.new_act()) is None
    register = in_register(cast, cast.supplier_lead)
    assert browser_key(register).key.is_pending
    assert refused(ended, None, BY_SERVICE).id == "key.service_ended"
    assert Key.objects.filter(assurance="service-held").count() == 1


def test_a_new_key_of_the_service_is_asked_for_and_confirmed(cast, ended):
    """It waits, a colleague confirms it, it signs; the record names them and verifies."""
    new = ask_service_key(in_register(cast, cast.supplier_lead))
    assert new.is_pending
    assert refused(ended, None, BY_SERVICE).id == "key.unconfirmed"
    with pytest.raises(Refusal) as again:
        ask_service_key(in_register(cast, cast.supplier_lead))
    assert again.value.id == "key.service_stands"
    with pytest.raises(Refusal) as oneself:
        confirm_key(new, by=in_register(cast, cast.supplier_lead))
    assert oneself.value.id == "key.oneself"
    confirm_key(new, by=in_register(cast, cast.supplier_deputy))
    assert signed(ended, None, BY_SERVICE).fingerprint == new.fingerprint
    deputy = cast.capacity(cast.supplier_deputy).actor().person
    assert certified(ended)[-1]["confirmed_by"] == deputy
    assert finding(ended.dossier) == ""


def test_a_confirmed_key_of_the_service_may_follow_an_own_one(cast, ended):
    """The own one is known in the chain: the form offers the new one all the same, it signs."""
    held = browser_key(in_register(cast, cast.supplier_lead))
    confirm_key(held.key, by=in_register(cast, cast.supplier_deputy))
    held.key.refresh_from_db()
    signed(ended, held.proof(prepared(ended, held)))
    assert signing.service_barred(ended)
    new = ask_service_key(in_register(cast, cast.supplier_lead))
    assert signing.service_barred(ended)
    confirm_key(new, by=in_register(cast, cast.supplier_deputy))
    assert not signing.service_barred(ended)
    assert signed(ended, None, BY_SERVICE).fingerprint == new.fingerprint
    assert finding(ended.dossier) == ""


def test_a_key_of_the_service_that_is_only_renewed_needs_nobody(cast, customer):
    """A changed name ends the old one by itself: nobody revoked it."""
    signed(customer, None, BY_SERVICE)
    cast.customer_lead.name = "Ines Vellmar-Roe"
    cast.customer_lead.save()
    by = cast.capacity(cast.customer_lead)
    assert signed(by, None, BY_SERVICE).name == "Ines Vellmar-Roe"
    with pytest.raises(Refusal) as caught:
        ask_service_key(in_register(cast, cast.customer_lead))
    assert caught.value.id == "key.service_stands"


def test_the_first_own_key_after_a_revoked_one_of_the_service_needs_a_second_person(cast):
    """Also where nothing was signed yet: whoever revoked it did so for a reason."""
    register = in_register(cast, cast.supplier_lead)
    revoke_key(key_of(register.person, register.organisation), by=register)
    assert passkey(register).key.is_pending


def test_asking_for_another_key_of_the_service_is_no_way_around_the_second_person(cast):
    """The one that was asked for waits; an own key made meanwhile waits too."""
    register = in_register(cast, cast.supplier_lead)
    revoke_key(key_of(register.person, register.organisation), by=register)
    ask_service_key(register)
    assert passkey(register).key.is_pending
