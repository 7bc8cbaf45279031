"""A note kept in a mailbox against the chain of today; the reading log that tells of it."""

from __future__ import annotations

import dataclasses
import datetime as dt

import pytest

from jobs.models import Mail
from ledger import certificates, chain, clock, notes
from ledger.canonical import canonical_bytes, digest, parse
from ledger.kinds import Kind
from ledger.models import ChainHead, Entry
from ledger.notes import NoteError, note_in, note_text, read_note
from ledger.selfcheck import findings
from ledger.statements import sign_checkpoint
from parties import checkpoints, reading
from parties.keys import root_key
from parties.models import Sitter
from tests.triggers import without_triggers


def note(world) -> notes.Note:
    return read_note(checkpoints.current_note(world.cast.agreement))


def resigned(made: notes.Note, **changes) -> notes.Note:
    """The note with other facts, signed by the root as if it had always said so."""
    changed = dataclasses.replace(made, **changes)
    return dataclasses.replace(changed, signed=sign_checkpoint(root_key(), changed.checkpoint))


def outcome(world, made: notes.Note) -> str:
    return checkpoints.extends(world.cast.agreement, made).outcome


def test_the_note_names_the_head_and_each_sides_latest_signature(world):
    world.released_lot()
    dossier = world.cast.agreement
    made = note(world)
    head = chain.head(dossier.chain)
    assert (made.chain, made.number, made.hash) == (dossier.chain, head.number, head.hash)
    signatures = list(chain.entries(dossier.chain).filter(kind="signature.made"))
    assert [one.side for one in made.countersigned] == ["customer", "supplier"]
    for line in made.countersigned:
        latest = [entry for entry in signatures if entry.side == line.side][-1]
        statement = parse(latest.payload["statement"].encode())
        assert line.entry == latest.number
        assert {"number": line.number, "hash": line.hash} == statement["head"]
        assert line.fingerprint == latest.payload["fingerprint"]


def test_a_chain_that_grew_extends_every_note_it_gave(world):
    first = note(world)
    world.judged_lot("L-1")
    second = note(world)
    for made in (first, second):
        compared = checkpoints.extends(world.cast.agreement, made)
        assert (compared.outcome, compared.unborne) == ("extended", ())
    assert second.number > first.number


def test_what_the_root_did_not_sign_for_this_chain_compares_nothing(world):
    made = note(world)
    assert outcome(world, dataclasses.replace(made, hash="0" * 64)) == "unsigned"
    assert outcome(world, dataclasses.replace(made, root="0" * 64)) == "other-root"
    assert outcome(world, resigned(made, chain="another")) == "other-chain"
    assert outcome(world, resigned(made, number=made.number + 1)) == "ahead"
    assert outcome(world, resigned(made, hash="0" * 64)) == "rewritten"


def test_a_countersignature_that_nobody_made_is_told(world):
    made = note(world)
    false = dataclasses.replace(made.countersigned[0], fingerprint="0" * 64)
    altered = dataclasses.replace(made, countersigned=(false, *made.countersigned[1:]))
    compared = checkpoints.extends(world.cast.agreement, altered)
    assert (compared.outcome, compared.unborne) == ("extended", (false,))


def rewrite(name: str, number: int) -> None:
    """The operator changes what an entry is about and makes everything after it fit."""
    previous = None
    for entry in chain.entries(name).filter(number__gte=number):
        header = dict(entry.header)
        header |= {"previous": previous} if previous else {"subject": "lot/other"}
        written = canonical_bytes(header)
        previous = digest(written)
        Entry.objects.filter(pk=entry.pk).update(
            header_bytes=written,
            hash=previous,
            previous=header["previous"],
            subject=header["subject"],
        )
    ChainHead.objects.filter(chain=name).update(hash=previous)


def test_a_chain_rewritten_consistently_is_caught_by_the_mail_that_a_side_kept(world):
    """The self-check finds nothing, for every hash fits; the other side's mailbox does."""
    world.released_lot()
    dossier = world.cast.agreement
    kept = Mail.objects.filter(to=world.cast.customer_lead.email).order_by("-pk")[0].body
    mailed = note_in(kept)
    assert outcome(world, mailed) == "extended"
    with without_triggers():
        rewrite(dossier.chain, mailed.number)
    assert findings() == []
    assert outcome(world, mailed) == "rewritten"
    assert outcome(world, note(world)) == "extended"


def test_a_chain_cut_short_is_caught_too(world):
    made = note(world)
    world.open_lot("L-1")
    later = note(world)
    dossier = world.cast.agreement
    with without_triggers():
        chain.entries(dossier.chain).filter(number__gt=made.number).delete()
        ChainHead.objects.filter(chain=dossier.chain).update(number=made.number, hash=made.hash)
    assert (outcome(world, made), outcome(world, later)) == ("extended", "ahead")


def test_every_mail_about_a_chain_ends_with_a_checkpoint_of_the_act_it_tells_of(world):
    world.settled()
    mails = Mail.objects.filter(secret=False).order_by("pk")
    assert mails.count() > 5
    for mail in mails:
        made = note_in(mail.body)
        assert mail.body.endswith(note_text(made.checkpoint, made.signed, made.countersigned))
        assert outcome(world, made) == "extended"
        act = mail.key.partition(":")[0]
        last = chain.entries(world.cast.agreement.chain).filter(act=act).order_by("-number")[0]
        assert made.number >= last.number, mail.subject


def test_an_agreement_without_a_chain_has_nothing_to_name(cast):
    assert not checkpoints.has_chain(cast.agreement)
    chain.open_chain(cast.agreement.chain)
    assert not checkpoints.has_chain(cast.agreement)


def logged(world, kind: str) -> list[Entry]:
    return list(reading.entries(world.cast.agreement).filter(kind=kind))


def test_the_log_tells_to_whom_a_mail_took_a_checkpoint(world):
    world.released_lot()
    given = logged(world, "checkpoint.given")
    assert given and {entry.actor for entry in given} == {"system"}
    mail = Mail.objects.order_by("-pk")[0]
    entry = given[-1]
    assert entry.payload["by"] == "mail"
    sitter = Sitter.objects.get(dossier=world.cast.agreement, code=entry.payload["to"])
    assert sitter.person.email == mail.to
    made = note_in(mail.body)
    assert (entry.payload["number"], entry.payload["hash"]) == (made.number, made.hash)


def test_the_log_opens_once_and_names_its_chain(world):
    dossier = world.cast.agreement
    entries = list(reading.entries(dossier))
    assert entries[0].kind == Kind.READING_OPENED and entries[0].payload == {"of": dossier.chain}
    assert [one.kind for one in entries].count(Kind.READING_OPENED) == 1
    assert {one.chain for one in entries} == {f"{dossier.pk}.reading"}
    assert not chain.entries(dossier.chain).filter(kind__in=[
        "reading.opened", "page.read", "record.taken", "checkpoint.given", "checkpoint.compared",
    ]).exists()  # fmt: skip


def test_reading_is_logged_once_an_hour_and_never_for_the_two_sides(world):
    cast = world.cast
    before = chain.head(cast.agreement.chain)
    for who in (cast.auditor, cast.customer_lead, cast.supplier_staff):
        for _again in range(3):
            reading.page_read(world.by(who).sitter, "entry", 2)
    reading.page_read(world.by(cast.auditor).sitter, "entry", 3)
    reading.page_read(world.by(cast.auditor).sitter, "timeline")
    read = logged(world, "page.read")
    assert [entry.payload for entry in read] == [
        {"page": "entry", "entry": 2}, {"page": "entry", "entry": 3}, {"page": "timeline"},
    ]  # fmt: skip
    assert {entry.side for entry in read} == {"auditor"}
    assert chain.head(cast.agreement.chain) == before


def test_reading_in_the_next_hour_is_logged_again(world):
    sitter = world.by(world.cast.auditor).sitter
    reading.page_read(sitter, "timeline")
    with clock.fixed(clock.now() + dt.timedelta(hours=1)):
        reading.page_read(sitter, "timeline")
    assert len(logged(world, "page.read")) == 2


def test_a_note_of_another_installation_is_not_ours(world):
    key, root = certificates.make_root()
    made = dataclasses.replace(note(world), root=certificates.fingerprint(root))
    made = dataclasses.replace(made, signed=sign_checkpoint(key, made.checkpoint))
    notes.check_signed(made, root)
    assert outcome(world, made) == "other-root"
    claimed = dataclasses.replace(made, root=note(world).root)
    assert outcome(world, claimed) == "unsigned"
    with pytest.raises(NoteError):
        notes.check_signed(claimed, root)
