"""The golden signed record: it loads, shows, verifies and is judged the same, for good.

Made by tests/make_golden_record.py; its private keys are destroyed. Every later version of the
service must read it as it is here. Invented people, firms and colours.
"""

from __future__ import annotations

import hashlib
import io
import os
import random
import subprocess
import sys
import zipfile
from collections import Counter
from datetime import datetime
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from django.urls import reverse
from django.utils.translation import gettext

from desk.timeline import WORDS, rows
from disputes.settlement import read_settlement
from ledger import blobs, chain, export
from ledger.canonical import canonical_bytes, digest, parse
from ledger.kinds import SCHEMAS, Kind
from ledger.models import ChainHead, Entry
from ledger.verify import verify
from ledger.verify.headers import split
from ledger.verify.unpack import unpack
from method.rejudge import rejudge
from method.submission import blob_digests, parse_submission
from method.terms import parse_terms
from method.terms.sentences import sentences
from parties.models import Dossier, Side, Sitter
from shipments.models import Submission, Verdict
from shipments.wording import shown
from tests.cast import make_cast
from tests.ledger.forge import opened
from tests.ledger.plain import never_withheld
from tests.make_golden_record import NOTE, RECORD

ROOT_FOLDER = Path(__file__).parents[2]
DIGEST = "fc483daa25a441c60c00d228f0ceab11ed98e1ef14f868786264c809093b5fa6"
ROOT = "df47475e3105de95a71b30945a26e672f02d2cf021951b306572b72521ee9e91"
ENTRIES = 100
# Not played when it was made: kinds that no act wrote then, and those that came later.
UNPLAYED = {Kind.FILE_ENTERED, Kind.LOT_HELD} | {
    Kind.CHIP_ENTERED,
    Kind.CHIP_USED,
    Kind.KEY_REVOKED,
    Kind.SEAL_CERTIFIED,
    Kind.DOCUMENT_SEALED,
    Kind.SEAT_LIMITED,
    Kind.PERSON_NAMED,
    Kind.PERSON_ERASED,
    Kind.READING_OPENED,
    Kind.PAGE_READ,
    Kind.RECORD_TAKEN,
    Kind.CHECKPOINT_GIVEN,
    Kind.CHECKPOINT_COMPARED,
}


@pytest.fixture(scope="module")
def record() -> bytes:
    return RECORD.read_bytes()


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """The record, unpacked."""
    target = tmp_path_factory.mktemp("golden") / "record"
    unpack(RECORD, target)
    return target


def judge(data: bytes, tmp_path: Path, root: str | None = ROOT):
    path = tmp_path / "record.zip"
    path.write_bytes(data)
    return verify(path, root)


def payloads(folder: Path, kind: str) -> list[dict]:
    found = []
    for entry in sorted((folder / "entries").iterdir()):
        if parse((entry / "header.json").read_bytes())["kind"] == kind:
            found.append(parse((entry / "payload.json").read_bytes()))
    return found


def test_it_is_the_record_that_was_committed(record):
    assert hashlib.sha256(record).hexdigest() == DIGEST
    assert f"root {ROOT}\nsha256 {DIGEST}\n" in NOTE.read_text(encoding="ascii")


def test_no_private_key_is_in_it(record):
    """Neither DER (PKCS 8, SEC 1) nor PEM nor a JWK's private member, nor the sealed form."""
    with zipfile.ZipFile(io.BytesIO(record)) as box:
        contents = [box.read(info) for info in box.infolist()]
    for content in [record, *contents]:
        assert b"PRIVATE KEY" not in content and b'"d":' not in content
        assert bytes.fromhex("0201010420") not in content


@pytest.mark.parametrize(("root", "status"), [(ROOT, 0), (None, 3), ("0" * 64, 1)])
def test_it_verifies_in_a_fresh_process(root, status):
    named = ["--root", root] if root else []
    shown_ = subprocess.run(
        [sys.executable, "-m", "ledger.verify", str(RECORD), *named],
        cwd=ROOT_FOLDER,
        capture_output=True,
        text=True,
        check=False,
        env={"PATH": os.environ["PATH"], "LANG": "tr_TR.UTF-8", "TZ": "Asia/Kathmandu"},
    )
    assert shown_.returncode == status, shown_.stdout + shown_.stderr
    if status == 0:
        assert shown_.stdout.startswith("VERIFIED")


def test_every_check_passes_and_every_signature_is_named():
    report = verify(RECORD, ROOT)
    assert (report.outcome, report.entries, report.findings) == ("verified", ENTRIES, [])
    # The nine checks of version 1 in their order, then those that came later.
    first = "manifest container root checkpoint headers payloads blobs keys signatures"
    assert [check.id for check in report.checks] == [*first.split(), "seals", "note"]
    assert [check.status for check in report.checks] == [*["passed"] * 10, "not asked"]
    signers = Counter((made["what"], made["side"]) for made in report.signatures)
    assert signers == {
        ("revision", "supplier"): 1,
        ("revision", "customer"): 1,
        ("article", "customer"): 2,
        ("submission", "supplier"): 3,
        ("settlement", "supplier"): 1,
        ("settlement", "customer"): 1,
    }


def test_it_holds_every_kind_that_can_be_played(folder):
    headers = [parse((one / "header.json").read_bytes()) for one in (folder / "entries").iterdir()]
    assert {header["kind"] for header in headers} == {kind.value for kind in Kind} - UNPLAYED
    assert len(headers) == ENTRIES


def test_every_payload_fits_the_schema_of_its_kind(folder):
    for entry in (folder / "entries").iterdir():
        kind = Kind(parse((entry / "header.json").read_bytes())["kind"])
        SCHEMAS[kind].model_validate(parse((entry / "payload.json").read_bytes()))


def test_every_lot_is_judged_again_byte_for_byte(folder):
    results = rejudge(folder)
    assert [one.text for one in results if not one.same] == []
    outcomes = Counter(one.text.split(":")[0] for one in results)
    assert outcomes == {
        "conforming": 6, "nonconforming": 2, "inconclusive": 1, "incomplete": 2,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("seed", "zone", "language"), [("7", "Asia/Shanghai", "zh_CN.UTF-8"), ("9", "UTC", "C")]
)
def test_it_is_judged_again_in_a_fresh_process(folder, seed, zone, language):
    surroundings = {"PYTHONHASHSEED": seed, "TZ": zone, "LANG": language}
    done = subprocess.run(
        [sys.executable, "-m", "method.rejudge", str(folder)],
        cwd=ROOT_FOLDER,
        capture_output=True,
        text=True,
        check=False,
        env={"PATH": os.environ["PATH"], **surroundings},
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.endswith("11 of 11 verdicts identical\n")


def test_its_terms_load_and_read_as_sentences(folder):
    revisions = payloads(folder, "revision.proposed") + payloads(folder, "revision.countered")
    assert [one["number"] for one in revisions] == [1, 2, 3]
    for one in revisions:
        terms = parse_terms((folder / "blobs" / one["digest"]).read_bytes())
        said = [text for _clause, texts in sentences(terms) for text in texts]
        assert terms.parts[0].name == "Housing" and len(said) > 40


def test_its_verdicts_and_settlement_are_shown_in_words(folder):
    given = payloads(folder, "verdict.given")
    for one in given:
        data = (folder / "blobs" / one["submission"]).read_bytes()
        document = parse_submission(data)
        assert all((folder / "blobs" / name).exists() for name in blob_digests(document))
        submission = Submission(purpose=document.purpose, bytes=data)
        stored = (folder / "blobs" / one["digest"]).read_bytes()
        view = shown(Verdict(submission=submission, bytes=stored, outcome=one["outcome"]))
        assert view["outcome"] == one["outcome"] and view["conditions"]
        assert all(line.words and "%" not in line.words for line in view["reasons"])
    offers = payloads(folder, "remedy.offered")
    for one in offers:
        document = read_settlement((folder / "blobs" / one["digest"]).read_bytes())
        assert sum(document["pieces"].values()) == 100


def part_of(record: bytes) -> tuple[bytes, str]:
    """A part about the first lot that was settled: the same checkpoint, most payloads withheld."""
    forged = opened(record)
    settled = next(one for one in forged.entries if one.header["kind"] == "dispute.settled")
    act = settled.header["act"]
    lot = next(
        one.header["subject"]
        for one in forged.entries
        if one.header["act"] == act and one.header["kind"] == "lot.closed"
    )
    given = {lot, *subjects_of_lot(forged, "L-5")}
    keep: set[str] = set()
    for part in forged.entries:
        if part.header["subject"] in given or never_withheld(part.header["kind"]):
            keep.update(part.header["blobs"])
        else:
            forged.words[part.header["number"]] = "withheld"
    forged.blobs = {name: data for name, data in forged.blobs.items() if name in keep}
    forged.manifest |= {"form": "part", "about": lot}
    return forged.build(), lot


def subjects_of_lot(forged, number: str) -> set[str]:
    """Subjects of the lot's submissions and of the revision that binds it."""
    found = set()
    for part in forged.entries:
        said = parse(part.payload)
        submitted = part.header["kind"] == "submission.made" and said.get("lot") == number
        binding = part.header["kind"] == "revision.countered" and said["number"] == 3
        if submitted or binding:
            found.add(part.header["subject"])
    return found


def test_a_part_of_it_verifies_under_the_same_checkpoint_and_is_judged_again(record, tmp_path):
    data, lot = part_of(record)
    report = judge(data, tmp_path)
    assert report.findings == []
    assert (report.outcome, report.form, report.about) == ("verified", "part", lot)
    whole = verify(RECORD, ROOT)
    assert (report.head, report.entries) == (whole.head, ENTRIES)
    shown_ = {made["entry"] for made in report.signatures}
    assert len(shown_) == 3 and report.signatures_withheld == 6  # both on the terms, one release
    target = tmp_path / "out"
    unpack(tmp_path / "record.zip", target)
    done = subprocess.run(
        [sys.executable, "-m", "method.rejudge", str(target)],
        cwd=ROOT_FOLDER, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.endswith("2 of 2 verdicts identical, 9 withheld\n")


@pytest.fixture
def restored(db, record) -> Dossier:
    """The record's chain in this database, in a dossier where the cast sits."""
    cast = make_cast()
    parts = opened(record)
    name = parts.manifest["chain"]
    dossier = Dossier.objects.create(
        id=name, purpose=Dossier.Purpose.AGREEMENT, title="From the golden record"
    )
    cast.seat(dossier, "audit", Side.AUDITOR)
    with zipfile.ZipFile(io.BytesIO(record)) as box:
        for content in (box.read(i) for i in box.infolist() if i.filename.startswith("entries/")):
            _store(content)
    last = Entry.objects.filter(chain=name).order_by("-number")[0]
    ChainHead.objects.create(chain=name, number=last.number, hash=last.hash)
    for data in parts.blobs.values():
        blobs.put(name, data, "application/octet-stream")
    dossier.auditor = cast.auditor
    return dossier


def _store(content: bytes) -> None:
    """One member's entry as a row."""
    header_bytes, payload, salt, _rest = split(content)
    header = parse(header_bytes)
    same = ("chain", "number", "previous", "actor", "organisation", "side", "role", "kind",
            "subject", "act")  # fmt: skip
    Entry.objects.create(
        time=datetime.fromisoformat(header["time"]),
        hash=digest(header_bytes),
        header_bytes=header_bytes,
        payload_bytes=payload,
        salt=bytes.fromhex(salt.decode()),
        **{name: header[name] for name in same},
    )


def test_every_entry_is_shown_on_the_timeline(restored, sign_in):
    client = sign_in(restored.auditor)
    address = reverse("desk:timeline", kwargs={"dossier": restored.pk})
    pages = [client.get(address)]
    while (earlier := pages[-1].context["page"].earlier) is not None:
        pages.append(client.get(address, {"before": earlier}))
    text = "".join(page.content.decode() for page in pages)
    numbers = [row.entry.number for page in pages for row in page.context["rows"]]
    assert numbers == list(range(ENTRIES, 0, -1))
    entries = list(chain.entries(restored.chain))
    shown = rows(entries, Sitter.objects.sitting(restored.auditor, restored.pk))
    assert {gettext(WORDS[one.kind]) for one in entries} == {str(row.words) for row in shown}
    assert all(str(row.words) in text for row in shown)
    for entry in entries:
        kwargs = {"dossier": restored.pk, "number": entry.number}
        page = client.get(reverse("desk:entry", kwargs=kwargs))
        assert page.status_code == 200 and entry.hash in page.content.decode()


def test_the_record_can_be_written_again_from_what_was_loaded(restored, record):
    """Loaded and exported once more under the same checkpoint: the same bytes."""
    parts = opened(record)
    with zipfile.ZipFile(io.BytesIO(record)) as box:
        checkpoint = box.read("checkpoint.json")
    out = io.BytesIO()
    export.write_record(
        restored.chain,
        out,
        checkpoint=checkpoint,
        checkpoint_jws=parts.signature,
        root_der=parts.root,
    )
    assert out.getvalue() == record


def test_a_flipped_bit_is_told_without_a_traceback(record, tmp_path):
    path = tmp_path / "flipped.zip"
    for seed in range(0, 100, 20):
        bit = random.Random(seed).randrange(len(record) * 8)
        flipped = bytearray(record)
        flipped[bit // 8] ^= 1 << bit % 8
        path.write_bytes(flipped)
        told = subprocess.run(
            [sys.executable, "-m", "ledger.verify", str(path), "--root", ROOT],
            cwd=ROOT_FOLDER, capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert told.returncode == 1 and told.stdout.startswith("REFUSED")
        assert "Traceback" not in told.stdout + told.stderr


def edited(record: bytes):
    """The record with one word of a payload changed and every hash computed anew."""
    parts = opened(record)
    part = next(one for one in parts.entries if one.header["kind"] == "verdict.given")
    part.say(lambda value: value.update(outcome="nonconforming"))
    return parts


def test_an_edited_payload_with_every_hash_recomputed_is_refused_by_signature(record, tmp_path):
    """The old checkpoint does not fit; a new one cannot be signed without the root's key."""
    report = judge(edited(record).build(), tmp_path)
    assert report.exit_code == 1 and report.findings[0].id.startswith("checkpoint.")
    report = judge(edited(record).build(ec.generate_private_key(ec.SECP256R1())), tmp_path)
    assert report.exit_code == 1
    assert "signature" in f"{report.findings[0].id} {report.findings[0]}", report.findings[0]


def test_the_same_record_put_together_again_is_the_same(record):
    """The forgeries above differ by what was edited, not by how they were built."""
    parts = opened(record)
    lines = [
        b"\n".join([canonical_bytes(part.header), part.payload, part.salt.hex().encode(), b""])
        for part in parts.entries
    ]
    assert (
        parts.assemble(lines, canonical_bytes(parts.checkpoint), parts.signature.encode()) == record
    )
