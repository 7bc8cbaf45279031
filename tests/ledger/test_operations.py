"""The guards on a table made for the test: free states, values set once, rebuilt tables."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, connection, models, transaction
from django.db.migrations.state import ModelState, ProjectState

from ledger.models import ChainHead
from ledger.operations import AppendOnly, ForwardOnly, Freeze, expected_triggers, restore_triggers
from tests.triggers import without_triggers

FIELDS = [
    ("id", models.BigAutoField(primary_key=True)),
    ("state", models.CharField(max_length=20)),
    ("text", models.CharField(max_length=20)),
    ("ended_on", models.CharField(max_length=20, null=True)),
    ("seat", models.CharField(max_length=20, unique=True, null=True)),
]


@pytest.fixture
def guarded(transactional_db):
    """Make a table under a guard, and take both away afterwards."""
    made = []

    def build(operation):
        state = ProjectState()
        state.add_model(ModelState("ledger", "Sheet", FIELDS, {"db_table": "ledger_sheet"}))
        model = state.apps.get_model("ledger", "Sheet")
        with connection.schema_editor() as editor:
            editor.create_model(model)
            operation.database_forwards("ledger", editor, state, state)
        made.append((operation, state, model))
        return model

    yield build
    for operation, state, model in made:
        with connection.schema_editor() as editor:
            operation.database_backwards("ledger", editor, state, state)
            assert not model.objects.exists() or model.objects.all().delete()
            editor.delete_model(model)


def refused(act) -> None:
    with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
        act()


def test_other_columns_stay_free(guarded):
    rows = guarded(Freeze("Sheet", columns=["text"])).objects
    rows.create(state="open", text="a")
    assert rows.update(state="closed", text="a") == 1
    refused(lambda: rows.update(text="b"))
    refused(rows.all().delete)


def test_a_row_is_free_as_long_as_its_old_state_says(guarded):
    rows = guarded(Freeze("Sheet", columns=["text"], unless=("state", ["drafting"]))).objects
    rows.create(state="drafting", text="a")
    rows.create(state="drafting", text="other")
    assert rows.filter(text="a").update(text="b") == 1
    assert rows.filter(text="other").delete()[0] == 1
    assert rows.update(text="c", state="proposed") == 1
    refused(lambda: rows.update(text="d"))
    refused(lambda: rows.update(text="d", state="drafting"))
    refused(rows.all().delete)


def test_a_value_is_set_once(guarded):
    rows = guarded(Freeze("Sheet", columns=["text"], once=["ended_on"])).objects
    rows.create(state="open", text="a")
    assert rows.update(ended_on="2026-03-03") == 1
    assert rows.update(ended_on="2026-03-03", state="closed") == 1
    refused(lambda: rows.update(ended_on="2026-03-04"))
    refused(lambda: rows.update(ended_on=None))


def test_a_value_is_emptied_once_and_for_good(guarded):
    rows = guarded(Freeze("Sheet", columns=["text"], emptied=["ended_on"])).objects
    rows.create(state="open", text="a", ended_on="2026-03-03")
    refused(lambda: rows.update(ended_on="2026-03-04"))
    refused(lambda: rows.update(ended_on=""))
    assert rows.update(ended_on="2026-03-03", state="closed") == 1
    assert rows.update(ended_on=None) == 1
    assert rows.update(ended_on=None, state="open") == 1
    refused(lambda: rows.update(ended_on="2026-03-03"))


@pytest.mark.only_on("sqlite", "UPDATE OR REPLACE is SQLite's own")
def test_a_row_cannot_be_ousted_by_another_that_takes_its_seat(guarded):
    rows = guarded(Freeze("Sheet", columns=["text"])).objects
    rows.create(state="open", text="a", seat="1")
    rows.create(state="open", text="b", seat="2")

    def oust():
        with connection.cursor() as cursor:
            cursor.execute("UPDATE OR REPLACE ledger_sheet SET seat = '1' WHERE text = 'b'")

    refused(oust)
    assert rows.count() == 2


def test_rows_of_an_append_only_table_can_only_be_added(guarded):
    rows = guarded(AppendOnly("Sheet")).objects
    rows.create(state="open", text="a")
    rows.create(state="open", text="b")
    refused(lambda: rows.update(state="closed"))
    refused(rows.all().delete)


def test_a_head_moves_forward_by_one_or_not_at_all(db):
    ForwardOnly("ChainHead", counter="number", columns=["chain"])  # as in the first migration
    rows = ChainHead.objects.filter(chain="chain-1")
    ChainHead.objects.create(chain="chain-1", number=4, hash="4" * 64)
    assert rows.update(number=5, hash="5" * 64) == 1
    refused(lambda: rows.update(number=7, hash="7" * 64))
    refused(lambda: rows.update(number=4, hash="4" * 64))
    refused(lambda: rows.update(hash="6" * 64))
    refused(lambda: rows.update(number=6, chain="chain-2"))
    refused(rows.all().delete)


def standing() -> set[str]:
    sql = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return {name for (name,) in cursor.fetchall()}


def test_restoring_brings_back_what_was_dropped(db):
    expected = {trigger.name for trigger in expected_triggers("default")}
    assert expected and expected <= standing()
    with without_triggers():
        assert not expected & standing()
    assert expected <= standing()
    restore_triggers("default")  # harmless when they stand


@pytest.mark.only_on("sqlite", "only SQLite rebuilds a table to alter a column")
def test_a_table_that_was_rebuilt_is_guarded_again_after_migrating(transactional_db):
    from django.apps import apps
    from django.core.management import call_command

    model = apps.get_model("ledger", "Blob")
    old = model._meta.get_field("media_type")
    new = models.CharField(max_length=121)
    new.set_attributes_from_name("media_type")
    new.model = model
    ours = {trigger.name for trigger in expected_triggers("default", "ledger")}
    with connection.schema_editor() as editor:
        editor.alter_field(model, old, new)
    assert not {name for name in ours if name.startswith("ledger_blob")} & standing()
    with connection.schema_editor() as editor:
        editor.alter_field(model, new, old)
    call_command("migrate", verbosity=0)
    assert ours <= standing()
