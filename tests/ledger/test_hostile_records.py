"""Records that somebody made up: each is refused for its own reason, never with a traceback."""

import hashlib
import json
import random

import pytest

from ledger.canonical import canonical_bytes
from ledger.verify import container, jws
from ledger.verify.crc import flipped_byte
from ledger.verify.zipform import Writer
from tests.ledger.forge import fresh, members, opened, zipped


@pytest.fixture
def record(small):
    return small.record()


@pytest.fixture
def refused(small, judge):
    """The finding's id, its check and place, for a record that must be refused."""

    def told(data: bytes, fingerprint: str | None = small.fingerprint):
        report = judge(data, fingerprint)
        assert report.exit_code == 1 and report.outcome == "refused"
        assert len(report.findings) == 1 and report.signatures == []
        states = [check.status for check in report.checks]
        if "refused" in states:
            at = states.index("refused")
            before = ["passed"] * len(states)
            before[2] = "not asked" if fingerprint is None else "passed"
            after = ["not reached"] * (len(states) - at - 1)
            assert states == [*before[:at], "refused", *after]
        finding = report.findings[0]
        assert finding.id not in {"record.unreadable", "file.unreadable"}, finding
        return finding

    return told


def swapped(record: bytes, name: str, content: bytes) -> bytes:
    return zipped([(one, content if one == name else data) for one, data in members(record)])


def test_a_forger_who_changes_nothing_is_not_refused(record, small, judge):
    assert opened(record).build() == record
    again = opened(record).build(small.root_key)
    assert judge(again, small.fingerprint).outcome == "verified"


def test_an_edited_payload_with_every_hash_recomputed_is_refused_by_the_checkpoint(record, refused):
    forgery = opened(record)
    forgery.entries[2].say(lambda remark: remark.update(text="Frame in blue – ΔE ≤ 9"))
    finding = refused(forgery.build())
    assert finding.id == "checkpoint.hash" and finding.member == "checkpoint.json"
    # Naming the new hash in the checkpoint does not help: the root signed the old one.
    previous = forgery.entries[-1].header
    forgery.checkpoint["hash"] = hashlib.sha256(canonical_bytes(previous)).hexdigest()
    finding = refused(forgery.build())
    assert finding.id == "jws.signature" and finding.member == "checkpoint.jws"


def test_an_edited_payload_under_a_root_of_the_forgers_own_is_refused(record, refused, small):
    forgery = opened(record)
    forgery.entries[2].say(lambda remark: remark.update(text="Frame in blue"))
    from ledger import certificates

    key, forgery.root = certificates.make_root(demo=True)
    forgery.checkpoint["root"] = certificates.fingerprint(forgery.root)
    data = forgery.build(key)
    assert refused(data).id == "root.fingerprint"
    # Without a fingerprint it still fails: the signatories' keys are not this root's.
    assert refused(data, None).id == "certificate.signature"


def test_an_edited_payload_alone_breaks_its_commitment(record, refused):
    name = "entries/000003"
    content = dict(members(record))[name].replace(b"neutral grey", b"a loud green")
    finding = refused(swapped(record, name, content))
    assert (finding.id, finding.member) == ("payload.commitment", name)
    start = record.find(content.split(b"\n")[0]) + content.find(b"\n") + 1
    assert finding.offset == start


def test_a_header_edited_alone_breaks_the_link_after_it(record, refused):
    name = "entries/000003"
    content = dict(members(record))[name].replace(b'"side":"customer"', b'"side":"supplier"')
    finding = refused(swapped(record, name, content))
    assert (finding.id, finding.member) == ("header.previous", "entries/000004")
    assert finding.field == "previous"


def test_last_entries_removed_are_missed_by_the_checkpoint(record, refused):
    forgery = opened(record)
    del forgery.entries[-1]
    forgery.blobs.pop(next(d for d in forgery.blobs if len(forgery.blobs[d]) == 768))
    assert refused(forgery.build()).id == "checkpoint.number"


def test_an_entry_added_after_the_checkpoint_is_refused(record, refused):
    forgery = opened(record)
    last = forgery.entries[-1].header
    forgery.entries.append(
        fresh(last, {"text": "me too"}, kind="post.made", subject="post:9", blobs=[])
    )
    assert refused(forgery.build()).id == "checkpoint.number"


def test_entries_in_another_order_are_refused(record, refused):
    lines = dict(members(record))
    two, three = lines["entries/000002"], lines["entries/000003"]
    data = zipped(
        [
            (name, {"entries/000002": three, "entries/000003": two}.get(name, content))
            for name, content in members(record)
        ]
    )
    finding = refused(data)
    assert (finding.id, finding.member) == ("header.number", "entries/000002")


def test_members_in_another_order_are_refused(record, refused):
    parts = members(record)
    parts[2], parts[3] = parts[3], parts[2]
    finding = refused(zipped(parts))
    assert finding.id == "zip.name" and finding.member == "entries/000001"


@pytest.mark.parametrize("name", ["manifest.json", "entries/000003", "checkpoint.jws"])
def test_a_member_that_stands_twice_is_refused(record, refused, name):
    parts = members(record)
    at = [one for one, _ in parts].index(name)
    assert refused(zipped([*parts[: at + 1], parts[at], *parts[at + 1 :]])).id.startswith("zip.")


def test_a_blob_that_stands_twice_is_refused(record, refused):
    parts = members(record)
    blob = next(part for part in parts if part[0].startswith("blobs/"))
    at = parts.index(blob)
    data = [*parts[:at], blob, *parts[at:]]
    manifest = json.loads(parts[0][1])
    data[0] = (parts[0][0], canonical_bytes({**manifest, "blobs": 3}))
    assert refused(zipped(data)).id == "zip.order"


def test_swapped_missing_and_planted_blobs_are_refused(record, refused):
    forgery = opened(record)
    one, two = sorted(forgery.blobs)
    forgery.blobs[one], forgery.blobs[two] = forgery.blobs[two], forgery.blobs[one]
    assert refused(forgery.build()).id == "blob.digest"
    forgery = opened(record)
    del forgery.blobs[one]
    assert refused(forgery.build()).id == "blob.missing"
    forgery = opened(record)
    forgery.blobs[hashlib.sha256(b"planted").hexdigest()] = b"planted"
    finding = refused(forgery.build())
    assert finding.id == "blob.unnamed" and finding.member.startswith("blobs/")


def test_every_truncation_is_refused(record, refused):
    rng = random.Random(7)
    for length in [1, 29, 30, 43, *sorted(rng.randrange(1, len(record)) for _ in range(60))]:
        finding = refused(record[:length])
        assert finding.member or finding.field


def test_an_empty_file_and_other_files_are_refused(judge, refused, tmp_path):
    assert refused(b"").id == "file.empty"
    assert refused(b"%PDF-1.7\n" * 100).id == "zip.header"
    assert refused(bytes(5000)).id == "zip.header"
    assert refused(random.Random(1).randbytes(5000)).id == "zip.header"


def test_bytes_before_or_after_are_refused(record, refused):
    assert refused(record + b"\0").id == "zip.trailing"
    assert refused(b"MZ" + record).field == "local header: signature"
    assert refused(record + record).id == "zip.trailing"


def test_an_ordinary_zip_of_the_same_contents_is_refused(record, refused, tmp_path):
    import zipfile

    path = tmp_path / "ordinary.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
        for name, content in members(record):
            out.writestr(name, content)
    assert refused(path.read_bytes()).id == "zip.header"


def test_a_size_beyond_the_limit_is_refused_before_it_is_read(record, refused, monkeypatch):
    monkeypatch.setattr(container, "MAX_BLOB", 500)
    finding = refused(record)
    assert finding.id == "zip.size" and "768" in finding.message


def test_a_size_that_lies_is_refused(record, refused):
    lying = bytearray(record)
    lying[18:22] = lying[22:26] = (2**32 - 1).to_bytes(4, "little")
    assert refused(bytes(lying)).id == "zip.size"


@pytest.mark.parametrize(
    ("payload", "id"),
    [
        (b"[" * 100_000 + b"]" * 100_000, "json.depth"),
        (b'{"a":' * 65 + b"1" + b"}" * 65, "json.depth"),
        (b'{"a":' + b"9" * 5000 + b"}", "json.strict"),
        (b'{"a":9007199254740992}', "json.strict"),
        (b'{"a":1.5}', "json.strict"),
        (b'{"a":NaN}', "json.strict"),
        (b'{"a":1,"a":2}', "json.strict"),
        (b'{"a":"\xff"}', "json.utf8"),
        (b'{"a"', "json.syntax"),
        (b"[]", "payload.form"),
        (b"", "json.syntax"),
    ],
)
def test_a_payload_of_hostile_json_is_refused_even_when_signed(record, refused, small, payload, id):
    forgery = opened(record)
    forgery.entries[2].payload = payload
    finding = refused(forgery.build(small.root_key))
    assert (finding.id, finding.member) == (id, "entries/000003")


def test_brackets_inside_a_text_are_not_depth(record, small, judge):
    forgery = opened(record)
    forgery.entries[-1].say(lambda file: file.update(name='[{"' * 100))
    assert judge(forgery.build(small.root_key), small.fingerprint).outcome == "verified"


@pytest.mark.parametrize(
    ("change", "id"),
    [
        ({"v": 2}, "header.version"),
        ({"chain": "another"}, "header.chain"),
        ({"side": "cust omer"}, "header.side"),
        ({"actor": ""}, "header.actor"),
        ({"kind": "remark"}, "header.kind"),
        ({"kind": "Remark.made"}, "header.kind"),
        ({"subject": 'a"b'}, "header.subject"),
        ({"time": "2026-03-03T08:00:00Z"}, "header.time"),
        ({"time": "2026-02-30T08:00:00.000000Z"}, "header.time"),
        ({"time": "2026-03-02T08:00:00.000000Z"}, "header.time"),
        ({"blobs": ["00"]}, "header.blobs"),
        ({"blobs": [1]}, "header.blobs"),
        ({"blobs": ["b" * 64, "a" * 64]}, "header.blobs"),
        ({"blobs": {}}, "field.type"),
        ({"role": 5}, "field.type"),
        ({"note": "extra"}, "field.unknown"),
    ],
)
def test_a_header_out_of_form_is_refused_even_when_signed(record, refused, small, change, id):
    forgery = opened(record)
    forgery.entries[2].header.update(change)
    finding = refused(forgery.build(small.root_key))
    assert (finding.id, finding.member) == (id, "entries/000003")
    assert finding.field == next(iter(change))


def test_an_entry_of_other_lines_is_refused(record, refused):
    content = dict(members(record))["entries/000003"]
    for changed in (content[:-1], content + b"\n", content.replace(b"\n", b"\r\n"), b"\n" * 3, b""):
        assert refused(swapped(record, "entries/000003", changed)).member == "entries/000003"


def test_a_salt_in_capitals_is_refused(record, refused):
    head, payload, salt, _ = dict(members(record))["entries/000003"].split(b"\n")
    content = b"\n".join([head, payload, salt.upper(), b""])
    assert refused(swapped(record, "entries/000003", content)).id == "entry.salt"


@pytest.mark.parametrize(
    ("content", "id"),
    [
        (b"[" * 60_000, "json.depth"),
        (b"{}", "field.missing"),
        (b'{"blobs":2,"chain":"c","entries":8,"form":"half","v":1}', "manifest.form"),
        (b'{"blobs":2,"chain":"c","entries":8,"form":"part","v":1}', "manifest.about"),
        (b'{"blobs":2,"chain":"c","entries":8,"form":"whole","v":2}', "manifest.version"),
        (b'{"blobs":2,"chain":"c","entries":0,"form":"whole","v":1}', "manifest.count"),
        (b'{"blobs":2,"chain":"c","entries":true,"form":"whole","v":1}', "field.type"),
        (b'{"blobs":2,"chain":"c","entries":99999999999,"form":"whole","v":1}', "manifest.count"),
        (b'{"blobs":2, "chain":"c","entries":8,"form":"whole","v":1}', "json.canonical"),
        (b'{"blobs":2,"chain":"c","entries":9000000,"form":"whole","v":1}', "zip.header"),
    ],
)
def test_a_hostile_manifest_is_refused(record, refused, content, id):
    assert refused(swapped(record, "manifest.json", content)).id == id


@pytest.mark.parametrize("content", [b"", b"0", b"\x30\x82\xff\xff", bytes(9000)])
def test_a_hostile_root_is_refused(record, refused, content):
    fingerprint = hashlib.sha256(content).hexdigest()
    finding = refused(swapped(record, "root.der", content), fingerprint)
    assert finding.member == "root.der" and finding.id.startswith("certificate.")


def test_a_leaf_cannot_stand_as_the_root(record, refused, small):
    leaf = small.certificates["supplier"]
    data = swapped(record, "root.der", leaf)
    assert refused(data, hashlib.sha256(leaf).hexdigest()).id == "root.issuer"


@pytest.mark.parametrize(
    ("change", "id"),
    [
        ({"chain": "another"}, "checkpoint.chain"),
        ({"root": "0" * 64}, "checkpoint.root"),
        ({"time": "yesterday"}, "checkpoint.time"),
        ({"time": "2026-03-03T08:00:00.000000Z"}, "checkpoint.time"),
        ({"v": 2}, "checkpoint.version"),
        ({"hash": "x"}, "field.digest"),
    ],
)
def test_a_checkpoint_out_of_form_is_refused_even_when_signed(record, refused, small, change, id):
    forgery = opened(record)
    checkpoint = canonical_bytes({**forgery.checkpoint, **change})
    signature = jws.sign(small.root_key, checkpoint, jws.CHECKPOINT).encode()
    data = swapped(swapped(record, "checkpoint.json", checkpoint), "checkpoint.jws", signature)
    finding = refused(data)
    assert (finding.id, finding.member) == (id, "checkpoint.json")


def test_a_checkpoint_signed_as_a_statement_is_refused(record, refused, small):
    checkpoint = dict(members(record))["checkpoint.json"]
    other = jws.sign(small.root_key, checkpoint, jws.STATEMENT).encode()
    assert refused(swapped(record, "checkpoint.jws", other)).id == "jws.header"


def test_base64url_that_decodes_alike_is_refused(record, refused):
    signature = dict(members(record))["checkpoint.jws"]
    alphabet = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    at = alphabet.index(signature[-1:])
    alike = signature[:-1] + alphabet[at ^ 1 : (at ^ 1) + 1]
    assert refused(swapped(record, "checkpoint.jws", alike)).id == "base64url"
    assert refused(swapped(record, "checkpoint.jws", signature + b"==")).id == "base64url"
    assert refused(swapped(record, "checkpoint.jws", b"\xff\xfe")).id == "jws.form"


def test_random_edits_of_several_bytes_never_raise(record, judge, small):
    rng = random.Random(11)
    for _ in range(300):
        data = bytearray(record)
        for _ in range(rng.randrange(1, 6)):
            at = rng.randrange(len(data))
            data[at : at + rng.randrange(4)] = rng.randbytes(rng.randrange(4))
        if bytes(data) != record:
            assert judge(bytes(data), small.fingerprint).exit_code == 1


def test_random_contents_with_a_perfect_container_never_raise(record, judge, small):
    rng = random.Random(12)
    parts = members(record)
    for _ in range(300):
        at = rng.randrange(len(parts))
        name, content = parts[at]
        changed = bytearray(content)
        place = rng.randrange(len(changed))
        changed[place : place + rng.randrange(3)] = rng.randbytes(rng.randrange(3))
        if bytes(changed) == content:
            continue
        report = judge(zipped([*parts[:at], (name, bytes(changed)), *parts[at + 1 :]]), None)
        assert report.exit_code == 1, name
        assert report.findings[0].id not in {"record.unreadable", "file.unreadable"}


def test_the_flipped_byte_is_found_from_the_difference_of_checksums():
    import zlib

    rng = random.Random(3)
    data = rng.randbytes(5000)
    for at in (0, 1, 2, 3, 4, 2500, 4996, 4999):
        for bit in range(8):
            other = bytearray(data)
            other[at] ^= 1 << bit
            assert flipped_byte(zlib.crc32(data) ^ zlib.crc32(bytes(other)), len(data)) == at


def test_the_writer_stops_before_four_gigabytes(monkeypatch):
    from ledger.verify import zipform

    class Nowhere:
        def write(self, data: bytes) -> int:
            return len(data)

    monkeypatch.setattr(zipform, "MAX_FILE", 1000)
    writer = Writer(Nowhere())
    writer.add("a", bytes(900))
    with pytest.raises(OverflowError):
        writer.add("b", bytes(900))
