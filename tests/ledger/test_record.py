"""A record as it should be: verifies, unpacks, opens elsewhere, is the same each time."""

import io
import json
import subprocess
import sys
import zipfile
from datetime import timedelta

import pytest

from ledger import blobs, clock, export, statements
from ledger.canonical import parse
from ledger.kinds import Kind
from ledger.verify import container, zipform
from ledger.verify.__main__ import main, text
from ledger.verify.unpack import unpack
from tests.ledger.forge import members
from tests.ledger.small import CHAIN, CUSTOMER, START, SUPPLIER, TERMS, add, sign, unsigned


def test_a_record_verifies_under_its_root(small, judge):
    report = judge(small.record(), small.fingerprint)
    assert report.findings == []
    assert (report.outcome, report.exit_code) == ("verified", 0)
    assert [check.status for check in report.checks] == [*["passed"] * 10, "not asked"]
    assert report.not_asked == ["note"]
    assert (report.chain, report.entries) == (CHAIN, 8)
    assert [(made["side"], made["name"]) for made in report.signatures] == [
        ("supplier", "Bo Example"),
        ("customer", "Ada Example"),
    ]
    assert {made["assurance"] for made in report.signatures} == {"service-held"}


def test_without_a_root_signers_stay_unproven(small, judge):
    report = judge(small.record())
    assert (report.outcome, report.exit_code) == ("unproven", 3)
    statuses = {check.id: check.status for check in report.checks}
    assert statuses.pop("root") == statuses.pop("note") == "not asked"
    assert set(statuses.values()) == {"passed"}
    assert report.not_asked == ["root", "note"]
    assert report.checks[2].proves.startswith("nothing about who made the record")
    for check in report.checks:
        named = check.trusts.startswith("the root in the record, which nobody has named")
        assert named == (check.id in {"checkpoint", "headers", "keys", "signatures", "seals"})


def test_the_report_ends_with_what_was_not_asked_and_what_is_left_to_trust(small, judge):
    shown = text(judge(small.record()))
    assert "3. Installation root: not asked\n" in shown
    assert "the one whose fingerprint you gave" not in shown
    assert shown.count("(signer unproven)") == 2
    ending = shown[shown.index("not asked: check 3 (Installation root), check 11") :]
    assert "run again with --root" in ending and "the operator, who could have used it" in ending
    named = text(judge(small.record(), small.fingerprint))
    assert "3. Installation root: passed" in named and "unproven" not in named
    assert "not asked: check 11 (Checkpoint held)\n" in named
    assert "that the fingerprint you gave is the installation's" in named.split("still to trust")[1]
    refused = text(judge(small.record(), "0" * 64))
    assert "still to trust" not in refused and "not asked" not in refused


def test_another_root_than_the_installations_passes_for_none_that_was_named(small, judge):
    """Somebody's own root with keys to fit: consistent, and nothing is proven by it."""
    foreign = unsigned("forged-chain")
    report = judge(foreign.record())
    assert (report.outcome, report.not_asked) == ("unproven", ["root", "note"])
    assert judge(foreign.record(), small.fingerprint).findings[0].id == "root.fingerprint"


def test_a_signature_under_no_revision_is_named_without_one(small, judge):
    settlement = {"what": "settlement", "revision": None}
    sign(small, SUPPLIER, **settlement)
    sign(small, CUSTOMER, what="article", revision=3)
    shown = text(judge(small.record(), small.fingerprint))
    assert "settlement by Bo Example" in shown and "None" not in shown
    assert "article under revision 3 by Ada Example" in shown
    assert "revision 1 by Ada Example" in shown


def test_under_another_root_it_is_refused(small, judge):
    report = judge(small.record(), "0" * 64)
    assert report.exit_code == 1
    assert report.findings[0].id == "root.fingerprint"
    assert report.checks[2].status == "refused" and report.checks[3].status == "not reached"


def test_the_same_chain_and_checkpoint_give_the_same_bytes(small):
    point = statements.checkpoint(CHAIN, root_fingerprint=small.fingerprint)
    jws = statements.sign_checkpoint(small.root_key, point)

    def written() -> bytes:
        out = io.BytesIO()
        export.write_record(CHAIN, out, checkpoint=point, checkpoint_jws=jws, root_der=small.root)
        return out.getvalue()

    first = written()
    add(CHAIN, CUSTOMER, Kind.POST_MADE, "post:1", {"text": "later than the checkpoint"})
    assert written() == first


def test_a_common_zip_reader_opens_it(small):
    with zipfile.ZipFile(io.BytesIO(small.record())) as opened:
        assert opened.testzip() is None
        names = opened.namelist()
        assert all(info.compress_type == zipfile.ZIP_STORED for info in opened.infolist())
    assert names[:3] == ["manifest.json", "root.der", "entries/000001"]
    assert names[-2:] == ["checkpoint.json", "checkpoint.jws"]
    assert f"blobs/{small.digest}" in names


def test_entries_and_blobs_are_the_stored_bytes(small, tmp_path):
    path = tmp_path / "record.zip"
    path.write_bytes(small.record())
    count = unpack(path, tmp_path / "out")
    assert count == 4 + 3 * 8 + 2
    for entry in export.entries(CHAIN):
        folder = tmp_path / "out" / "entries" / f"{entry.number:06d}"
        assert (folder / "header.json").read_bytes() == bytes(entry.header_bytes)
        assert (folder / "payload.json").read_bytes() == bytes(entry.payload_bytes)
        assert (folder / "salt").read_bytes() == bytes(entry.salt)
    assert (tmp_path / "out" / "blobs" / small.digest).read_bytes() == TERMS


def test_unpacking_never_overwrites(small, tmp_path):
    path = tmp_path / "record.zip"
    path.write_bytes(small.record())
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("kept")
    with pytest.raises(FileExistsError):
        unpack(path, tmp_path / "out")


def test_a_checkpoint_of_another_chain_or_key_is_not_exported(small):
    point = statements.checkpoint(CHAIN, root_fingerprint=small.fingerprint)
    jws = statements.sign_checkpoint(small.root_key, point)
    out = io.BytesIO()
    with pytest.raises(export.ExportError, match="another chain"):
        export.write_record("other", out, checkpoint=point, checkpoint_jws=jws, root_der=small.root)
    with pytest.raises(export.ExportError, match="does not hold"):
        export.write_record(
            CHAIN, out, checkpoint=point, checkpoint_jws=jws[:-2], root_der=small.root
        )
    assert out.getvalue() == b""


def test_a_missing_blob_stops_the_export(small):
    blobs.path_of(CHAIN, small.digest).unlink()
    with pytest.raises(blobs.BlobError, match="is missing"):
        small.record()


def test_a_checkpoint_follows_its_last_entry_in_time(small):
    with clock.fixed(START - timedelta(days=9)):
        value = parse(statements.checkpoint(CHAIN, root_fingerprint=small.fingerprint))
    last = export.entries(CHAIN).last()
    assert value["time"] == last.header["time"] and value["hash"] == last.hash


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "ledger.verify", *arguments],
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_command_tells_by_its_exit_status(small, tmp_path):
    good, bad = tmp_path / "good.zip", tmp_path / "bad.zip"
    good.write_bytes(small.record())
    bad.write_bytes(small.record()[:-30])
    spaced = ":".join(small.fingerprint[n : n + 2] for n in range(0, 64, 2)).upper()
    verified = run(str(good), "--root", spaced, "--json", "--unpack", str(tmp_path / "out"))
    assert verified.returncode == 0
    report = json.loads(verified.stdout)
    assert report["outcome"] == "verified" and report["root"] == small.fingerprint
    assert (tmp_path / "out" / "manifest.json").exists()
    assert report["not_asked"] == ["note"] and report["still_to_trust"]
    unproven = run(str(good), "--json")
    assert unproven.returncode == 3
    report = json.loads(unproven.stdout)
    assert report["checks"][2]["status"] == "not asked" and report["not_asked"] == ["root", "note"]
    refused = run(str(bad), "--root", small.fingerprint, "--unpack", str(tmp_path / "not"))
    assert refused.returncode == 1 and "REFUSED" in refused.stdout
    assert not (tmp_path / "not").exists()
    assert run(str(tmp_path / "nothing.zip")).returncode == 2
    assert run(str(good), "--root", "12").returncode == 2
    assert run().returncode == 2


def test_the_report_for_people_says_what_is_proved_and_what_is_trusted(small, tmp_path, capsys):
    path = tmp_path / "record.zip"
    path.write_bytes(small.record())
    assert main([str(path), "--root", small.fingerprint]) == 0
    shown = capsys.readouterr().out
    assert "VERIFIED" in shown and "9. Signatures: passed" in shown
    assert shown.count(" proves: ") == shown.count(" trust:  ") == 11
    assert "Bo Example for Example Mouldings (supplier, quality_lead), service-held" in shown


def test_more_members_than_a_plain_zip_counts_still_open(tmp_path, monkeypatch):
    monkeypatch.setattr(zipform, "MAX_PLAIN_COUNT", 3)
    names = ["manifest.json", "a", "b", "c", "d"]
    out = io.BytesIO()
    writer = zipform.Writer(out)
    for name in names:
        writer.add(name, name.encode())
    writer.close()
    with zipfile.ZipFile(out) as opened:
        assert opened.namelist() == names and opened.testzip() is None
    assert b"PK\6\6" in out.getvalue()


def test_a_record_with_a_zip64_end_verifies_and_a_plain_one_in_its_place_does_not(
    small, judge, monkeypatch
):
    plain = small.record()
    monkeypatch.setattr(zipform, "MAX_PLAIN_COUNT", 3)
    assert judge(small.record(), small.fingerprint).exit_code == 0
    finding = judge(plain, small.fingerprint).findings[0]
    assert "end record" in finding.field


def test_documents_keep_the_form_that_is_fixed_for_good(small):
    contents = dict(members(small.record()))
    assert set(parse(contents["manifest.json"])) == {"v", "form", "chain", "entries", "blobs"}
    checkpoint = {"v", "chain", "number", "hash", "time", "root"}
    assert set(parse(contents["checkpoint.json"])) == checkpoint
    header, payload, salt, rest = contents[container.entry_name(6)].split(b"\n")
    assert parse(header)["kind"] == "signature.made" and rest == b"" and len(salt) == 64
    assert set(parse(payload)) == {"statement", "jws", "fingerprint"}
    assert parse(parse(payload)["statement"].encode())["signer"] == SUPPLIER.person
