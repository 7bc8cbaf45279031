"""Signatures that a root-signed chain could hold and a reader must still refuse."""

import json
from datetime import datetime, timedelta

import pytest

from ledger import certificates, chain, clock
from ledger.canonical import canonical_bytes
from ledger.chain import Actor
from ledger.kinds import Kind
from tests.ledger import small as make
from tests.ledger.forge import opened
from tests.ledger.small import CHAIN, CUSTOMER, START, SUBJECT, SUPPLIER, add, sign

LATER = START + timedelta(hours=5)


@pytest.fixture
def unsigned(db):
    """Both keys certified, nothing signed."""
    return make.unsigned()


@pytest.fixture
def refused(judge):
    """The finding about the last entry of a chain whose record must be refused."""

    def told(small):
        with clock.fixed(LATER):
            report = judge(small.record(), small.fingerprint)
        assert report.exit_code == 1, "verified"
        assert [check.status for check in report.checks[:7]] == ["passed"] * 7
        finding = report.findings[0]
        assert finding.member == f"entries/{chain.head(small.name).number:06d}"
        assert finding.offset is not None and finding.field.startswith("payload: ")
        return finding

    return told


def edited(**changes):
    """A change of the statement's fields before it is signed."""

    def alter(statement: bytes) -> bytes:
        value = json.loads(statement)
        value.update(changes)
        return canonical_bytes(value)

    return alter


@pytest.fixture(autouse=True)
def at_noon():
    with clock.fixed(START + timedelta(hours=4)):
        yield


def test_the_signature_used_below_is_good_when_nothing_is_changed(unsigned, judge):
    sign(unsigned, SUPPLIER)
    assert judge(unsigned.record(), unsigned.fingerprint).outcome == "verified"


@pytest.mark.parametrize(
    ("changes", "id"),
    [
        ({"v": 2}, "statement.version"),
        ({"chain": "another"}, "statement.chain"),
        ({"subject": "revision:2"}, "statement.subject"),
        ({"signer": "S-2"}, "statement.signer"),
        ({"organisation": "ORG-C"}, "statement.organisation"),
        ({"side": "customer"}, "statement.side"),
        ({"role": "deputy"}, "statement.role"),
        ({"digest": "0" * 64}, "statement.digest"),
        ({"name": "Somebody Else"}, "statement.name"),
        ({"organisation_name": "Another Firm"}, "statement.organisation_name"),
        ({"assurance": "passkey"}, "statement.assurance"),
        ({"nonce": "short"}, "statement.nonce"),
        ({"head": {"number": 6, "hash": "0" * 64}}, "statement.head"),
        ({"head": {"number": 0, "hash": "0" * 64}}, "statement.head"),
        ({"head": {"number": 5, "hash": "0" * 64}}, "statement.head"),
        ({"head": {"number": True, "hash": "0" * 64}}, "statement.head"),
        ({"head": {}}, "statement.head"),
        ({"keys": {}}, "statement.keys"),
        ({"keys": {"supplier": ["0" * 64], "customer": []}}, "statement.keys"),
        ({"time": "2026-03-03T12:00:00.000001Z"}, "statement.time"),
        ({"time": "2026-03-03T08:59:59.000000Z"}, "statement.time"),
        ({"time": "noon"}, "statement.time"),
        ({"revision": True}, "field.type"),
        ({"extra": 1}, "field.unknown"),
    ],
)
def test_a_statement_that_does_not_fit_its_entry_is_refused(unsigned, refused, changes, id):
    sign(unsigned, SUPPLIER, alter=edited(**changes))
    assert refused(unsigned).id == id


def test_a_statement_in_other_than_canonical_form_is_refused(unsigned, refused):
    sign(unsigned, SUPPLIER, alter=lambda statement: statement.replace(b":", b": ", 1))
    assert refused(unsigned).id == "json.canonical"


def test_a_key_of_the_other_side_does_not_sign_for_this_one(unsigned, refused):
    sign(unsigned, SUPPLIER, key_of="customer")
    assert refused(unsigned).id == "signature.person"


def test_the_entry_of_another_person_does_not_carry_it(unsigned, refused):
    sign(unsigned, SUPPLIER, entry_by=CUSTOMER)
    assert refused(unsigned).id == "statement.signer"


def test_a_colleague_without_a_certified_key_does_not_sign(unsigned, refused):
    sign(unsigned, Actor("S-2", "ORG-S", "supplier", "quality_lead"), key_of="supplier")
    assert refused(unsigned).id == "signature.person"


def test_a_key_that_was_not_certified_before_does_not_sign(unsigned, refused):
    leaf = certificates.issue_leaf(
        unsigned.root_key,
        unsigned.root,
        unsigned.keys["supplier"].public_key(),
        name="Bo Example",
        organisation="Example Mouldings",
    )
    unsigned.certificates["supplier"] = leaf
    sign(unsigned, SUPPLIER)
    assert refused(unsigned).id == "signature.key"


def test_a_signature_over_other_bytes_is_refused(unsigned, refused):
    statement = make.composed(unsigned, SUPPLIER)
    other = make.composed(unsigned, SUPPLIER)
    payload = {
        "statement": statement.decode(),
        "jws": make.statements.sign_detached(unsigned.keys["supplier"], other),
        "fingerprint": certificates.fingerprint(unsigned.certificates["supplier"]),
    }
    add(CHAIN, SUPPLIER, Kind.SIGNATURE_MADE, SUBJECT, payload)
    finding = refused(unsigned)
    assert (finding.id, finding.field) == ("jws.signature", "payload: jws")


def test_a_replayed_statement_is_refused(unsigned, refused):
    sign(unsigned, SUPPLIER)
    payload = chain.entries(CHAIN).last().payload
    add(CHAIN, SUPPLIER, Kind.SIGNATURE_MADE, SUBJECT, payload)
    assert refused(unsigned).id == "statement.nonce"


def test_a_statement_from_another_chain_is_refused(unsigned, refused):
    other = make.unsigned("another-chain")
    sign(other, SUPPLIER)
    payload = chain.entries(other.name).last().payload
    add(CHAIN, SUPPLIER, Kind.SIGNATURE_MADE, SUBJECT, payload)
    assert refused(unsigned).id == "statement.chain"


def test_a_document_entered_after_it_was_signed_is_refused(unsigned, judge):
    late = make.blobs.put(CHAIN, b"later", "text/plain")
    sign(unsigned, SUPPLIER, digest=late)
    add(
        CHAIN,
        SUPPLIER,
        Kind.REVISION_PROPOSED,
        SUBJECT,
        {"number": 2, "digest": late, "side": "supplier"},
        late,
    )
    finding = judge(unsigned.record(), unsigned.fingerprint).findings[0]
    assert finding.id == "statement.digest"


def certified(unsigned, leaf: bytes, **changes) -> None:
    """Enter a certificate for the supplier's lead."""
    import base64

    payload = {
        "person": "S-1",
        "organisation": "ORG-S",
        "side": "supplier",
        "certificate": base64.b64encode(leaf).decode(),
        "fingerprint": certificates.fingerprint(leaf),
        "assurance": "service-held",
    }
    payload.update(changes)
    add(CHAIN, SUPPLIER, Kind.KEY_CERTIFIED, "key:planted", payload)


def issued(key, root) -> bytes:
    public = certificates.new_key().public_key()
    return certificates.issue_leaf(key, root, public, name="B", organisation="O")


def test_a_key_certified_by_a_planted_second_root_is_refused(unsigned, refused):
    certified(unsigned, issued(*certificates.make_root(demo=True)))
    assert refused(unsigned).id == "certificate.signature"


def test_a_certificate_under_a_wrong_fingerprint_is_refused(unsigned, refused):
    leaf = issued(unsigned.root_key, unsigned.root)
    certified(unsigned, leaf, fingerprint="0" * 64)
    assert refused(unsigned).id == "certificate.fingerprint"


def test_a_certificate_not_yet_valid_is_refused(unsigned, refused):
    with clock.fixed(START + timedelta(days=300)):
        leaf = issued(unsigned.root_key, unsigned.root)
    certified(unsigned, leaf)
    assert refused(unsigned).id == "certificate.time"


def test_base64_that_decodes_alike_is_refused(unsigned, refused):
    import base64

    leaf = issued(unsigned.root_key, unsigned.root)
    text = base64.b64encode(leaf).decode()
    while not text.endswith("="):  # a length without padding leaves no free bits
        leaf = issued(unsigned.root_key, unsigned.root)
        text = base64.b64encode(leaf).decode()
    at = len(text.rstrip("=")) - 1
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
    alike = text[:at] + alphabet[alphabet.index(text[at]) ^ 1] + text[at + 1 :]
    assert base64.b64decode(alike) == leaf
    certified(unsigned, leaf, certificate=alike)
    assert refused(unsigned).id == "base64"


def test_a_planted_key_shows_in_what_the_other_side_signs(unsigned, refused, judge):
    certified(unsigned, issued(unsigned.root_key, unsigned.root))
    sign(unsigned, CUSTOMER)
    made = json.loads(chain.entries(CHAIN).last().payload["statement"])
    assert len(made["keys"]["supplier"]) == 2
    assert judge(unsigned.record(), unsigned.fingerprint).outcome == "verified"
    hidden = {**made["keys"], "supplier": made["keys"]["supplier"][:1]}
    sign(unsigned, CUSTOMER, alter=edited(keys=hidden))
    assert refused(unsigned).id == "statement.keys"


def test_a_signature_after_its_certificate_expired_is_refused(unsigned, judge):
    late = START + timedelta(days=4 * 365)
    with clock.fixed(late):
        sign(unsigned, SUPPLIER)
        report = judge(unsigned.record(), unsigned.fingerprint)
    assert report.findings[0].id == "certificate.time"
    assert datetime.fromisoformat(report.checkpoint_time) == late


def test_one_edited_statement_is_refused_even_by_a_root_that_signs_it(unsigned, judge):
    sign(unsigned, SUPPLIER)
    forgery = opened(unsigned.record())

    def soften(payload):
        payload["statement"] = payload["statement"].replace("I agree", "I agreed")

    forgery.entries[-1].say(soften)
    report = judge(forgery.build(unsigned.root_key), unsigned.fingerprint)
    assert report.findings[0].id == "jws.signature"
