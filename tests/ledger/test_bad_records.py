"""Every trick of tests/make_bad_records.py is refused, and for its own reason."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import random
import subprocess
import sys
from functools import cached_property
from pathlib import Path

import pytest

from ledger.canonical import CanonicalError, canonical_bytes
from ledger.verify import verify
from ledger.verify.__main__ import main
from ledger.verify.keys import Key
from tests.ledger import plain as make
from tests.ledger.bad.keys import add_sealed, sealed
from tests.ledger.plain import LOT, REVISION
from tests.make_bad_records import TRICKS, Written, write


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("bad")


@pytest.fixture(scope="module")
def written(folder) -> dict[str, Written]:
    return {one.path.stem: one for one in write(folder)}


@pytest.mark.parametrize("name", [trick.name for trick in TRICKS])
def test_it_is_refused_for_its_own_reason(written, name, capsys):
    bad = written[name]
    report = verify(bad.path, bad.root, note=bad.note and bad.note.read_bytes())
    assert report.outcome == "refused"
    (finding,) = report.findings
    assert finding.id == bad.expected, finding
    by_note = finding.id.startswith("note.")
    assert report.exit_code == (
        (2 if finding.id in {"note.form", "note.several"} else 4) if by_note else 1
    )
    if not by_note and finding.id != "file.empty":
        size = bad.path.stat().st_size
        assert finding.member or finding.field
        assert 0 <= finding.offset <= size and finding.length >= 1
    held = ["--extends", str(bad.note)] if bad.note else []
    assert main([str(bad.path), "--root", bad.root, *held, "--json"]) == report.exit_code
    shown = json.loads(capsys.readouterr().out)
    assert shown["findings"][0]["id"] == bad.expected
    assert [check["status"] for check in shown["checks"]].count("refused") <= 1
    assert main([str(bad.path), "--root", bad.root, *held]) == report.exit_code
    assert f"finding {bad.expected}: " in capsys.readouterr().out


def test_the_tricks_cover_what_a_record_must_withstand():
    """The kinds of forgery that the issue and the document name, each by a finding of its own."""
    ids = {trick.expected for trick in TRICKS}
    assert ids >= {
        "zip.truncated", "zip.order", "zip.header", "zip.size", "zip.trailing", "zip.name",
        "header.number", "header.previous", "checkpoint.number", "checkpoint.hash",
        "blob.digest", "blob.missing", "blob.unnamed", "base64", "base64url", "json.depth",
        "json.strict", "root.fingerprint", "certificate.signature", "statement.nonce",
        "statement.role", "statement.side", "statement.keys", "signature.revoked",
        "signature.proof", "key.unconfirmed", "key.confirmed-by", "key.replaces", "key.revoked",
        "key.shared", "key.assurance", "key.credential", "key.organisation", "revocation.key",
        "revocation.organisation", "passkey.challenge", "passkey.type", "passkey.origin",
        "passkey.cross-origin", "passkey.relying-party", "passkey.user-present",
        "passkey.user-verified", "passkey.signature", "passkey.form", "passkey.base64url",
        "passkey.duplicate-key", "passkey.client-data", "entry.withheld", "entry.erased",
        "manifest.erased", "manifest.about", "part.about", "part.split", "part.withheld",
        "seal.document", "seal.shows", "seal.unknown", "seal.continues", "seal.issuer",
        "note.rewritten", "note.older", "note.chain", "note.root", "note.signature",
        "note.countersigned", "note.form", "note.several",
    }  # fmt: skip


def test_the_script_writes_them_with_an_index(folder, written, tmp_path):
    made = subprocess.run(
        [sys.executable, "-m", "tests.make_bad_records", str(tmp_path / "out")],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=True,
    )
    index = json.loads((tmp_path / "out" / "index.json").read_text(encoding="utf-8"))
    assert {name.removesuffix(".zip") for name in index} == {trick.name for trick in TRICKS}
    assert len(made.stdout.splitlines()) == len(TRICKS)
    assert index["a-replayed-signature.zip"]["refused by"] == "statement.nonce"


@pytest.fixture
def accepted(judge):
    """The report on a record that has to verify."""

    def told(plain, record: bytes | None = None):
        report = judge(plain.record() if record is None else record, plain.fingerprint)
        assert report.findings == []
        assert report.outcome == "verified"
        return report

    return told


def test_what_the_tricks_start_from_is_sound(accepted):
    plain, _, _ = make.signed()
    report = accepted(plain)
    assert [(made["assurance"], made["side"]) for made in report.signatures] == [
        ("browser-held", "supplier"),
        ("passkey", "customer"),
    ]
    part = plain.part(LOT, lambda entry: entry.header["subject"] in {LOT, REVISION})
    report = accepted(plain, part.build(plain.root_key))
    assert (report.form, report.about, report.withheld) == ("part", LOT, 3)


def test_a_key_may_be_replaced_with_a_second_person(accepted):
    plain = make.opened()
    old = plain.certify(make.BO, "service-held")
    plain.sign(old)
    new = plain.certify(make.BO, "passkey", replaces=old.fingerprint, confirmed_by="S-2")
    plain.revoke(old, confirmed_by="S-2")
    plain.sign(new)
    report = accepted(plain)
    assert [made["assurance"] for made in report.signatures] == ["service-held", "passkey"]
    assert [made["revoked_by_entry"] for made in report.signatures] == [10, None]


def test_whoever_confirmed_may_have_left_or_have_acted_without_a_seat(accepted):
    plain = make.opened()
    old = plain.certify(make.BO, "service-held")
    plain.sign(old)
    said = {"person": "S-2", "role": "deputy", "side": "supplier", "reason": "Left."}
    plain.add(make.BO, "sitter.unseated", "sitter:S-2", said)
    new = plain.certify(make.BO, "passkey", replaces=old.fingerprint, confirmed_by="S-2")
    plain.sign(new)
    keeper = make.Who("S-7", "ORG-S", "supplier", "", "")  # an administrator: keeps keys, no seat
    plain.revoke(new, by=keeper)
    plain.sign(plain.certify(make.BO, "passkey", confirmed_by="S-7"))
    accepted(plain)


def test_a_service_held_key_is_renewed_without_a_second_person(accepted):
    plain = make.opened()
    plain.sign(plain.certify(make.BO))
    plain.sign(plain.certify(make.BO))
    accepted(plain)


def test_a_first_own_key_needs_nobody_else(accepted):
    plain = make.opened()
    plain.certify(make.BO, "service-held")
    plain.sign(plain.certify(make.BO, "browser-held"))
    accepted(plain)


def test_a_signature_stands_though_its_key_was_revoked_later(accepted):
    plain = make.opened()
    bo = plain.certify(make.BO, "browser-held")
    plain.sign(bo)
    number = plain.revoke(bo)
    ada = plain.certify(make.ADA, "passkey")
    plain.sign(ada)
    assert accepted(plain).signatures[0]["revoked_by_entry"] == number


def test_a_statement_lists_a_key_that_is_revoked_only_after_the_head_it_saw(accepted):
    plain = make.opened()
    bo, ada = plain.certify(make.BO, "browser-held"), plain.certify(make.ADA, "passkey")
    seen = {"number": len(plain.entries), "hash": plain.hash(len(plain.entries))}
    keys = plain.standing()
    plain.revoke(bo)
    plain.sign(ada, head=seen, keys=keys)
    accepted(plain)


def test_a_passkey_of_a_subdomain_and_one_with_extensions_sign(accepted):
    plain = make.opened()
    device = make.Authenticator("example.org", "https://sign.example.org")
    held = plain.certify(make.ADA, "passkey", passkey=device)

    def proof(said: bytes) -> dict:
        data = device.data(flags=0x01 | 0x04 | 0x80, rest=bytes.fromhex("a0"))
        client = device.client(hashlib.sha256(said).digest(), crossOrigin=False, extra=["x"])
        return {"passkey": device.sign(data, client)}

    plain.sign(held, proof=proof)
    accepted(plain)


def test_sealed_documents_grow_by_seals(accepted):
    plain = make.opened()
    first = b"%PDF-1 sealed by the service"
    seal = sealed(plain, first)
    second = first + b" and by the customer"
    add_sealed(plain, second, [seal, seal], continues=hashlib.sha256(first).hexdigest())
    assert accepted(plain).checks[9].status == "passed"


def test_a_part_gives_a_sealed_document_without_its_withheld_certificate(accepted):
    """And a file that continues one of another subject, which the part does not give."""
    plain = make.opened()
    first = b"%PDF-1 sealed by the service"
    seal = sealed(plain, first)
    before = hashlib.sha256(first).hexdigest()
    second = first + b" and by the customer"
    said = {"what": "terms", "shows": plain.terms, "seals": [seal, seal], "continues": before}
    said["digest"] = hashlib.sha256(second).hexdigest()
    plain.add(make.SYSTEM, "document.sealed", LOT, said, second)
    part = plain.part(LOT, lambda entry: entry.header["subject"] == LOT)
    assert accepted(plain, part.build(plain.root_key)).withheld == 3


def test_an_erased_name_leaves_a_record_that_verifies_and_says_so(accepted):
    plain, _, _ = make.signed()
    plain.add(make.ADA, "person.erased", "person:S-2", {"person": "S-2"})
    forgery = plain.forgery()
    forgery.words[15] = "erased"
    forgery.manifest["erased"] = 1
    report = accepted(plain, forgery.build(plain.root_key))
    assert report.erased == 1
    assert any("1 erased payloads" in sentence for sentence in report.still_to_trust)


def test_the_time_for_many_keys_of_one_person_grows_as_their_number(accepted, monkeypatch):
    """Each public key is taken out of its certificate once: comparing pairs took minutes."""
    taken = []

    def point(key):
        taken.append(key.number)
        return key.key.public_numbers().x, key.key.public_numbers().y

    counted = cached_property(point)
    counted.__set_name__(Key, "point")
    monkeypatch.setattr(Key, "point", counted)
    plain = make.opened()
    for _ in range(12):
        plain.certify(make.BO, "browser-held")
    accepted(plain)
    assert len(taken) == 12


ODD = (
    None, True, -1, 2**53 - 1, "", "x", "\ud7ff", "0" * 64, [], [[]], {}, {"a": 1}, ["x"] * 3,
)  # fmt: skip


def changed(value, rng: random.Random):
    """The value with one place in it made odd: another type, removed, added, doubled."""
    if isinstance(value, dict) and value and rng.random() < 0.8:
        name = rng.choice(sorted(value))
        if rng.random() < 0.2:
            return {key: item for key, item in value.items() if key != name}
        return {**value, name: changed(value[name], rng)}
    if isinstance(value, list) and value and rng.random() < 0.7:
        at = rng.randrange(len(value))
        return [*value[:at], changed(value[at], rng), *value[at + 1 :]]
    if isinstance(value, str) and value.startswith("{") and rng.random() < 0.8:
        return canonical_bytes(changed(json.loads(value), rng)).decode()
    if isinstance(value, str) and value and rng.random() < 0.5:
        at = rng.randrange(len(value))
        return value[:at] + rng.choice("A0\u00e9{") + value[at + 1 :]
    return rng.choice(ODD)


def test_odd_payloads_signed_by_the_root_are_judged_and_never_a_fault(judge):
    """Whoever holds the root may write what they like into what later checks read."""
    plain, _, bo = make.signed()
    sealed(plain, b"%PDF-1")
    plain.revoke(bo)
    plain.certify(make.BO, "passkey", replaces=bo.fingerprint, confirmed_by="S-2")
    plain.add(make.ADA, "person.erased", "person:S-2", {"person": "S-2"})
    assert judge(plain.record(), plain.fingerprint).outcome == "verified"
    rng = random.Random(20)
    kept = ("key.", "sitter.", "signature.", "seal.", "document.", "person.")
    places = [n for n, one in enumerate(plain.entries) if one.header["kind"].startswith(kept)]
    refused = 0
    for _ in range(400):
        forgery = plain.forgery()
        part = forgery.entries[rng.choice(places)]
        part = forgery.entries[forgery.entries.index(part)] = dataclasses.replace(part)
        part.header = dict(part.header)
        try:
            part.payload = canonical_bytes(changed(json.loads(part.payload), rng))
        except CanonicalError:
            continue
        report = judge(forgery.build(plain.root_key), plain.fingerprint)
        assert report.findings == [] or report.findings[0].id != "record.unreadable", part.payload
        refused += report.exit_code == 1
    assert refused > 300
