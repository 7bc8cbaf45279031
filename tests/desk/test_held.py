"""The page on which whoever holds a checkpoint checks it: three answers, and nothing is told or
written beside them."""

from __future__ import annotations

import dataclasses
import html
import re

import pytest
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from desk.comparing import HELD
from desk.models import Comparison
from desk.rate import ByAddress
from jobs.models import Mail
from ledger import certificates, chain
from ledger.models import ChainHead, Entry
from ledger.notes import note_in, note_text, read_note
from ledger.statements import sign_checkpoint
from parties import checkpoints
from parties.keys import root_key
from parties.models import Installation
from tests.triggers import without_triggers

URL = "desk:held-checkpoint"


@pytest.fixture(autouse=True)
def nobody_asked_before():
    cache.clear()
    yield
    cache.clear()


def ask(data: dict, **more):
    return Client(**more).post(reverse(URL), data)


def told(answer) -> str:
    """Which of the answers a page gives; none or two fail."""
    said = html.unescape(answer.content.decode())
    (which,) = [key for key, words in HELD.items() if str(words.title) in said]
    return which


def resigned(text: str, **changes) -> str:
    made = dataclasses.replace(read_note(text), **changes)
    return note_text(made.checkpoint, sign_checkpoint(root_key(), made.checkpoint))


def state() -> tuple:
    heads = sorted(ChainHead.objects.values_list("chain", "number", "hash"))
    return heads, Entry.objects.count(), Comparison.objects.count(), Mail.objects.count()


def test_an_old_note_is_extended_by_the_chain_that_grew_and_nothing_is_written(world):
    note = checkpoints.current_note(world.cast.agreement)
    world.open_lot("L-1")
    before = state()
    with CaptureQueriesContext(connection) as captured:
        answer = ask({"note": note})
    assert (answer.status_code, told(answer)) == (200, "extended")
    assert state() == before
    assert not [one for one in captured if not one["sql"].startswith("SELECT")]
    # Nothing of the agreement is told beyond what the note itself says.
    text = answer.content.decode()
    head = chain.head(world.cast.agreement.chain)
    firms = [seat.organisation.name for seat in world.cast.agreement.seats.all()]
    for word in (head.hash, world.cast.agreement.title, *firms):
        assert word not in text


def test_the_mail_that_was_received_is_taken_as_it_is(world):
    body = Mail.objects.order_by("pk").first().body
    assert reverse(URL) in body
    assert told(ask({"note": body})) == "extended"
    saved = f"From: a@example.org\r\nSubject: Lot\r\n\r\n{body}".encode()
    upload = SimpleUploadedFile("mail.eml", saved, "message/rfc822")
    assert told(ask({"upload": upload})) == "extended"


def test_what_the_root_signed_and_the_chain_does_not_hold_is_not_extended(world):
    """Rewritten, cut off, or a chain that is gone: one answer for all."""
    note = checkpoints.current_note(world.cast.agreement)
    for changes in ({"hash": "0" * 64}, {"number": 900_000}, {"chain": "gone"}):
        assert told(ask({"note": resigned(note, **changes)})) == "not-extended", changes
    made = read_note(note)
    with without_triggers():
        Entry.objects.filter(chain=made.chain, number=made.number).update(hash="f" * 64)
    assert told(ask({"note": note})) == "not-extended"


def test_lines_that_our_root_did_not_sign_ask_no_chain_anything(world):
    note = checkpoints.current_note(world.cast.agreement)
    key, root = certificates.make_root()
    elsewhere = dataclasses.replace(read_note(note), root=certificates.fingerprint(root))
    elsewhere = note_text(elsewhere.checkpoint, sign_checkpoint(key, elsewhere.checkpoint))
    false = [
        elsewhere,
        re.sub(r"(?m)^root .*$", f"root {read_note(note).root}", elsewhere),
        re.sub(r"(?m)^hash .*$", f"hash {'0' * 64}", note),
        re.sub(
            r"(?m)^number .*$",
            "number 900000",
            note_text(read_note(note).checkpoint, read_note(note).signed),
        ),
        re.sub(r"(?m)^chain .*$", "chain other", note),
    ]
    for text in false:
        with CaptureQueriesContext(connection) as captured:
            answer = ask({"note": text})
        assert (answer.status_code, told(answer)) == (200, "not-ours"), text
        assert not [one for one in captured if "ledger_entry" in one["sql"]]


def test_countersigned_lines_cannot_be_made_up_to_ask_about_signatures(world):
    note = checkpoints.current_note(world.cast.agreement)
    line = re.search(r"(?m)^countersigned .*\n", note)[0]
    false = note.replace(line, re.sub(r"[0-9a-f]{64}", "0" * 64, line))
    assert false != note
    pages = [ask({"note": text}).context["answer"] for text in (note, false)]
    assert pages[0] == pages[1]


def test_an_installation_without_a_root_has_no_notes(world):
    note = checkpoints.current_note(world.cast.agreement)
    made = note_in(note)
    with without_triggers():
        Installation.objects.all().delete()
    assert checkpoints.held(made) == checkpoints.NOT_OURS
    assert not Installation.objects.exists()


def test_what_is_no_note_is_said_and_stays_in_the_form(world):
    note = checkpoints.current_note(world.cast.agreement)
    cases = {
        "hello": "There is no checkpoint in it",
        note.replace("\nhash ", "\nhush "): "Line 4 of the checkpoint",
        f"{note}\n{resigned(note, number=1)}": "more than one checkpoint",
        "": "Paste a checkpoint or choose a file",
    }
    for text, said in cases.items():
        answer = ask({"note": text})
        shown = html.unescape(answer.content.decode())
        assert answer.status_code == 422 and said in shown and text.strip() in shown
        assert "answer" not in answer.context


def test_an_address_that_asks_too_often_waits_and_loses_nothing(world, monkeypatch):
    monkeypatch.setattr(ByAddress, "rate", "3/min")
    note = checkpoints.current_note(world.cast.agreement)
    assert [ask({"note": note}).status_code for _ in range(4)] == [200, 200, 200, 429]
    answer = ask({"note": note})
    assert "send it again in a minute" in answer.content.decode()
    assert note.strip() in html.unescape(answer.content.decode())
    assert Client().get(reverse(URL)).status_code == 200
    # Whoever asks from elsewhere is not held up.
    assert ask({"note": note}, REMOTE_ADDR="192.0.2.7").status_code == 200


def test_pages_that_hand_out_checkpoints_lead_to_it(world, sign_in):
    link = f'href="{reverse(URL)}"'
    assert link in Client().get(reverse("parties:installation")).content.decode()
    record = reverse("desk:record", kwargs={"dossier": world.cast.agreement.pk})
    assert link in sign_in(world.cast.auditor).get(record).content.decode()
