"""The self-check finds what triggers cannot prevent: dropped triggers and changes behind them."""

from __future__ import annotations

import io

import pytest
from django.core.management import call_command
from django.db import connection

from ledger import blobs
from ledger.models import ChainHead, Entry
from ledger.operations import expected_triggers
from ledger.selfcheck import findings
from tests.ledger.small import CHAIN
from tests.triggers import without_triggers


def run() -> tuple[int, str]:
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command("selfcheck", stdout=out, stderr=err)
    except SystemExit as leaving:
        return int(leaving.code or 0), out.getvalue()
    return 0, out.getvalue()


def test_all_is_well(small):
    assert findings() == []
    assert run() == (0, "no findings\n")


# The third way to lose a row is each database's own.
THIRD = {"sqlite": "replace", "postgresql": "truncate"}


@pytest.mark.parametrize("what", ["update", "delete", "third way"])
@pytest.mark.parametrize("table", ["ledger_entry", "ledger_blob", "ledger_head"])
def test_a_dropped_trigger_is_found(small, table, what):
    name = f"{table}_frozen_{THIRD[connection.vendor] if what == 'third way' else what}"
    drop = next(one.drop for one in expected_triggers("default") if one.name == name)
    with connection.cursor() as cursor:
        cursor.execute(drop[0])
    status, shown = run()
    assert status == 1
    assert f"table {table}: trigger {name} is missing or switched off" in shown
    assert len(findings()) == 1


@pytest.mark.only_on("sqlite", "PostgreSQL keeps the text of a trigger in its own words")
def test_a_trigger_that_lets_through_is_found(small):
    with connection.cursor() as cursor:
        cursor.execute("DROP TRIGGER ledger_entry_frozen_update")
        cursor.execute(
            "CREATE TRIGGER ledger_entry_frozen_update BEFORE UPDATE ON ledger_entry "
            "WHEN 0 BEGIN SELECT RAISE(ABORT, 'never'); END"
        )
    assert findings() == [
        "table ledger_entry: trigger ledger_entry_frozen_update is not the one made by migrations"
    ]


@pytest.mark.only_on("postgresql", "only PostgreSQL can switch a trigger off")
def test_a_trigger_that_was_switched_off_is_found(small):
    with connection.cursor() as cursor:
        cursor.execute("ALTER TABLE ledger_entry DISABLE TRIGGER ledger_entry_frozen_update")
    assert any("ledger_entry_frozen_update is missing or switched off" in one for one in findings())


@pytest.mark.only_on("postgresql", "only PostgreSQL keeps a trigger's body apart")
def test_a_trigger_function_that_was_emptied_is_found(small):
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE OR REPLACE FUNCTION ledger_entry_frozen_update() RETURNS trigger "
            "LANGUAGE plpgsql AS $$ BEGIN RETURN NEW; END $$"
        )
    assert any("ledger_entry_frozen_update" in one for one in findings())


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"actor": "S-1"}, "entry 3: column actor differs from the header"),
        ({"hash": "0" * 64}, "entry 3: the hash is not that of the header"),
        ({"previous": "f" * 64}, "entry 3: does not name the hash of the entry before"),
        ({"payload_bytes": b"{}"}, "entry 3: the payload is not the one that was committed to"),
        ({"salt": b"short"}, "entry 3: the payload is not the one that was committed to"),
        ({"header_bytes": b"{"}, "entry 3: the header cannot be read"),
        ({"number": 30}, "entry 4: number 3 should stand here"),
    ],
)
def test_an_altered_entry_is_found(small, change, sentence):
    with without_triggers():
        Entry.objects.filter(chain=CHAIN, number=3).update(**change)
    found = findings()
    assert any(sentence in one for one in found), found


def test_a_removed_entry_a_wrong_head_and_a_lost_head_are_found(small):
    with without_triggers():
        Entry.objects.filter(chain=CHAIN, number=8).delete()
    assert any("head says 8, the last entry is 7" in one for one in findings())
    with without_triggers():
        ChainHead.objects.all().delete()
    assert findings() == [f"chain {CHAIN}: has entries and no head"]


def test_missing_and_altered_blobs_are_found(small):
    path = blobs.path_of(CHAIN, small.digest)
    path.write_bytes(b"other")
    assert findings() == [f"chain {CHAIN}: the file of blob {small.digest} was altered"]
    path.unlink()
    assert findings() == [f"chain {CHAIN}: the file of blob {small.digest} is missing"]
