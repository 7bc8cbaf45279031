"""The application's role on PostgreSQL: it can do its work, and cannot change history.

What refuses is told by its SQLSTATE (PostgreSQL's documentation, appendix A): 42501
insufficient_privilege comes from the role alone, 23000 integrity_constraint_violation from our
triggers, so neither passes for the other.
"""

from __future__ import annotations

import io
import re
import uuid
from contextlib import contextmanager

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, models, transaction

from ledger import roles
from ledger.operations import expected_triggers
from ledger.selfcheck import findings
from tests.ledger.attacks import quoted, raw
from tests.ledger.rows import guarded, make_row, value_for
from tests.triggers import settle

on_postgresql = pytest.mark.only_on("postgresql", "SQLite has no roles")
BY_ROLE, BY_TRIGGER = "42501", "23000"


@pytest.fixture
def role(db) -> str:
    """A fresh role with what `manage.py database_role` prints, and nothing else."""
    name = f"countershade_test_{uuid.uuid4().hex[:12]}"
    raw(f"CREATE ROLE {name} NOSUPERUSER NOCREATEDB NOCREATEROLE NOINHERIT")
    raw(f"GRANT {name} TO CURRENT_USER")
    out = io.StringIO()
    call_command("database_role", name, stdout=out)
    for statement in out.getvalue().splitlines():
        raw(statement)
    return name


@contextmanager
def acting_as(name: str):
    """Within the block, and a transaction that is undone, the session has the role's rights."""
    settle()
    with transaction.atomic():
        raw(f"SET LOCAL ROLE {name}")
        yield
        transaction.set_rollback(True)


def state_of(sql: str, *parameters: object) -> str:
    """The SQLSTATE with which a statement is refused; empty where it is let through."""
    try:
        with transaction.atomic():
            raw(sql, *parameters)
            transaction.set_rollback(True)
    except DatabaseError as error:
        return str(error.__cause__.sqlstate)
    return ""


def frozen_columns(model: type[models.Model], guard) -> list[str]:
    rule = guard.rule(model)
    return [name for name in rule.columns if rule.unless is None]


def drop_triggers(table: str) -> None:
    settle()
    for trigger in expected_triggers("default"):
        if trigger.table == table:
            for statement in trigger.drop:
                raw(statement)


CASES = sorted(name for name, (_, guard) in guarded().items() if not getattr(guard, "unless", None))


@on_postgresql
@pytest.mark.parametrize("triggers", ["standing", "gone"])
@pytest.mark.parametrize("table", CASES)
def test_the_role_cannot_change_what_is_frozen(role, table, triggers):
    model, guard = guarded()[table]
    columns = frozen_columns(model, guard)
    assert columns
    row = make_row(model, full=frozenset(guard.columns(model)))
    values = {}
    for field in model._meta.local_concrete_fields:
        if field.column in columns:
            new = value_for(field, getattr(row, field.attname))
            new = new.pk if isinstance(new, models.Model) else new
            values[field.column] = field.get_db_prep_save(new, connection)
    if triggers == "gone":  # whatever refuses now is the role's lack of rights
        drop_triggers(table)
    name = quoted(table)
    with acting_as(role):
        for column, value in values.items():
            assert state_of(f"UPDATE {name} SET {quoted(column)} = %s", value) == BY_ROLE, column
        assert state_of(f"DELETE FROM {name}") == BY_ROLE
        assert state_of(f"TRUNCATE {name} CASCADE") == BY_ROLE


@on_postgresql
@pytest.mark.parametrize("table", CASES)
def test_the_role_cannot_touch_the_guards(role, table):
    name = quoted(table)
    trigger = next(one for one in expected_triggers("default") if one.table == table).name
    with acting_as(role):
        for attack in (
            f"ALTER TABLE {name} DISABLE TRIGGER ALL",
            f"ALTER TABLE {name} DISABLE TRIGGER {quoted(trigger)}",
            f"DROP TRIGGER {quoted(trigger)} ON {name}",
            f"DROP FUNCTION {quoted(trigger)}() CASCADE",
            f"CREATE OR REPLACE FUNCTION {quoted(trigger)}() RETURNS trigger LANGUAGE plpgsql "
            "AS $$ BEGIN RETURN NEW; END $$",
            f"ALTER TABLE {name} RENAME TO elsewhere",
            f"ALTER TABLE {name} ADD COLUMN more text",
            f"ALTER TABLE {name} OWNER TO {role}",
            f"CREATE RULE elsewhere AS ON INSERT TO {name} DO INSTEAD NOTHING",
            f"DROP TABLE {name} CASCADE",
        ):
            assert state_of(attack) == BY_ROLE, attack


@on_postgresql
def test_the_role_cannot_play_replica_nor_become_somebody_else(role):
    with acting_as(role):
        assert state_of("SET session_replication_role = replica") == BY_ROLE
        assert state_of("SET LOCAL session_replication_role = replica") == BY_ROLE
        assert state_of(f"ALTER ROLE {role} SUPERUSER") == BY_ROLE
        assert state_of("CREATE ROLE another SUPERUSER") == BY_ROLE
        assert state_of("CREATE TABLE another (one int)") == BY_ROLE
        assert state_of("CREATE SCHEMA another") == BY_ROLE
        assert state_of("DELETE FROM django_migrations") == BY_ROLE


@on_postgresql
def test_what_the_role_may_write_the_triggers_still_watch(role):
    """A head may be moved by one at a time: the role has the right, the trigger refuses."""
    model, _ = guarded()["ledger_head"]
    make_row(model)
    with acting_as(role):
        assert state_of("UPDATE ledger_head SET number = number + 1") == ""
        assert state_of("UPDATE ledger_head SET number = number + 2") == BY_TRIGGER
        assert state_of("UPDATE ledger_head SET chain = 'other'") == BY_ROLE
    drop_triggers("ledger_head")
    with acting_as(role):
        assert state_of("UPDATE ledger_head SET number = number + 2") == "", "so it was the trigger"


@on_postgresql
def test_the_attacks_are_real_ones(role):
    """The owner, with the triggers gone, is refused none of them."""
    model, _ = guarded()["ledger_entry"]
    make_row(model)
    assert state_of("UPDATE ledger_entry SET actor = 'other'") == BY_TRIGGER
    assert state_of("TRUNCATE ledger_entry") == BY_TRIGGER
    drop_triggers("ledger_entry")
    for attack in (
        "UPDATE ledger_entry SET actor = 'other'",
        "DELETE FROM ledger_entry",
        "TRUNCATE ledger_entry",
        "ALTER TABLE ledger_entry DISABLE TRIGGER ALL",
    ):
        assert state_of(attack) == "", attack


@on_postgresql
def test_the_small_world_is_played_with_no_more_rights(role, world):
    settle()
    with transaction.atomic():
        raw(f"SET LOCAL ROLE {role}")
        dispute = world.settled()
        assert dispute.status == "settled"
        assert findings() == []


@on_postgresql
def test_the_command_names_every_table_once(db):
    out = io.StringIO()
    call_command("database_role", "serving", stdout=out)
    printed = out.getvalue()
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor))
    named = re.findall(r'^GRANT .* ON "([a-z_0-9]+)" TO "serving";$', printed, re.M)
    assert sorted(named) == sorted(tables)
    assert printed.startswith("-- First, once: CREATE ROLE serving LOGIN")


@on_postgresql
@pytest.mark.parametrize("name", ["", "Robert'); DROP", "a-b", "x" * 64])
def test_a_name_that_is_none_is_refused(db, name):
    with pytest.raises(CommandError, match="is expected"):
        call_command("database_role", name)


@pytest.mark.only_on("sqlite", "the command has nothing to say on SQLite")
def test_without_postgresql_there_are_no_roles(db):
    with pytest.raises(CommandError, match="DATABASE_URL"):
        call_command("database_role", "serving")


def test_nothing_frozen_may_be_written_by_the_role():
    """Also where no database can be asked: no right names a frozen column or a whole row."""
    rights = roles.rights_by_table()
    for table in CASES:
        model, guard = guarded()[table]
        assert set(rights[table][:2]) == {"SELECT", "INSERT"}
        said = " ".join(rights[table][2:])
        assert "DELETE" not in said and said != "UPDATE"
        assert not [one for one in frozen_columns(model, guard) if f'"{one}"' in said]
    assert rights["ledger_entry"] == rights["ledger_blob"] == ("SELECT", "INSERT")
