"""The self-check that runs by itself: whole or from where it was, in parts, raising and ending."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.db import connection

from ledger import blobs, chain, clock, selfcheck, watching
from ledger.kinds import Kind
from ledger.models import Alarm, Blob, ChainHead, Entry, Finding, SeenHead, SelfCheck
from ledger.operations import expected_triggers, restore_triggers
from ledger.watching import Cursor, begin, finish, part
from tests.ledger import small as make
from tests.ledger.small import CHAIN, CUSTOMER, START
from tests.triggers import settle, without_triggers


def look(*, days: int = 10, seconds: float = 60) -> tuple[SelfCheck, list[Alarm]]:
    """A check on a day after the small chain was made, going on until it is through."""
    with clock.fixed(START + timedelta(days=days)):
        check, cursor, parts = begin(), Cursor(), 0
        while cursor is not None:
            cursor = part(check, cursor, seconds, lambda: None)
            if cursor is not None:  # as a job carries it
                cursor = Cursor(**json.loads(json.dumps(cursor.as_json())))
            parts += 1
            assert parts < 500
        return check, finish(check)


def faults(alarms: list[Alarm]) -> list[tuple[str, str]]:
    return [(alarm.fault, alarm.chain) for alarm in alarms]


def more(text: str = "One more remark.", times: int = 1) -> None:
    for number in range(times):
        remark = {"revision": 1, "clause": "viewing", "text": text}
        make.add(CHAIN, CUSTOMER, Kind.REMARK_MADE, f"remark:more-{number}", remark)


def test_all_is_well(small):
    check, alarms = look()
    assert check.whole and alarms == [] and not Finding.objects.exists()
    assert SelfCheck.objects.get().finished_at is not None
    seen = SeenHead.objects.get()
    assert (seen.chain, seen.number, seen.hash) == (CHAIN, *vars(chain.head(CHAIN)).values())


def test_after_a_whole_check_only_what_came_since_is_read(small, monkeypatch):
    look()
    before = chain.head(CHAIN).number
    more(times=3)
    read, page = [], selfcheck.page

    def watched(chain_name, after, until, *rest):
        read.append((after.number, until))
        return page(chain_name, after, until, *rest)

    monkeypatch.setattr(watching, "page", watched)
    looked = []
    monkeypatch.setattr(watching, "blob_fault", lambda blob: looked.append(blob.digest))
    blobs.put(CHAIN, b"new", "text/plain")
    check, alarms = look(days=11)
    assert not check.whole and alarms == []
    assert read == [(before, before + 3)]
    assert looked == [blobs.digest_of(b"new")]
    check, _ = look(days=18)
    assert check.whole, "a week after the last whole check"
    assert read[1:] == [(0, before + 3)]
    assert len(looked) == 1 + Blob.objects.count()


def test_a_check_in_many_parts_finds_what_one_in_one_part_finds(small, monkeypatch):
    monkeypatch.setattr(selfcheck, "PAGE", 2)
    monkeypatch.setattr(watching, "BLOBS", 1)
    make.signed("another-chain")
    with without_triggers():
        Entry.objects.filter(chain=CHAIN, number__in=(2, 5)).update(actor="S-9")
    blobs.path_of(CHAIN, small.digest).unlink()
    check, alarms = look(seconds=-1)
    assert sorted(faults(alarms)) == [
        ("blob-missing", CHAIN),
        ("column", CHAIN),
        ("column", CHAIN),
    ]
    assert [str(one) for one in selfcheck.faults()] == [
        selfcheck.SENTENCES[one.fault].format(chain=one.chain, **one.facts)
        for one in sorted(check.findings.all(), key=lambda one: one.fault, reverse=True)
    ]
    assert list(SeenHead.objects.values_list("chain", flat=True)) == ["another-chain"]


def test_a_part_that_is_run_again_writes_nothing_twice(small):
    with without_triggers():
        Entry.objects.filter(chain=CHAIN, number=2).update(actor="S-9")
    check = begin()
    for _ in range(2):
        assert part(check, Cursor(), 60, lambda: None) is None
    assert check.findings.count() == 1
    assert len(finish(check)) == 1
    assert finish(check) == []
    assert Alarm.objects.count() == 1


ATTACKS = {
    "column": lambda: Entry.objects.filter(number=3).update(actor="S-1"),
    "hash": lambda: Entry.objects.filter(number=3).update(hash="0" * 64),
    "previous": lambda: Entry.objects.filter(number=3).update(previous="f" * 64),
    "payload": lambda: Entry.objects.filter(number=3).update(payload_bytes=b"{}"),
    "header": lambda: Entry.objects.filter(number=3).update(header_bytes=b"{"),
    "number": lambda: Entry.objects.filter(number=3).delete(),
    "taken-away": lambda: Entry.objects.filter(number=8).delete(),
    "head": lambda: ChainHead.objects.filter(chain=CHAIN).update(number=9),
    "head-lost": lambda: ChainHead.objects.all().delete(),
}


@pytest.mark.parametrize("fault", ATTACKS)
def test_what_was_altered_after_a_check_is_found_by_the_next_whole_one(small, fault):
    look()
    with without_triggers():
        ATTACKS[fault]()
    _, alarms = look(days=18)
    assert fault in {alarm.fault for alarm in alarms}
    assert {alarm.chain for alarm in alarms} == {CHAIN}


@pytest.mark.parametrize("fault", ["taken-away", "head", "head-lost"])
def test_a_lost_or_moved_head_is_found_by_any_check(small, fault):
    look()
    with without_triggers():
        ATTACKS[fault]()
    check, alarms = look(days=11)
    assert not check.whole
    assert fault in {alarm.fault for alarm in alarms}


def test_a_chain_that_is_gone_with_its_head_is_found(small):
    look()
    with without_triggers():
        Entry.objects.all().delete()
        ChainHead.objects.all().delete()
    _, alarms = look(days=11)
    assert ("taken-away", CHAIN) in faults(alarms)


def test_a_dropped_trigger_is_an_alarm_until_it_stands_again(small):
    look()
    settle()
    drop = next(one for one in expected_triggers("default") if one.table == "ledger_entry")
    with connection.cursor() as cursor:
        cursor.execute(drop.drop[0])
    check, alarms = look(days=11)
    assert not check.whole
    assert faults(alarms) == [("trigger-missing", "")]
    check, alarms = look(days=12)
    assert check.whole, "as long as an alarm stands everything is read"
    assert alarms == [] and Alarm.objects.get().ended_at is None
    settle()
    restore_triggers("default")
    check, alarms = look(days=13)
    ended = Alarm.objects.get()
    assert alarms == [] and ended.ended_by == check and ended.ended_at is not None
    assert Finding.objects.count() == 2, "what was found stays"
    check, _ = look(days=14)
    assert not check.whole


def test_an_alarm_comes_again_when_its_cause_does(small):
    path = blobs.path_of(CHAIN, small.digest)
    kept = path.read_bytes()
    for days in (10, 20):
        path.write_bytes(b"other")
        _, alarms = look(days=days)
        assert faults(alarms) == [("blob-altered", CHAIN)]
        assert alarms[0].facts["entry"] == 2, "the entry that names the file"
        path.write_bytes(kept)
        assert look(days=days + 1)[1] == []
    assert Alarm.objects.exclude(ended_at=None).count() == 2


def test_files_that_cannot_be_read_are_one_alarm_and_end_none(small, monkeypatch):
    blobs.path_of(CHAIN, small.digest).unlink()
    look()

    def down(*_):
        raise blobs.StorageDown("blob x: the storage does not answer")

    monkeypatch.setattr(selfcheck, "get", down)
    _, alarms = look(days=11)
    assert faults(alarms) == [("storage", "")]
    assert {one.fault for one in Alarm.objects.filter(ended_at=None)} == {"storage", "blob-missing"}
    monkeypatch.undo()
    look(days=12)
    assert {one.fault for one in Alarm.objects.filter(ended_at=None)} == {"blob-missing"}


def test_no_more_faults_of_a_chain_are_kept_than_can_be_read(small, monkeypatch):
    monkeypatch.setattr(watching, "LISTED", 3)
    with without_triggers():
        Entry.objects.all().update(actor="S-9")
    check, _ = look()
    assert [one.fault for one in check.findings.order_by("pk")] == ["column"] * 3 + ["more"]
    with without_triggers():
        for row in Entry.objects.filter(number__lte=2):
            Entry.objects.filter(pk=row.pk).update(actor=row.header["actor"])
    look(days=11)
    assert Alarm.objects.filter(ended_at=None).count() >= 4, "a cut list proves nothing to be gone"


def test_an_append_between_two_pages_is_no_fault(small, monkeypatch):
    monkeypatch.setattr(selfcheck, "PAGE", 2)
    pages, page = [], selfcheck.page

    def appending(*given):
        more(f"Said while the check ran, {len(pages)}.")
        pages.append(given)
        return page(*given)

    monkeypatch.setattr(watching, "page", lambda *a: appending(*a))
    monkeypatch.setattr(
        "tests.ledger.small.chain.new_act", lambda: f"act-{len(pages)}", raising=False
    )
    _, alarms = look()
    assert len(pages) > 2 and alarms == []
    assert SeenHead.objects.get().number < chain.head(CHAIN).number
    assert look(days=11)[1] == []


def test_the_tables_of_the_check_are_guarded(small):
    names = {trigger.table for trigger in expected_triggers("default")}
    assert {"ledger_selfcheck", "ledger_finding", "ledger_seen_head", "ledger_alarm"} <= names
