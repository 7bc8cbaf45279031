"""Erasable payloads: written under a key per person, read, exported, verified, and erased.

The zip is read by the standard library and hashed by hashlib; the ciphertext is opened with
`cryptography` alone. Invented people.
"""

from __future__ import annotations

import hashlib
import io
import json
import threading
import unicodedata
import zipfile

import pytest
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from django.db import IntegrityError, connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ledger import chain, erasable, erasure, selfcheck
from ledger.chain import ChainError
from ledger.erasure import Erased
from ledger.export import ExportError
from ledger.kinds import SCHEMAS, Kind
from ledger.models import Entry, PersonalKey
from ledger.sealing import unseal
from ledger.verify import headers
from tests.ledger import small as make
from tests.ledger.small import CHAIN, CUSTOMER, add
from tests.triggers import without_triggers

NAME = "Wilma Example"


def name_somebody(person: str = "P-1", name: str = NAME, act: str | None = None):
    """An erasable entry with the name behind a code."""
    with transaction.atomic():
        return chain.append(
            CHAIN,
            by=CUSTOMER,
            kind=Kind.PERSON_NAMED,
            subject=erasure.subject(person),
            act=act or chain.new_act(),
            payload={"person": person, "name": name},
            personal=person,
        )


def erase(person: str = "P-1") -> bool:
    """Destroy the key, and say so in the chain."""
    with transaction.atomic():
        add(CHAIN, CUSTOMER, Kind.PERSON_ERASED, erasure.subject(person), {"person": person})
        return erasure.destroy(CHAIN, person)


def entry(number: int) -> Entry:
    """An entry, freshly read."""
    return Entry.objects.get(chain=CHAIN, number=number)


def lines(record: bytes, number: int) -> list[bytes]:
    """The lines of an entry's member."""
    with zipfile.ZipFile(io.BytesIO(record)) as box:
        return box.read(f"entries/{number:06d}").split(b"\n")


def manifest(record: bytes) -> dict:
    """The manifest."""
    with zipfile.ZipFile(io.BytesIO(record)) as box:
        return json.loads(box.read("manifest.json"))


def below_checkpoint(record: bytes) -> dict[str, bytes]:
    """All members but the checkpoint, which is signed anew each time."""
    with zipfile.ZipFile(io.BytesIO(record)) as box:
        return {name: box.read(name) for name in box.namelist() if "checkpoint" not in name}


def test_the_name_lies_in_no_column_in_clear(small):
    """Neither name nor code's payload; the header commits to the clear bytes."""
    ref = name_somebody()
    row = entry(ref.number)
    assert bytes(row.salt) == b"" and row.personal == "P-1"
    stored = [bytes(row.payload_bytes), bytes(row.header_bytes)]
    assert not any(b"Wilma" in one or b"Example" in one for one in stored)
    payload, salt = erasure.clear(row)
    assert json.loads(payload) == {"person": "P-1", "name": NAME} == row.payload
    committed = json.loads(bytes(row.header_bytes))["payload"]
    assert hashlib.sha256(salt + payload).hexdigest() == committed


def test_it_is_plain_aes_gcm_bound_to_its_entry(small):
    """Opened with `cryptography` alone from what the docstring says of the form."""
    row = entry(name_somebody().number)
    held = PersonalKey.objects.get(chain=CHAIN, person="P-1")
    key = unseal(bytes(held.sealed), held.label)
    stored = bytes(row.payload_bytes)
    bound = json.dumps(
        {"chain": CHAIN, "kind": "person.named", "number": row.number, "v": 1},
        separators=(",", ":"),
    ).encode()
    clear = AESGCM(key).decrypt(stored[:12], stored[12:], bound)
    assert len(clear) % 256 == 0
    assert json.loads(clear[32:].rstrip(b"\0")) == {"name": NAME, "person": "P-1"}
    with pytest.raises(InvalidTag):
        AESGCM(key).decrypt(stored[:12], stored[12:], bound.replace(b"named", b"erased"))


def test_the_length_does_not_tell_the_name(small):
    """A short and a long name leave ciphertexts of the same length."""
    short, long = name_somebody("P-1", "Al"), name_somebody("P-2", "A" * 120)
    sizes = {len(bytes(entry(one.number).payload_bytes)) for one in (short, long)}
    assert len(sizes) == 1


def test_a_key_of_its_own_for_each_person_and_chain(small):
    """Destroying one leaves the others."""
    first, second = name_somebody("P-1"), name_somebody("P-2", "Bo Example")
    assert erase("P-1")
    with pytest.raises(Erased, match="P-1") as raised:
        erasure.clear(entry(first.number))
    assert raised.value.at == erasure.destroyed_at(CHAIN, "P-1")
    assert erasure.erased_at(entry(first.number)) == raised.value.at
    assert entry(second.number).payload["name"] == "Bo Example"
    assert erasure.erased_at(entry(second.number)) is None


def test_destroying_again_changes_nothing(small):
    """The day of the first time stands."""
    name_somebody()
    assert erase()
    at = erasure.destroyed_at(CHAIN, "P-1")
    with transaction.atomic():
        assert not erasure.destroy(CHAIN, "P-1")
    assert erasure.destroyed_at(CHAIN, "P-1") == at


def test_nothing_new_is_written_under_a_destroyed_key(small):
    """Also where there was none: the code's row is there beforehand."""
    name_somebody("P-1")
    erase("P-1")
    with transaction.atomic():
        assert not erasure.destroy(CHAIN, "P-2")
    before = chain.head(CHAIN)
    for person in ("P-1", "P-2"):
        with pytest.raises(Erased):
            name_somebody(person)
    assert chain.head(CHAIN) == before


def test_a_rerun_returns_the_entry_that_is_there_before_and_after(small):
    """Same act, kind, subject and payload; with another name it is refused while one can tell."""
    first = name_somebody(act="act-1")
    assert name_somebody(act="act-1") == first
    with pytest.raises(ChainError, match="other content"):
        name_somebody(name="Other Example", act="act-1")
    with pytest.raises(ChainError, match="other content"), transaction.atomic():
        chain.append(
            CHAIN,
            by=CUSTOMER,
            kind=Kind.PERSON_NAMED,
            subject=erasure.subject("P-1"),
            act="act-1",
            payload={"person": "P-1", "name": NAME},
        )
    erase()
    assert name_somebody(act="act-1") == first


@pytest.mark.parametrize("kind", sorted(erasure.LEANED_ON))
def test_what_others_lean_on_cannot_be_erasable(small, kind, monkeypatch):
    """Refused before anything is written, whatever the payload."""
    monkeypatch.setattr(chain, "payload_bytes", lambda kind, payload: b"{}")
    before = chain.head(CHAIN)
    with pytest.raises(ChainError, match="cannot be erased"), transaction.atomic():
        chain.append(
            CHAIN, by=CUSTOMER, kind=kind, subject="x", act="a", payload={}, personal="P-1"
        )
    assert chain.head(CHAIN) == before and not PersonalKey.objects.exists()


def test_the_verifier_says_the_same_of_every_kind():
    """What is never withheld and never erased: writer and verifier, each by its own list."""
    assert {kind for kind in SCHEMAS if headers.never_missing(kind)} == erasable.NEVER_WITHHELD
    assert {kind for kind in SCHEMAS if headers.never_erased(kind)} == erasable.LEANED_ON


def test_an_erasable_entry_names_no_blobs_and_a_real_code(small):
    """A file would stay; a name is no code."""
    said = {"person": "P-1", "name": NAME}
    facts = {"by": CUSTOMER, "kind": Kind.PERSON_NAMED, "subject": "person:P-1", "payload": said}
    with pytest.raises(ChainError, match="no blobs"), transaction.atomic():
        chain.append(CHAIN, act="a", blobs=[small.digest], personal="P-1", **facts)
    with pytest.raises(ChainError, match="not a code"), transaction.atomic():
        chain.append(CHAIN, act="a", personal=NAME, **facts)
    with pytest.raises(ChainError, match="is about person:P-2"), transaction.atomic():
        chain.append(CHAIN, act="a", personal="P-2", **facts)


def test_a_moved_ciphertext_does_not_open(small):
    """The bytes of one entry under another number, and a finding of the self-check."""
    first, second = name_somebody("P-1"), name_somebody("P-1", "Wilma Other")
    taken = bytes(entry(first.number).payload_bytes)
    with without_triggers():
        Entry.objects.filter(chain=CHAIN, number=second.number).update(payload_bytes=taken)
    with pytest.raises(erasure.ErasableError):
        erasure.clear(entry(second.number))
    said = [str(one) for one in selfcheck.findings()]
    assert [one for one in said if f"entry {second.number}" in one and "payload" in one]


def test_a_clear_entry_cannot_be_passed_off_as_erased(small):
    """Marked as under a destroyed key: the self-check asks the chain, which does not say so."""
    name_somebody("P-1")
    with transaction.atomic():
        erasure.destroy(CHAIN, "P-1")
    assert [one for one in selfcheck.findings() if "payload" in str(one)]
    add(CHAIN, CUSTOMER, Kind.PERSON_ERASED, "person:P-1", {"person": "P-1"})
    assert not selfcheck.findings()
    with without_triggers():
        Entry.objects.filter(chain=CHAIN, kind="signature.made").update(personal="P-1")
    assert len([one for one in selfcheck.findings() if "payload" in str(one)]) == 2


def test_a_missing_key_is_a_fault_and_not_an_erasure(small):
    """Somebody took the row away by force."""
    ref = name_somebody()
    with without_triggers(), connection.cursor() as cursor:
        cursor.execute("DELETE FROM ledger_personal_key")
    with pytest.raises(erasure.ErasableError, match="missing"):
        erasure.clear(entry(ref.number))
    assert [one for one in selfcheck.findings() if "payload" in str(one)]


def test_the_key_can_be_emptied_and_nothing_else(small):
    """The database refuses another key, a key put back, another day, another owner."""
    name_somebody()
    rows = PersonalKey.objects.filter(chain=CHAIN, person="P-1")
    kept = bytes(rows.get().sealed)

    def refused(**values):
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.update(**values)

    refused(sealed=b"other")
    refused(sealed=None)  # without saying when
    refused(person="P-9")
    erase()
    refused(sealed=kept)
    refused(sealed=kept, destroyed_at=None)
    refused(destroyed_at=make.START)
    assert rows.get().sealed is None


@pytest.mark.only_on("sqlite", "PostgreSQL's pages are vacuumed, not written over at once")
def test_the_sealed_key_is_written_over(small):
    """secure_delete is on for the connection that destroyed the key."""
    name_somebody()
    erase()
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA secure_delete")
        assert cursor.fetchone() == (1,)


@pytest.mark.only_on("postgresql", "a second connection to the tests' database")
def test_a_name_that_comes_while_its_key_is_destroyed_waits_and_is_refused(transactional_db):
    """Whoever holds the chain's head goes first; the late name is not written under another key."""
    make.unsigned()
    name_somebody()
    outcome: list[str] = []

    def late() -> None:
        try:
            name_somebody(name="Late Example")
            outcome.append("written")
        except Erased:
            outcome.append("refused")
        finally:
            connection.close()

    thread = threading.Thread(target=late)
    with transaction.atomic():
        erase()
        thread.start()
        thread.join(0.5)
        assert not outcome
    thread.join(20)
    assert outcome == ["refused"]
    assert PersonalKey.objects.count() == 1


def test_a_record_without_erasure_is_as_it_ever_was(small, judge):
    """The name is in it in clear, and nothing in the manifest tells."""
    ref = name_somebody()
    record = small.record()
    _header, payload, salt, end = lines(record, ref.number)
    assert json.loads(payload)["name"] == NAME and len(salt) == 64 and end == b""
    assert set(manifest(record)) == {"v", "form", "chain", "entries", "blobs"}
    assert judge(record, small.fingerprint).exit_code == 0


def test_after_destruction_the_record_says_so_and_verifies(small, judge):
    """Header and the word; one counted; the same bytes each time."""
    ref = name_somebody()
    whole = entry(ref.number).header_bytes
    erase()
    record = small.record()
    assert lines(record, ref.number) == [bytes(whole), b"erased", b""]
    assert manifest(record)["erased"] == 1
    assert b"Wilma" not in record
    report = judge(record, small.fingerprint)
    assert report.exit_code == 0, report


def test_many_keys_are_read_in_one_query(small, django_assert_num_queries):
    """However many entries and persons."""
    for number in range(3):
        name_somebody(f"P-{number}", f"Name {number}")
    rows = list(chain.entries(CHAIN))
    with django_assert_num_queries(1):
        found = erasure.with_keys(rows)
        names = [one.payload["name"] for one in found if one.personal]
    assert names == ["Name 0", "Name 1", "Name 2"]


# Names as the forms let them through: NFC text without control characters and surrogates.
NAMES = st.text(
    st.characters(exclude_categories=("Cs", "Cc"), max_codepoint=0x2FFF), min_size=1, max_size=60
).filter(lambda text: unicodedata.normalize("NFC", text) == text)


@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    said=st.lists(st.tuples(st.sampled_from(["P-1", "P-2", "P-3"]), NAMES), min_size=1, max_size=5),
    gone=st.sets(st.sampled_from(["P-1", "P-2", "P-3"])),
)
def test_what_is_written_comes_back_until_it_is_erased(db, judge, said, gone):
    """Any names under any codes, any of them erased: entries, record and verifier agree."""
    with transaction.atomic():
        small = make.unsigned()
        refs = [name_somebody(person, name) for person, name in said]
        for (_, name), ref in zip(said, refs, strict=True):
            assert entry(ref.number).payload["name"] == name
        assert judge(small.record(), small.fingerprint).exit_code == 0
        destroyed = {person for person in sorted(gone) if erase(person)}
        assert destroyed == gone & {person for person, _ in said}
        record = small.record()
        for (person, name), ref in zip(said, refs, strict=True):
            body = lines(record, ref.number)[1:-1]
            if person in gone:
                assert body == [b"erased"]
            else:
                assert json.loads(body[0])["name"] == name
        erased = sum(person in gone for person, _ in said)
        assert manifest(record).get("erased", 0) == erased
        assert judge(record, small.fingerprint).exit_code == 0
        assert not selfcheck.findings()
        transaction.set_rollback(True)


def test_a_part_withholds_and_tells_erasure_from_withholding(small, judge):
    """In a part about the terms an erased entry given in full says `erased`, others `withheld`."""
    named, other = name_somebody("P-1"), name_somebody("P-2", "Bo Example")
    erase("P-1")
    full = {2, 6, 7, named.number}
    record = small.record(about=make.SUBJECT, full=full)
    assert lines(record, named.number)[1:] == [b"erased", b""]
    assert lines(record, other.number)[1:] == [b"withheld", b""]
    assert "erased" not in manifest(record) and manifest(record)["about"] == make.SUBJECT
    again = small.record(about=make.SUBJECT, full=lambda one: one.number in full)
    assert below_checkpoint(record) == below_checkpoint(again)
    report = judge(record, small.fingerprint)
    assert report.exit_code == 0, report
    photo = chain.entries(CHAIN).get(kind="file.entered").blobs[0]
    with zipfile.ZipFile(io.BytesIO(record)) as box:
        assert f"blobs/{photo}" not in box.namelist() and box.testzip() is None


def test_a_part_is_about_something(small):
    """Refused where no entry that is given speaks of it."""
    for about, full in (("lot/none", {2}), (make.SUBJECT, set())):
        with pytest.raises(ExportError, match="about"):
            small.record(about=about, full=full)
