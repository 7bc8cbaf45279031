"""Signing: the statement, the certificate copied once, who signs, what cannot be altered."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from cryptography import x509
from cryptography.x509.oid import NameOID
from django.db import connection, transaction
from django.db.utils import DatabaseError

from ledger import chain, statements
from ledger.canonical import parse
from ledger.certificates import CertificateError, check_leaf
from ledger.certificates import fingerprint as fingerprint_of
from ledger.kinds import Kind
from ledger.sealing import SealError, seal, unseal
from parties.keys import installation, key_of, private_part
from parties.models import Key, Signature
from parties.refusal import Refusal
from parties.signing import Wanted, enrol, root_checkpoint, sign
from parties.transitions import open_dossier_chain

DIGEST = "ab" * 32


def signed(by, **options):
    """A signature in the agreement's chain."""
    with transaction.atomic():
        open_dossier_chain(by.dossier, by)
        wanted = Wanted(
            what="revision",
            subject="revision-3",
            revision=3,
            digest=DIGEST,
            intent="I sign this revision.",
            **options,
        )
        return sign(by, wanted, act=chain.new_act())


def kinds(dossier):
    """The kinds of a chain in order."""
    return [entry.kind for entry in chain.entries(dossier.chain)]


def test_a_signature_verifies_and_says_what_it_is_over(cast):
    """Statement fields come from the capacity and the chain; the JWS is over exactly its bytes."""
    by = cast.capacity(cast.customer_lead)
    made = signed(by)
    made.refresh_from_db()
    key = Key.objects.get()
    statements.verify_detached(bytes(key.certificate), bytes(made.statement), made.jws)
    said = parse(bytes(made.statement))
    assert (said["what"], said["revision"], said["digest"]) == ("revision", 3, DIGEST)
    assert (said["signer"], said["side"], said["role"]) == (
        by.actor().person,
        "customer",
        "quality_lead",
    )
    assert said["name"] == "Ines Vellmar"
    assert said["keys"] == {"customer": [key.fingerprint]}
    assert said["assurance"] == "service-held"
    entry = chain.entries(cast.agreement.chain).get(kind=Kind.SIGNATURE_MADE)
    assert entry.payload["statement"].encode() == bytes(made.statement)
    # The head seen is the entry before the signature.
    assert said["head"] == {"number": entry.number - 1, "hash": entry.previous}
    with pytest.raises(statements.SignatureError):
        altered = bytes(made.statement).replace(b"revision-3", b"revision-4")
        statements.verify_detached(bytes(key.certificate), altered, made.jws)


def test_the_certificate_is_copied_once_and_both_sides_keys_are_named(cast):
    """The second signature of a person adds no certificate; it names the other side's key."""
    customer, supplier = cast.capacity(cast.customer_lead), cast.capacity(cast.supplier_lead)
    signed(customer)
    signed(supplier)
    last = signed(customer)
    assert kinds(cast.agreement).count("key.certified") == 2
    assert kinds(cast.agreement).count("signature.made") == 3
    keys = parse(bytes(last.statement))["keys"]
    assert keys == {
        "customer": [key_of(customer.person, customer.organisation).fingerprint],
        "supplier": [key_of(supplier.person, supplier.organisation).fingerprint],
    }


def test_enrolling_early_lets_the_first_signature_name_the_other_key(cast):
    """A side that agrees is enrolled; the other side's first signature then knows its key."""
    customer, supplier = cast.capacity(cast.customer_lead), cast.capacity(cast.supplier_lead)
    with transaction.atomic():
        open_dossier_chain(cast.agreement, customer)
        enrol(supplier, act=chain.new_act())
    made = signed(customer)
    assert set(parse(bytes(made.statement))["keys"]) == {"customer", "supplier"}


@pytest.mark.parametrize("who", ["supplier_staff", "supplier_observer", "auditor"])
def test_other_roles_do_not_sign(cast, who):
    """Refused, and nothing is written."""
    by = cast.capacity(getattr(cast, who))
    with pytest.raises(Refusal) as refused:
        signed(by, deputies=True)
    assert refused.value.id == "signing.role"
    assert not Signature.objects.exists()
    assert not chain.exists(cast.agreement.chain)


def test_a_deputy_signs_only_where_the_terms_say_so(cast):
    """The caller passes what the terms name."""
    by = cast.capacity(cast.supplier_deputy)
    with pytest.raises(Refusal):
        signed(by)
    assert signed(by, deputies=True).side == "supplier"


def test_certificates_come_from_the_installations_root(cast):
    """Issued by this root, refused by another one; the demo says so in its names."""
    made = signed(cast.capacity(cast.customer_lead))
    key = Key.objects.get()
    check_leaf(bytes(installation().certificate), bytes(key.certificate), made.created_at)
    assert fingerprint_of(bytes(key.certificate)) == key.fingerprint == made.fingerprint


def test_demo_keys_say_demo(cast, settings):
    """Root and certificate of the demo cannot be taken for real ones."""
    settings.DEMO = True
    key = key_of(cast.customer_lead, cast.firms["cust"])
    subject = x509.load_der_x509_certificate(bytes(key.certificate)).subject
    assert subject.get_attributes_for_oid(NameOID.ORGANIZATIONAL_UNIT_NAME)[0].value == "demo"
    assert "demo" in installation().name


def test_another_root_does_not_vouch_for_a_key(cast):
    """A certificate of a foreign root is refused."""
    made = signed(cast.capacity(cast.customer_lead))
    key = Key.objects.get()
    with pytest.raises(CertificateError):
        check_leaf(bytes(key.certificate), bytes(key.certificate), made.created_at)


def test_a_changed_name_asks_for_a_new_key(cast):
    """The statement's name and the certificate's are the same; the old key is revoked."""
    first = key_of(cast.customer_lead, cast.firms["cust"])
    assert key_of(cast.customer_lead, cast.firms["cust"]) == first
    cast.customer_lead.name = "Ines Vellmar-Roe"
    cast.customer_lead.save()
    second = key_of(cast.customer_lead, cast.firms["cust"])
    first.refresh_from_db()
    assert second.fingerprint != first.fingerprint
    assert first.revoked_at is not None


def test_private_parts_are_sealed(cast, settings):
    """Neither the row nor another secret opens them; a seal opens under its own label only."""
    key = key_of(cast.customer_lead, cast.firms["cust"])
    assert private_part(key).key_size == 256
    assert seal(b"x", "one") != seal(b"x", "one")
    with pytest.raises(SealError):
        unseal(seal(b"x", "one"), "two")
    settings.KEY_SECRET = "another-secret-of-more-than-32-characters"
    with pytest.raises(SealError):
        private_part(key)


def test_the_checkpoint_is_signed_by_the_root_and_writes_nothing(cast):
    """A download does not make the chain grow."""
    signed(cast.capacity(cast.customer_lead))
    before = chain.head(cast.agreement.chain)
    document, jws = root_checkpoint(cast.agreement.chain)
    statements.verify_checkpoint(bytes(installation().certificate), document, jws)
    assert parse(document)["hash"] == before.hash
    assert chain.head(cast.agreement.chain) == before


@pytest.mark.parametrize("sql", ["UPDATE {} SET jws = 'x'", "DELETE FROM {}"])
def test_a_signature_row_cannot_be_changed(cast, sql):
    """By the trigger, whatever asks for it."""
    signed(cast.capacity(cast.customer_lead))
    statement = sql.format(Signature._meta.db_table)
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
    assert Signature.objects.count() == 1


@pytest.mark.only_on("postgresql", "SQLite lets one writer in at a time")
@pytest.mark.django_db(transaction=True)
def test_two_first_acts_at_the_same_moment_share_one_key(cast):
    """In two dossiers at once: whoever comes second takes the key that is there."""
    person, firm = cast.supplier_lead, cast.firms["supp"]
    installation()
    together = threading.Barrier(4)

    def act(_number):
        try:
            together.wait()
            return key_of(person, firm).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        made = set(pool.map(act, range(4)))
    assert made == {Key.objects.get(person=person).pk}
