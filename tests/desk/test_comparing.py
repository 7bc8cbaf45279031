"""A checkpoint compared on its page: pasted, as a file, as the mail itself; what it says, and what
is left behind. The reading log as both sides see it."""

from __future__ import annotations

import dataclasses
import email.policy
import html
import re
import subprocess
import sys
from email.message import EmailMessage
from pathlib import Path

import pytest
from django.core import mail as outbox
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError
from django.urls import reverse

from agreements.models import Revision
from desk.comparing import ANSWERS
from desk.models import Comparison, RecordCopy
from desk.records import ask_for_record, path_of
from jobs import queue
from jobs.models import Mail
from ledger import chain
from ledger.notes import note_in, note_text, read_note
from ledger.statements import sign_checkpoint
from parties import checkpoints, reading
from parties.keys import installation, root_key

ROOT = Path(__file__).parents[2]


def page(name: str, dossier, **more) -> str:
    return reverse(f"desk:{name}", kwargs={"dossier": dossier.pk, **more})


def note_of(world) -> str:
    return checkpoints.current_note(world.cast.agreement)


def changed(text: str, **changes) -> str:
    """The note with other facts, signed by the root all the same."""
    made = dataclasses.replace(note_in(text), **changes)
    return note_text(made.checkpoint, sign_checkpoint(root_key(), made.checkpoint))


def compare(world, sign_in, data, who: str = "auditor"):
    """Post the form; the page that follows."""
    client = sign_in(getattr(world.cast, who))
    return client.post(page("compare-checkpoint", world.cast.agreement), data, follow=True)


def logged(world, kind: str) -> list[dict]:
    return [one.payload for one in reading.entries(world.cast.agreement).filter(kind=kind)]


@pytest.mark.parametrize("who", ["auditor", "customer_lead", "supplier_staff"])
def test_a_good_note_is_told_in_words_and_logged_beside_the_chain(world, sign_in, who):
    note, before = note_of(world), chain.head(world.cast.agreement.chain)
    world.open_lot("L-1")
    after = chain.head(world.cast.agreement.chain)
    answer = compare(world, sign_in, {"note": note}, who)
    text = html.unescape(answer.content.decode())
    assert answer.status_code == 200 and "extends this checkpoint" in text
    assert before.hash in text and after.hash in text and "What to do now" not in text
    assert logged(world, "checkpoint.compared") == [
        {"number": before.number, "hash": before.hash, "outcome": "extended"}
    ]
    assert chain.head(world.cast.agreement.chain) == after


@pytest.mark.parametrize(
    ("changes", "outcome", "alarm", "log"),
    [
        ({"hash": "0" * 64}, "rewritten", True, "not-extended"),
        ({"number": 900_000}, "ahead", True, "not-extended"),
        ({"chain": "another"}, "other-chain", False, None),
        ({"root": "0" * 64}, "other-root", False, None),
    ],
)
def test_a_note_that_fails_says_what_to_do(world, sign_in, changes, outcome, alarm, log):
    answer = compare(world, sign_in, {"note": changed(note_of(world), **changes)})
    text = html.unescape(answer.content.decode())
    assert Comparison.objects.get().outcome == outcome
    assert str(ANSWERS[outcome].title) in text and str(ANSWERS[outcome].proves) in text
    assert ("What to do now" in text) == ("Call the other side" in text) == alarm
    assert (page("make-record", world.cast.agreement) in text) == alarm
    assert [one["outcome"] for one in logged(world, "checkpoint.compared")] == (
        [log] if log else []
    )


def test_an_altered_note_was_not_signed_by_the_root(world, sign_in):
    text = re.sub(r"(?m)^hash .*$", f"hash {'0' * 64}", note_of(world))
    answer = compare(world, sign_in, {"note": text})
    assert "The root did not sign this" in answer.content.decode()
    assert logged(world, "checkpoint.compared") == []


def test_every_outcome_has_words():
    outcomes = {
        checkpoints.EXTENDED, checkpoints.REWRITTEN, checkpoints.AHEAD, checkpoints.OTHER_CHAIN,
        checkpoints.OTHER_ROOT, checkpoints.UNSIGNED,
    }  # fmt: skip
    assert set(ANSWERS) == outcomes
    assert {key for key, answer in ANSWERS.items() if answer.alarm} == {"rewritten", "ahead"}


def test_a_countersignature_that_is_not_in_the_chain_is_shown(world, sign_in):
    text = re.sub(r"(?m)[0-9a-f]{64}$\Z", "0" * 64, note_of(world).rstrip("\n")) + "\n"
    answer = compare(world, sign_in, {"note": text})
    said = answer.content.decode()
    assert "extends this checkpoint" in html.unescape(said)
    assert "Countersignatures that are not in the chain" in said
    assert text.splitlines()[-1] in said


def test_the_mail_that_was_received_is_compared_as_it_is(world, sign_in):
    """As the mail system wrote it, and as another wraps it: quoted-printable (RFC 2045, 6.7)."""
    outbox.outbox.clear()
    world.released_lot()
    queue.drain()
    received = outbox.outbox[-1].message()
    as_sent = received.as_bytes()
    again = EmailMessage(policy=email.policy.SMTP)
    again["Subject"], again["From"] = "Fwd", "somebody@example.org"
    again.set_content("Siehe unten, größer.\n\n" + received.get_payload(), cte="quoted-printable")
    forwarded = again.as_bytes()
    assert b"=\r\n" in forwarded
    for name, data in (("mail.eml", as_sent), ("forwarded.eml", forwarded)):
        upload = SimpleUploadedFile(name, data, "message/rfc822")
        answer = compare(world, sign_in, {"upload": upload})
        assert "extends this checkpoint" in html.unescape(answer.content.decode()), name
    text = SimpleUploadedFile("note.txt", note_of(world).replace("\n", "\r\n").encode())
    assert compare(world, sign_in, {"upload": text}).status_code == 200
    assert Comparison.objects.count() == 3


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({}, "one of the two"),
        ({"note": "hello"}, "no checkpoint in it"),
        ({"note": "countershade checkpoint 1\nchain x\n"}, "Line 3 of the checkpoint"),
        ({"upload": SimpleUploadedFile("x.bin", bytes(range(256)))}, "no checkpoint in it"),
        (
            {"upload": SimpleUploadedFile("x.eml", b"Content-Type: x/y; charset=?\n\n=\n")},
            "no check",
        ),
    ],
)
def test_what_is_no_note_is_said_and_lost_to_nobody(world, sign_in, data, said):
    answer = compare(world, sign_in, data)
    text = html.unescape(answer.content.decode())
    assert answer.status_code == 422 and said in text
    assert data.get("note", "") in text
    assert not Comparison.objects.exists()
    assert not logged(world, "checkpoint.compared")


def test_both_at_once_are_not_guessed_at(world, sign_in):
    upload = SimpleUploadedFile("note.txt", note_of(world).encode())
    answer = compare(world, sign_in, {"upload": upload, "note": note_of(world)})
    assert answer.status_code == 422


def test_a_comparison_is_its_own_sides(world, sign_in):
    compare(world, sign_in, {"note": note_of(world)}, "customer_lead")
    url = Comparison.objects.get().get_absolute_url()
    for who, status in (("customer_colleague", 200), ("supplier_lead", 404), ("auditor", 404)):
        assert sign_in(getattr(world.cast, who)).get(url).status_code == status, who


def test_without_a_chain_there_is_nothing_to_compare(cast, world, sign_in):
    note = note_of(world)
    url = page("compare-checkpoint", cast.other)
    call = sign_in(cast.stranger).post(
        f"/api{url}", {"note": note}, content_type="application/json"
    )
    assert (call.status_code, call.json()["id"]) == (409, "no_chain")
    assert sign_in(cast.stranger).get(page("checkpoint", cast.other)).status_code == 404


def test_the_note_of_a_page_and_of_a_copy_are_files_that_compare(world, sign_in):
    dossier = world.cast.agreement
    client = sign_in(world.cast.auditor)
    given = client.get(page("checkpoint", dossier))
    assert given["Content-Type"] == "text/plain" and "attachment" in given["Content-Disposition"]
    head = chain.head(dossier.chain)
    assert (read_note(given.content.decode()).hash, head.number) == (head.hash, head.number)
    ask_for_record(dossier, by=world.by(world.cast.auditor))
    queue.drain()
    copy = RecordCopy.objects.get()
    held = client.get(page("copy-checkpoint", dossier, pk=copy.pk)).content.decode()
    note = read_note(held)
    assert (note.number, note.hash) == (copy.number, copy.hash)
    for text in (given.content.decode(), held):
        assert checkpoints.extends(dossier, note_in(text)).outcome == "extended"
    code = world.by(world.cast.auditor).sitter.code
    ways = [(one["to"], one["by"]) for one in logged(world, "checkpoint.given")]
    assert ways[-2:] == [(code, "page"), (code, "record")]


def test_a_form_that_was_not_taken_is_read_too(world, sign_in):
    """Its page comes as the answer to what was sent."""
    url = page("compare-checkpoint", world.cast.agreement)
    answer = sign_in(world.cast.auditor).post(url, {"note": "no checkpoint"})
    assert answer.status_code == 422
    [entry] = logged(world, "page.read")
    assert entry["page"] == "desk:compare-checkpoint"


def test_who_takes_a_copy_is_logged_whoever_it_is(world, sign_in):
    dossier = world.cast.agreement
    for who in (world.cast.customer_colleague, world.cast.auditor):
        made = ask_for_record(dossier, by=world.by(who))
        queue.drain()
        made.refresh_from_db()
        client = sign_in(who)
        for _again in range(2):
            assert client.get(page("copy-download", dossier, pk=made.pk)).status_code == 200
        entry = reading.entries(dossier).filter(kind="record.taken").last()
        assert entry.actor == world.by(who).sitter.code
        assert entry.payload == {
            "form": "whole", "number": made.number, "hash": made.hash, "digest": made.digest,
        }  # fmt: skip
    assert len(logged(world, "record.taken")) == 2


def test_both_sides_see_the_log_by_codes_and_no_guest_does(world, sign_in):
    dossier, lot = world.cast.agreement, world.open_lot("L-1")
    auditor = sign_in(world.cast.auditor)
    assert auditor.get(page("timeline", dossier)).status_code == 200
    assert auditor.get(page("entry", dossier, number=3)).status_code == 200
    assert auditor.get(lot.get_absolute_url()).status_code == 200
    assert auditor.get(reverse("shipments:lots", kwargs={"dossier": dossier.pk})).status_code == 200
    revision = Revision.objects.get(dossier=dossier)
    assert auditor.get(revision.get_absolute_url()).status_code == 200
    code = world.by(world.cast.auditor).sitter.code
    for who in ("customer_lead", "supplier_staff"):
        client = sign_in(getattr(world.cast, who))
        answer = client.get(page("reading", dossier))
        text = answer.content.decode()
        assert text.count(f"<td>{code}</td><td>auditor</td><td>reader</td>") == 5
        assert "the timeline" in text and "the page of entry 3" in text
        assert "a lot: L-1" in text and "a revision of the terms: revision 1" in text
        assert world.cast.auditor.name not in text and "by mail, " not in text
        assert not [one for one in answer.context["rows"] if "by mail" in one.what]
        mails = client.get(page("reading", dossier), {"mails": "1"}).context["rows"]
        assert [one for one in mails if "by mail" in one.what]
    assert auditor.get(page("reading", dossier)).status_code == 403
    assert sign_in(world.cast.stranger).get(page("reading", dossier)).status_code == 404


def test_a_guest_is_shown_no_page_whose_reading_cannot_be_logged(world, sign_in, monkeypatch):
    dossier = world.cast.agreement
    made = ask_for_record(dossier, by=world.by(world.cast.auditor))
    queue.drain()

    def broken(*_args, **_facts):
        raise DatabaseError("the disk is full")

    monkeypatch.setattr("ledger.chain.append", broken)
    guarded = [
        page("timeline", dossier), page("entry", dossier, number=1), page("checkpoint", dossier),
        page("entry-header", dossier, number=1), page("copy-download", dossier, pk=made.pk),
        page("copy-checkpoint", dossier, pk=made.pk), world.cast.agreement.get_absolute_url(),
        reverse("shipments:lots", kwargs={"dossier": dossier.pk}),
    ]  # fmt: skip
    client = sign_in(world.cast.auditor)
    for url in guarded:
        answer = client.get(url)
        assert answer.status_code == 503 and "Load the page again" in answer.content.decode(), url
    # The sides' own reading is not logged, so it does not hang on the log.
    assert sign_in(world.cast.customer_lead).get(guarded[0]).status_code == 200
    assert sign_in(world.cast.customer_lead).get(page("checkpoint", dossier)).status_code == 503


def verify(path: Path, *more: str) -> subprocess.CompletedProcess[str]:
    """The verifier in a process of its own."""
    command = [sys.executable, "-m", "ledger.verify", str(path), *more]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def test_the_verifier_alone_says_the_same_of_a_note_from_a_mail(world, tmp_path):
    """Whoever does not trust the page's answer gives the note to the verifier."""
    old = tmp_path / "old.txt"
    old.write_text(Mail.objects.order_by("pk").first().body, newline="")
    world.judged_lot("L-1")
    made = ask_for_record(world.cast.agreement, by=world.customer)
    queue.drain()
    asked = ["--root", installation().fingerprint, "--extends"]
    assert verify(path_of(made), *asked, str(old)).returncode == 0
    for changes in ({"hash": "0" * 64}, {"number": 900_000}):
        false = tmp_path / "false.txt"
        false.write_text(changed(old.read_text(), **changes), newline="")
        refused = verify(path_of(made), *asked, str(false))
        assert refused.returncode == 4 and "finding note" in refused.stdout, refused.stdout
