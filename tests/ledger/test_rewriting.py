"""The owner of the database rewrites a chain without a gap: what notices it, and what does not.

The self-check cannot, and is not meant to. What notices is held outside: a signature by a key that
the operator does not have, and a checkpoint that the other side keeps in its own mails. On both
databases, with the guarding triggers dropped by their owner and put back.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from jobs import queue
from jobs.models import Mail
from ledger import certificates, chain, notes, statements, watching
from ledger.canonical import canonical_bytes
from ledger.kinds import Kind
from ledger.models import Alarm, Entry
from ledger.selfcheck import findings
from ledger.verify import verify
from parties import checkpoints
from parties.keys import private_part
from parties.models import Key
from parties.tasks import SELF_CHECK
from tests.ledger import small as make
from tests.ledger.rewriting import rewrite
from tests.ledger.small import CHAIN, CUSTOMER, Small
from tests.triggers import without_triggers

REMARK = 3  # said before anybody signed


def kept(small: Small) -> str:
    """The note that the customer has: the root's checkpoint, and who countersigned it."""
    point = statements.checkpoint(small.name, root_fingerprint=small.fingerprint)
    made = []
    for entry in chain.entries(small.name).filter(kind=Kind.SIGNATURE_MADE.value):
        seen = json.loads(entry.payload["statement"])["head"]
        made.append(
            notes.Countersigned(
                entry.side, entry.number, seen["number"], seen["hash"], entry.payload["fingerprint"]
            )
        )
    return notes.note_text(point, statements.sign_checkpoint(small.root_key, point), made)


def signing(small: Small, sides: tuple[str, ...]):
    """Make signatures again with the keys of these sides."""
    known = {certificates.fingerprint(small.certificates[side]): small.keys[side] for side in sides}
    return lambda key, data: statements.sign_detached(known[key], data) if key in known else None


def milder(payload) -> None:
    payload["text"] = "Nothing to remark."


@pytest.fixture
def checked(tmp_path: Path):
    """Verify a record under its root, with a note or without."""

    def made(small: Small, note: str | None = None):
        path = tmp_path / "record.zip"
        path.write_bytes(small.record())
        return verify(path, small.fingerprint, note=note.encode() if note else None)

    return made


def test_a_chain_that_only_grew_extends_the_note_and_the_signatures(small, checked):
    note = kept(small)
    said = {"revision": 1, "clause": "viewing", "text": "Another remark."}
    make.add(CHAIN, CUSTOMER, Kind.REMARK_MADE, "remark:2", said)
    assert checked(small).outcome == "verified"
    assert checked(small, note).outcome == "verified"


def test_the_self_check_does_not_see_a_chain_rewritten_without_a_gap(small):
    watching.finish(_looked())
    before = chain.head(CHAIN)
    rewrite(CHAIN, REMARK, milder, signing(small, ("customer", "supplier")))
    assert chain.head(CHAIN) != before
    assert chain.entries(CHAIN).get(number=REMARK).payload["text"] == "Nothing to remark."
    assert findings() == []
    watching.finish(_looked())
    assert not Alarm.objects.exists()


def _looked():
    check = watching.begin()
    assert watching.part(check, watching.Cursor(), 60, lambda: None) is None
    return check


def test_a_rewriter_who_has_every_key_is_caught_by_the_other_sides_checkpoint(small, checked):
    """Keys that the service holds: the operator signs everything anew, the checkpoint too."""
    note = kept(small)
    rewrite(CHAIN, REMARK, milder, signing(small, ("customer", "supplier")))
    assert checked(small).outcome == "verified", "nothing inside the record shows it"
    report = checked(small, note)
    assert report.outcome == "refused"
    assert report.findings[0].id == "note.rewritten"


def test_a_rewriter_who_lacks_the_other_sides_key_is_caught_by_its_signature(small, checked):
    """The customer's key is the customer's own: its statement still names the head it saw."""
    rewrite(CHAIN, REMARK, milder, signing(small, ("supplier",)))
    assert findings() == [], "the self-check looks at the chain, not at what is signed"
    report = checked(small)
    assert report.outcome == "refused"
    found = report.findings[0]
    signature = chain.entries(CHAIN).get(kind=Kind.SIGNATURE_MADE.value, side="customer")
    seen = json.loads(signature.payload["statement"])["head"]
    assert seen["hash"] != chain.entries(CHAIN).get(number=seen["number"]).hash
    assert found.member == f"entries/{signature.number:06d}" and "head" in str(found), found


def test_a_signature_that_is_taken_out_with_its_entry_is_found_by_the_checkpoint(small, checked):
    """Instead of the signature that he cannot make, the rewriter puts something harmless."""
    note = kept(small)
    number = chain.entries(CHAIN).get(kind=Kind.SIGNATURE_MADE.value, side="customer").number

    def harmless(payload) -> None:
        payload.clear()
        payload.update({"text": "Good morning."})

    row = chain.entries(CHAIN).get(number=number)
    header = row.header | {"kind": "post.made"}
    with without_triggers():
        Entry.objects.filter(pk=row.pk).update(
            kind="post.made", header_bytes=canonical_bytes(header)
        )
    rewrite(CHAIN, number, harmless, signing(small, ("supplier",)))
    assert findings() == []
    report = checked(small, note)
    assert report.outcome == "refused" and report.findings[0].id == "note.rewritten"


def test_a_mail_that_the_customer_kept_catches_the_operator_of_a_whole_installation(world):
    """The same on the whole small world, with the note as it stands in a mail."""
    world.released_lot()
    queue.drain()
    dossier = world.cast.agreement
    mail = Mail.objects.filter(to="customer_lead@example.org", body__contains=notes.FIRST).last()
    note = notes.note_in(mail.body)
    assert checkpoints.extends(dossier, note).outcome == checkpoints.EXTENDED

    first = chain.entries(dossier.chain).filter(kind=Kind.REVISION_PROPOSED.value).get()
    keys = {key.fingerprint: private_part(key) for key in Key.objects.all()}
    rewrite(
        dossier.chain,
        first.number,
        lambda payload: payload.update(note="Agreed by telephone."),
        lambda key, data: statements.sign_detached(keys[key], data),
    )
    assert findings() == []
    queue.enqueue(SELF_CHECK)
    queue.drain()
    assert not Alarm.objects.exists()
    found = checkpoints.extends(dossier, note)
    assert found.outcome == checkpoints.REWRITTEN
    anew = notes.read_note(checkpoints.current_note(dossier))
    assert checkpoints.extends(dossier, anew).outcome == checkpoints.EXTENDED
