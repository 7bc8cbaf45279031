"""Appending to a chain: what an entry holds, what is refused, what a repetition does."""

import hashlib
import re
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection, transaction

from ledger import blobs, chain, clock
from ledger.canonical import parse
from ledger.chain import Actor, ChainError
from ledger.kinds import GRAMMAR, SCHEMAS, Kind, PayloadError
from ledger.models import Entry
from tests.ledger.small import CUSTOMER, add

NAME = "chain-1"
SAID = {"text": "The plaque is too yellow."}


@pytest.fixture
def opened(db):
    chain.open_chain(NAME)
    return NAME


def say(subject="post:1", act="act-1", by=CUSTOMER, payload=SAID, digests=(), kind=Kind.POST_MADE):
    with transaction.atomic():
        return chain.append(
            NAME, by=by, kind=kind, subject=subject, act=act, payload=payload, blobs=digests
        )


def test_an_entry_names_the_hash_of_the_one_before(opened):
    first, second = say("post:1"), say("post:2")
    rows = list(chain.entries(NAME))
    assert [row.number for row in rows] == [1, 2]
    assert rows[0].previous == chain.START
    assert rows[1].previous == first.hash == rows[0].hash
    assert chain.head(NAME) == chain.Head(2, second.hash)


def test_the_hash_covers_the_header_and_the_header_commits_to_the_payload(opened):
    ref = say()
    row = chain.entries(NAME).get()
    header, payload = bytes(row.header_bytes), bytes(row.payload_bytes)
    assert hashlib.sha256(header).hexdigest() == ref.hash
    assert parse(payload) == SAID == row.payload
    committed = hashlib.sha256(bytes(row.salt) + payload).hexdigest()
    assert row.header["payload"] == committed
    assert len(bytes(row.salt)) == 32


def test_the_header_has_the_fields_fixed_for_good(opened):
    with clock.fixed(datetime(2026, 3, 3, 9, 30, tzinfo=UTC)):
        say()
    header = chain.entries(NAME).get().header
    assert header == {
        "v": 1,
        "chain": NAME,
        "number": 1,
        "time": "2026-03-03T09:30:00.000000Z",
        "actor": "C-1",
        "organisation": "ORG-C",
        "side": "customer",
        "role": "quality_lead",
        "kind": "post.made",
        "subject": "post:1",
        "act": "act-1",
        "payload": header["payload"],
        "blobs": [],
        "previous": "0" * 64,
    }


def test_equal_payloads_are_committed_to_differently(opened):
    say("post:1"), say("post:2")
    one, two = chain.entries(NAME)
    assert one.header["payload"] != two.header["payload"]


def test_the_same_again_returns_the_entry_that_is_there(opened):
    assert say() == say()
    assert chain.entries(NAME).count() == 1


def test_the_same_act_with_other_content_is_refused(opened):
    say()
    with pytest.raises(ChainError, match="with other content"):
        say(payload={"text": "Something else."})
    assert chain.entries(NAME).count() == 1


@pytest.mark.django_db(transaction=True)
def test_outside_a_transaction_nothing_is_appended():
    chain.open_chain(NAME)
    assert not connection.in_atomic_block
    with pytest.raises(ChainError, match=r"transaction\.atomic"):
        chain.append(
            NAME, by=CUSTOMER, kind=Kind.POST_MADE, subject="post:1", act="a", payload=SAID
        )


@pytest.mark.django_db(transaction=True)
def test_a_transaction_that_fails_takes_its_entry_with_it():
    chain.open_chain(NAME)
    before = chain.head(NAME)
    with pytest.raises(RuntimeError), transaction.atomic():
        say()
        raise RuntimeError
    assert chain.head(NAME) == before
    assert not Entry.objects.exists()


def test_a_chain_that_was_not_opened_is_refused(db):
    with pytest.raises(ChainError, match="open_chain comes first"):
        add("nowhere", CUSTOMER, Kind.POST_MADE, "post:1", SAID)
    assert not chain.exists("nowhere")


def test_opening_twice_changes_nothing(opened):
    say()
    chain.open_chain(NAME)
    assert chain.head(NAME).number == 1


def test_time_never_goes_back(opened):
    late = datetime(2026, 3, 3, 9, 30, tzinfo=UTC)
    with clock.fixed(late):
        say("post:1")
    with clock.fixed(late - timedelta(hours=2)):
        say("post:2")
    assert {row.header["time"] for row in chain.entries(NAME)} == {"2026-03-03T09:30:00.000000Z"}


def test_a_blob_must_be_stored_in_this_chain(opened):
    elsewhere = blobs.put("other-chain", b"bytes", "text/plain")
    with pytest.raises(ChainError, match="is not stored in chain"):
        say(digests=[elsewhere])
    here = blobs.put(NAME, b"bytes", "text/plain")
    say(digests=[here, here])
    assert chain.entries(NAME).get().blobs == [here]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"subject": 'a"b'}, "subject"),
        ({"subject": "é"}, "subject"),
        ({"subject": ""}, "subject"),
        ({"act": "a b"}, "act"),
        ({"by": Actor("Ada Example", "ORG", "customer", "lead")}, "actor"),
        ({"by": Actor("C-1", "ORG", "", "lead")}, "side"),
    ],
)
def test_malformed_codes_are_refused_by_name(opened, change, message):
    with pytest.raises(ChainError, match=message):
        say(**change)


@pytest.mark.parametrize(
    ("payload", "message"),
    [
        ({}, "text: Field required"),
        ({"text": 5}, "text: Input should be a valid string"),
        ({"text": "x", "mood": "bad"}, "mood: Extra inputs"),
        ({"text": "x", "facts": {"margin": 1.5}}, "facts.margin"),
    ],
)
def test_a_payload_that_does_not_fit_its_kind_is_refused_by_field(opened, payload, message):
    with pytest.raises(PayloadError, match=message):
        say(payload=payload)


def test_kinds_follow_their_grammar_and_each_has_a_schema():
    assert set(SCHEMAS) == set(Kind)
    for kind in Kind:
        assert re.fullmatch(GRAMMAR, kind.value), kind
        assert len(kind.value) <= Entry._meta.get_field("kind").max_length


def test_a_payload_that_no_verifier_would_read_is_refused(opened):
    many = {"text": "", "files": ["0" * 64] * 70_000}
    with pytest.raises(ChainError, match="a payload of"):
        say(payload=many)


def test_only_given_fields_are_written(opened):
    say(kind=Kind.LOT_HELD, payload={"reason": "mixed racks"})
    assert bytes(chain.entries(NAME).get().payload_bytes) == b'{"reason":"mixed racks"}'
