"""Alarms that people see: those concerned, in words that name nothing of the other side's."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.db import connection
from django.urls import reverse

from jobs import queue
from jobs.models import Job, Mail
from jobs.periodic import ask
from ledger import blobs, chain
from ledger.models import Alarm, ChainHead, Entry, SelfCheck
from ledger.notes import note_in
from ledger.operations import expected_triggers, restore_triggers
from ledger.selfcheck import SENTENCES
from parties import alarms, mailed_notes
from parties.checkpoints import EXTENDED, extends
from parties.reading import chain_of
from parties.tasks import SELF_CHECK
from tests.triggers import settle, without_triggers

BANNER = "Alarm: the self-check found what should never be."
INSIDERS = ("customer_lead", "supplier_lead")
OTHERS = ("customer_colleague", "supplier_deputy", "customer_observer", "auditor", "stranger")


def check() -> None:
    """As the worker does it."""
    queue.enqueue(SELF_CHECK)
    queue.drain()
    assert not Job.objects.filter(name=SELF_CHECK).exclude(state="done").exists()


def desk(sign_in, who) -> str:
    return sign_in(who).get(reverse("desk:home")).content.decode()


def listed(sign_in, who) -> str:
    answer = sign_in(who).get(reverse("parties:checks"))
    assert answer.status_code == 200
    return answer.content.decode()


def alter(chain: str, number: int = 2) -> None:
    with without_triggers():
        Entry.objects.filter(chain=chain, number=number).update(actor="P-NOBODY")


def drop_a_trigger() -> None:
    settle()
    drop = next(one for one in expected_triggers("default") if one.table == "ledger_entry")
    with connection.cursor() as cursor:
        cursor.execute(drop.drop[0])


def test_nothing_is_shown_where_nothing_was_found(world, sign_in):
    check()
    assert SelfCheck.objects.get().finished_at is not None
    for who in (*INSIDERS, *OTHERS):
        assert BANNER not in desk(sign_in, world.cast.people[who])
    assert "nothing found" in listed(sign_in, world.cast.customer_lead)
    assert not Mail.objects.filter(key__startswith="alarm:").exists()


def test_an_altered_entry_is_shown_to_the_leads_of_its_dossier(world, sign_in):
    alter(world.cast.agreement.chain)
    check()
    for who in INSIDERS:
        shown = desk(sign_in, world.cast.people[who])
        assert BANNER in shown and "Entry 2 was altered" in shown
        assert "The check changed nothing" in shown and reverse("parties:checks") in shown
    for who in (*OTHERS, "supplier_admin"):
        assert BANNER not in desk(sign_in, world.cast.people[who])
    assert "Entry 2 was altered" in listed(sign_in, world.cast.auditor), "readers may look it up"
    for who in ("stranger", "supplier_admin", "customer_observer"):
        shown = listed(sign_in, world.cast.people[who])
        assert "Entry 2" not in shown and world.cast.agreement.title not in shown


def test_a_fault_in_a_firms_register_is_told_to_that_firm_only(world, sign_in):
    register = world.cast.registers["supp"]
    digest = blobs.put(register.chain, b"a private file", "text/plain")
    blobs.path_of(register.chain, digest).unlink()
    check()
    for who in ("supplier_lead", "supplier_admin"):
        assert "A stored file that no entry names is missing" in desk(
            sign_in, world.cast.people[who]
        )
    for who in ("customer_lead", "auditor", "stranger"):
        shown = desk(sign_in, world.cast.people[who]) + listed(sign_in, world.cast.people[who])
        assert BANNER not in shown and "missing" not in shown and register.title not in shown


def test_a_file_is_named_by_its_entry_and_never_by_digest(world, sign_in):
    place = world.cast.agreement.chain
    named = next(one for one in Entry.objects.filter(chain=place) if one.blobs)
    blobs.path_of(place, named.blobs[0]).write_bytes(b"other")
    check()
    shown = listed(sign_in, world.cast.customer_lead)
    assert re.search(r"A file that entry \d+ names was altered", shown)
    assert named.blobs[0] not in shown


def test_a_fault_of_the_installation_is_told_in_general_words(world, sign_in):
    drop_a_trigger()
    check()
    try:
        for who in (*INSIDERS, "supplier_admin", "stranger"):
            shown = desk(sign_in, world.cast.people[who])
            assert BANNER in shown and "A guard of the database" in shown
            assert "ledger_entry" not in shown
            assert shown.count("A guard of the database") == 1
        for who in ("customer_observer", "auditor"):
            assert BANNER not in desk(sign_in, world.cast.people[who])
    finally:
        settle()
        restore_triggers("default")
    check()
    assert BANNER not in desk(sign_in, world.cast.customer_lead)
    assert "Alarms that ended" in listed(sign_in, world.cast.customer_lead)


def test_faults_that_read_alike_are_one_line_and_each_check_says_what_stood(world, sign_in):
    check()
    for trigger in [one for one in expected_triggers("default") if one.table == "ledger_blob"]:
        settle()
        with connection.cursor() as cursor:
            cursor.execute(trigger.drop[0])
    check()
    shown = listed(sign_in, world.cast.customer_lead)
    stood = Alarm.objects.filter(ended_at=None).count()
    assert stood > 1 and f"(× {stood})" in shown
    assert shown.count("nothing found") == 1 and f"{stood} alarms stood" in shown
    settle()
    restore_triggers("default")
    check()
    shown = listed(sign_in, world.cast.customer_lead)
    assert shown.count("nothing found") == 2 and f"{stood} alarms stood" in shown


def test_nobody_signed_in_is_told_nothing(world, client):
    drop_a_trigger()
    check()
    assert BANNER not in client.get(reverse("login")).content.decode()
    assert client.get(reverse("parties:checks")).status_code == 302


def test_leads_and_operator_are_mailed_once(world, settings):
    settings.OPERATOR_EMAIL = "operator@example.org"
    alter(world.cast.agreement.chain)
    check()
    mails = {one.to: one for one in Mail.objects.filter(key__startswith="alarm:")}
    assert set(mails) == {
        "customer_lead@example.org",
        "supplier_lead@example.org",
        "operator@example.org",
    }
    lead = mails["customer_lead@example.org"].body
    assert "Entry 2 was altered" in lead and world.cast.agreement.title in lead
    assert "compare the checkpoints" in lead and reverse("parties:checks") in lead
    words, _, note = lead.partition("Keep this mail.")
    assert world.cast.agreement.chain not in words and "as it stands now" in note
    compared = extends(world.cast.agreement, note_in(note))
    assert (compared.outcome, compared.head) == (EXTENDED, chain.head(world.cast.agreement.chain))
    given = Entry.objects.filter(kind="checkpoint.given", act__startswith="alarm-")
    assert {one.payload["by"] for one in given} == {"mail"} and given.count() == 2
    operator = mails["operator@example.org"].body
    assert f"chain {world.cast.agreement.chain}, entry 2: column actor differs" in operator
    check()
    check()
    assert Mail.objects.filter(key__startswith="alarm:").count() == 3
    alter(world.cast.registers["supp"].chain, number=1) if Entry.objects.filter(
        chain=world.cast.registers["supp"].chain
    ).exists() else drop_a_trigger()
    check()
    assert Mail.objects.filter(key__startswith="alarm:").count() > 3


@pytest.mark.parametrize("damage", ["cut", "head", "payload"])
def test_a_chain_too_damaged_for_a_checkpoint_is_told_of_all_the_same(world, monkeypatch, damage):
    faults = {
        "cut": chain.ChainError("no entry"),
        "head": KeyError("head"),
        "payload": ValueError("no JSON"),
    }

    def broken(_dossier):
        raise faults[damage]

    monkeypatch.setattr(mailed_notes, "current_note", broken)
    alter(world.cast.agreement.chain)
    check()
    mail = Mail.objects.get(to="customer_lead@example.org", key__startswith="alarm:")
    assert "Entry 2 was altered" in mail.body and "Keep this mail" not in mail.body


def test_a_reading_log_whose_head_was_put_back_silences_no_alarm(world):
    """The log of mailed checkpoints cannot be written then: the mail goes out all the same."""
    log = chain_of(world.cast.agreement)
    back = chain.entries(log).order_by("-number")[1]
    with without_triggers():
        ChainHead.objects.filter(chain=log).update(number=back.number, hash=back.hash)
    alter(world.cast.agreement.chain)
    check()
    mail = Mail.objects.get(
        to="customer_lead@example.org", key__startswith="alarm:", body__contains="Keep this mail"
    )
    assert "Entry 2 was altered" in mail.body


def test_every_lead_of_the_installation_is_mailed_of_its_faults(world):
    drop_a_trigger()
    check()
    told = {one.to for one in Mail.objects.filter(key__startswith="alarm:")}
    assert told == {f"{who}@example.org" for who in ("customer_lead", "supplier_lead", "stranger")}


def test_a_mail_is_in_its_readers_language(world):
    world.cast.customer_lead.language = "zh-hans"
    world.cast.customer_lead.save()
    alter(world.cast.agreement.chain)
    check()
    assert Mail.objects.filter(key__startswith="alarm:", to="customer_lead@example.org").exists()


def test_every_fault_has_words_for_readers():
    general = {"trigger-missing", "trigger-other", *alarms.GENERAL}
    assert set(SENTENCES) == set(alarms.WORDS) | general
    for words in (*alarms.WORDS.values(), *alarms.UNNAMED.values()):
        assert "{" not in str(words)
        assert set(re.findall(r"%\((\w+)\)", str(words))) <= {"entry"}


@pytest.mark.parametrize("fault", sorted(SENTENCES))
def test_words_name_no_column_table_digest_or_chain(db, fault):
    secret = {name: f"secret-{name}" for name in re.findall(r"{(\w+)}", SENTENCES[fault])}
    facts = secret | {"entry": 7}
    for place in ("0f8fad5b-d9cb-469f-a165-70867728950e", "", "elsewhere"):
        if place != "0f8fad5b-d9cb-469f-a165-70867728950e" or fault in alarms.WORDS:
            words = alarms.words_of(Alarm(fault=fault, chain=place, facts=facts))
            assert words and "secret" not in words and (not place or place not in words)


def test_a_fault_in_the_reading_log_says_so():
    name = "0f8fad5b-d9cb-469f-a165-70867728950e.reading"
    assert alarms.dossier_of(name) is not None
    words = alarms.words_of(Alarm(fault="hash", chain=name, facts={"entry": 4}))
    assert words.startswith("In the reading log: Entry 4")


def test_a_check_is_asked_for_once_a_day_and_after_a_start(db):
    ask()
    ask()
    assert Job.objects.filter(name=SELF_CHECK).count() == 1
    ask(started=True)
    assert Job.objects.filter(name=SELF_CHECK).count() == 1, "one was asked for just now"
    Job.objects.update(created_at=dt.datetime(2026, 1, 1, tzinfo=dt.UTC))
    ask(started=True)
    ask(started=True)
    assert Job.objects.filter(name=SELF_CHECK).count() == 2


def test_a_check_that_takes_long_goes_on_in_further_jobs(world, settings, monkeypatch):
    settings.JOBS_TIME_LIMIT = -1
    alter(world.cast.agreement.chain)
    check()
    assert Job.objects.filter(name=SELF_CHECK).count() > 3
    assert SelfCheck.objects.count() == 1
    assert Alarm.objects.get().fault == "column"


def test_the_page_says_that_no_check_was_made_for_long(cast, sign_in):
    assert "No self-check has ended within the last two days" in listed(sign_in, cast.customer_lead)
