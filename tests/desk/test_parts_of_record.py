"""Parts of a record, about one lot or one dispute, checked by the verifier and by `unzip -t`."""

from __future__ import annotations

import io
import subprocess
import zipfile

import pytest

from desk.parts_of_record import NoPart, numbers_in_full, subjects_of
from ledger import chain
from ledger.erasable import NEVER_WITHHELD
from ledger.verify import verify
from parties.keys import installation
from parties.signing import write_record
from shipments import transitions as shipping
from tests import needs
from tests.world import make_world


def written(sitter, subject: str) -> bytes:
    """The part about a subject, as of now."""
    out = io.BytesIO()
    full = numbers_in_full(sitter, subject)
    write_record(sitter.dossier.chain, out, about=subject, full=full)
    return out.getvalue()


def members(data: bytes) -> dict[str, bytes]:
    """Contents by name, read by the standard library."""
    with zipfile.ZipFile(io.BytesIO(data)) as box:
        return {name: box.read(name) for name in box.namelist()}


def given(data: bytes) -> set[int]:
    """Numbers of the entries whose payload is in the part."""
    return {
        int(name[8:])
        for name, content in members(data).items()
        if name.startswith("entries/") and content.count(b"\n") == 3
    }


@pytest.fixture
def played(cast):
    """A settled dispute about one lot, and another lot beside it."""
    world = make_world(cast)
    dispute = world.settled("L-1")
    other = world.judged_lot("L-2")
    return world, dispute, other


def verified(data: bytes, tmp_path):
    """The verifier's report on these bytes."""
    path = tmp_path / "part.zip"
    path.write_bytes(data)
    return verify(path, installation().fingerprint)


@pytest.mark.parametrize("about", ["lot", "dispute"])
def test_a_part_verifies_and_holds_what_belongs_to_the_thing(played, tmp_path, about):
    """Every subject of the lot or dispute, the revision with its signatures, and nothing of the
    other lot."""
    world, dispute, other = played
    thing = dispute.lot if about == "lot" else dispute
    data = written(world.customer.sitter, thing.subject)
    report = verified(data, tmp_path)
    assert report.exit_code == 0, report
    entries = {one.number: one for one in chain.entries(world.cast.agreement.chain)}
    inside = given(data)
    kinds = {entries[number].kind for number in inside}
    assert {
        "revision.signed", "signature.made", "lot.opened", "submission.made", "verdict.given",
        "dispute.raised", "post.made", "remedy.offered", "settlement.agreed", "dispute.settled",
        "reference.entered", "article.approved",
    } - {"post.made"} <= kinds  # fmt: skip
    beside = {other.subject, *(one.subject for one in other.submissions.all())}
    assert not any(entries[number].subject in beside for number in inside)
    withheld = set(entries) - inside
    assert withheld and all(entries[one].kind not in NEVER_WITHHELD for one in withheld)


def test_blobs_are_those_that_given_entries_name(played):
    """The other lot's evidence is not in it, and everything named is."""
    world, dispute, other = played
    data = members(written(world.supplier.sitter, dispute.lot.subject))
    inside = {name[6:] for name in data if name.startswith("blobs/")}
    last = other.submissions.get()
    assert last.digest not in inside
    shown = [
        one for name, one in data.items() if name.startswith("entries/") and one.count(b"\n") == 3
    ]
    named = {
        digest.decode()
        for one in shown
        for digest in one.split(b'"blobs":[', 1)[1].split(b"]", 1)[0].replace(b'"', b"").split(b",")
        if digest
    }
    assert inside == named


def test_everybody_gets_the_same_bytes(played, monkeypatch):
    """The same head, checkpoint and subject: customer, supplier and auditor alike."""
    world, dispute, _ = played
    sitters = [
        world.customer.sitter, world.supplier.sitter, world.by(world.cast.auditor).sitter,
    ]  # fmt: skip
    found = {numbers_in_full(one, dispute.subject) for one in sitters}
    assert len(found) == 1
    from parties import signing

    point = signing.root_checkpoint(world.cast.agreement.chain)
    monkeypatch.setattr(signing, "root_checkpoint", lambda name: point)
    assert len({written(one, dispute.subject) for one in sitters}) == 1


def test_a_signature_over_a_list_goes_with_each_lot_and_brings_no_other_evidence(cast, tmp_path):
    """The list's own document is in the part, the other lot's evidence only by digest in it."""
    world = make_world(cast, "visual")
    lots = [world.judged_lot("L-1"), world.judged_lot("L-2")]
    rows = [world.last_submission(lot) for lot in lots]
    made = shipping.draw_up_list(cast.agreement, by=world.staff, submissions=rows)
    made = shipping.sign_list(made, by=world.supplier)
    for lot, other in (lots, lots[::-1]):
        data = written(world.customer.sitter, lot.subject)
        assert verified(data, tmp_path).exit_code == 0
        entry = chain.entries(cast.agreement.chain).get(subject=made.subject, kind="signature.made")
        assert entry.number in given(data)
        assert f"blobs/{made.digest}" in members(data)
        assert f"blobs/{world.last_submission(other).digest}" not in members(data)


def test_common_tools_open_it(played, tmp_path):
    """`unzip -t` finds no fault (Info-ZIP)."""
    needs.program("unzip", "unzip")
    world, dispute, _ = played
    path = tmp_path / "part.zip"
    path.write_bytes(written(world.customer.sitter, dispute.subject))
    done = subprocess.run(["unzip", "-t", path], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_what_one_may_not_see_has_no_part(played):
    """A stranger's dossier, another noun, another spelling of the same number."""
    world, dispute, _ = played
    stranger = world.cast.capacity(world.cast.stranger, world.cast.other).sitter
    lot = dispute.lot
    for sitter, subject in (
        (stranger, lot.subject),
        (world.customer.sitter, f"article/{lot.pk}"),
        (world.customer.sitter, f"lot/{lot.pk.hex}"),
        (world.customer.sitter, "lot/1"),
    ):
        with pytest.raises(NoPart):
            numbers_in_full(sitter, subject)


def test_the_evidence_by_eye_alone_leans_on_its_master(cast):
    """Without readings a reference is found by the name under which evidence knows it."""
    world = make_world(cast, "visual")
    lot = world.judged_lot()
    found = subjects_of(world.supplier.sitter, lot.subject)
    key = world.master.key.hex
    assert any(one.startswith(f"reference:{key}:") for one in found)
    assert any(one.startswith("article/") for one in found)
