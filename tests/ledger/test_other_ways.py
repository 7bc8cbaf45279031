"""Other ways by raw SQL to change or remove frozen rows: MERGE, joins, parents, replica mode."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, ProgrammingError, connection, models, transaction

from ledger.operations import frozen
from ledger.selfcheck import trigger_faults
from tests import needs
from tests.ledger.attacks import is_there, quoted, raw, refused, stored, undone, unguard
from tests.ledger.rows import guarded, is_append_only, make_row, value_for


def named(row: models.Model) -> tuple[str, str, object]:
    """Table, key column (both quoted) and the key as the database holds it."""
    meta = row._meta
    pk = meta.pk.get_db_prep_value(row.pk, connection)
    return quoted(meta.db_table), quoted(meta.pk.column), pk


def change_of(row: models.Model, fields: list[models.Field]) -> tuple[str, object]:
    """A frozen column that is not the key, quoted, and another value for it."""
    field = next((one for one in fields if not one.primary_key), fields[0])
    new = value_for(field, getattr(row, field.attname))
    new = new.pk if isinstance(new, models.Model) else new
    return quoted(field.column), field.get_db_prep_save(new, connection)


def parents(row: models.Model) -> list[type[models.Model]]:
    """Tables that a row points to."""
    fields = [field for field in row._meta.local_concrete_fields if field.is_relation]
    found = {field.related_model for field in fields if getattr(row, field.attname) is not None}
    return sorted(found - {type(row)}, key=lambda one: one._meta.db_table)


def test_updates_that_join_or_stand_in_a_query_are_refused(case):
    row, _, fields = case
    table, key, pk = named(row)
    column, value = change_of(row, fields)
    before = stored(row)
    joined = f"UPDATE {table} SET {column} = %s FROM (SELECT 1 AS one) AS x WHERE {key} = %s"
    refused(lambda: raw(joined, value, pk))
    returning = f"DELETE FROM {table} WHERE {key} = %s RETURNING {key}"
    refused(lambda: raw(returning, pk))
    assert stored(row) == before


def test_rows_that_frozen_rows_point_to_cannot_be_taken_away(case):
    row, _, _ = case
    table = row._meta.db_table
    before = stored(row)
    for parent in parents(row):
        with pytest.raises(IntegrityError), transaction.atomic():
            raw(f"DELETE FROM {quoted(parent._meta.db_table)}")
            connection.check_constraints()
        assert stored(row) == before, f"{table} changed when {parent._meta.db_table} was emptied"


@pytest.mark.only_on("sqlite", "conflict clauses of UPDATE and INSERT OR … are SQLite's own")
def test_no_conflict_clause_lets_a_change_through(case):
    row, _, fields = case
    table, key, pk = named(row)
    column, value = change_of(row, fields)
    before = stored(row)
    for way in ("ABORT", "FAIL", "IGNORE", "REPLACE"):
        sql = f"UPDATE OR {way} {table} SET {column} = %s WHERE {key} = %s"
        refused(lambda sql=sql: raw(sql, value, pk))
        refused(lambda way=way: raw(f"INSERT OR {way} INTO {table} SELECT * FROM {table}"))
    sql = (
        f"INSERT INTO {table} SELECT * FROM {table} WHERE 1 ON CONFLICT DO UPDATE SET {column} = %s"
    )
    refused(lambda: raw(sql, value))
    assert stored(row) == before


@pytest.mark.only_on("postgresql", "MERGE is no statement of SQLite")
def test_merging_is_refused(case):
    row, _, fields = case
    table, key, pk = named(row)
    column, value = change_of(row, fields)
    before = stored(row)
    merge = f"MERGE INTO {table} AS t USING {table} AS s ON t.{key} = s.{key} AND s.{key} = %s "
    refused(lambda: raw(f"{merge} WHEN MATCHED THEN UPDATE SET {column} = %s", pk, value))
    refused(lambda: raw(f"{merge} WHEN MATCHED THEN DELETE", pk))
    assert stored(row) == before


@pytest.mark.only_on("postgresql", "queries that write inside are PostgreSQL's own")
def test_writing_inside_a_query_is_refused(case):
    row, _, fields = case
    table, key, pk = named(row)
    column, value = change_of(row, fields)
    inner = f"WITH gone AS (DELETE FROM {table} WHERE {key} = %s RETURNING *) SELECT * FROM gone"
    refused(lambda: raw(inner, pk))
    inner = f"WITH new AS (UPDATE {table} SET {column} = %s RETURNING 1) SELECT * FROM new"
    refused(lambda: raw(inner, value))
    refused(lambda: raw(f"DELETE FROM {table} USING (SELECT 1) AS x WHERE {key} = %s", pk))
    refused(lambda: raw(f"SELECT 1; DELETE FROM {table}"))


@pytest.mark.only_on("postgresql", "TRUNCATE is no statement of SQLite")
def test_emptying_a_parent_with_all_that_hangs_on_it_is_refused(case):
    row, _, _ = case
    raw("SET CONSTRAINTS ALL IMMEDIATE")
    before = stored(row)
    for parent in parents(row):
        name = quoted(parent._meta.db_table)
        refused(lambda name=name: raw(f"TRUNCATE {name} CASCADE"))
        refused(lambda name=name: raw(f"TRUNCATE {name} RESTART IDENTITY CASCADE"))
    assert stored(row) == before


def may_play_replica() -> bool:
    """Whether this role may switch to the replica role; undone at once."""
    try:
        with transaction.atomic():
            raw("SET LOCAL session_replication_role = replica")
            raw("SET LOCAL session_replication_role = origin")
    except ProgrammingError as problem:
        assert "permission denied" in str(problem)
        return False
    return True


@pytest.mark.only_on("postgresql", "only PostgreSQL has sessions in which triggers rest")
def test_a_session_that_plays_replica_is_refused(case):
    row, _, fields = case
    table, key, pk = named(row)
    column, value = change_of(row, fields)
    raw("SET CONSTRAINTS ALL IMMEDIATE")
    before = stored(row)
    if not may_play_replica():
        # The role's refusal alone would show nothing of the triggers: see also test_role.
        needs.missing("no right to SET session_replication_role, which the attack begins with")
    raw("SET LOCAL session_replication_role = replica")
    refused(lambda: raw(f"UPDATE {table} SET {column} = %s WHERE {key} = %s", value, pk))
    refused(lambda: raw(f"DELETE FROM {table}"))
    refused(lambda: raw(f"TRUNCATE {table} CASCADE"))
    raw("SET LOCAL session_replication_role = origin")
    assert stored(row) == before


JSON = sorted(
    (table, column)
    for table, column in frozen()
    if isinstance(
        next(f for f in guarded()[table][0]._meta.local_fields if f.column == column),
        models.JSONField,
    )
    and not is_append_only(guarded()[table][1])
)


# Which row has its JSON filled, where a constraint lets only some have it.
FULL = {"parties_key": {"assurance": "browser-held", "wrapped": {"number": 1}}}


@pytest.mark.only_on("postgresql", "SQLite keeps JSON as text and compares it as such")
@pytest.mark.parametrize(("table", "column"), JSON)
def test_a_number_written_otherwise_is_a_change(db, table, column):
    row = make_row(guarded()[table][0], full=frozenset({column}), **FULL.get(table, {}))
    number = getattr(row, column)["number"]
    _, key, pk = named(row)
    sql = f"UPDATE {quoted(table)} SET {quoted(column)} = %s::jsonb WHERE {key} = %s"
    refused(lambda: raw(sql, f'{{"number": {number}.0}}', pk))
    raw(sql, f'{{"number": {number}}}', pk)  # the same, word by word: no change


@pytest.mark.only_on("postgresql", "a trigger of PostgreSQL can be told when to fire")
@pytest.mark.parametrize(
    "again",
    [
        "CREATE TRIGGER {name} BEFORE UPDATE ON {table} FOR EACH ROW WHEN (FALSE) "
        "EXECUTE FUNCTION {name}()",
        "CREATE TRIGGER {name} BEFORE UPDATE OF number ON {table} FOR EACH ROW "
        "EXECUTE FUNCTION {name}()",
        "CREATE TRIGGER {name} AFTER INSERT ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()",
        "CREATE TRIGGER {name} BEFORE UPDATE ON {table} FOR EACH STATEMENT "
        "EXECUTE FUNCTION {name}()",
    ],
)
def test_a_trigger_made_again_to_let_things_through_is_found(db, again):
    name, table = "ledger_entry_frozen_update", "ledger_entry"
    assert not [str(one) for one in trigger_faults()]
    raw(f"DROP TRIGGER {name} ON {table}")
    raw(again.format(name=name, table=table))
    raw(f"ALTER TABLE {table} ENABLE ALWAYS TRIGGER {name}")
    assert len([str(one) for one in trigger_faults()]) == 1


@pytest.mark.only_on("postgresql", "a trigger of PostgreSQL can be told when to fire")
def test_a_trigger_that_rests_in_replica_sessions_is_found(db):
    raw("ALTER TABLE ledger_entry ENABLE TRIGGER ledger_entry_frozen_update")
    found = [str(one) for one in trigger_faults()]
    assert found == [
        "table ledger_entry: trigger ledger_entry_frozen_update is missing or switched off"
    ]


def test_without_its_triggers_a_table_lets_a_change_through(case):
    """The attacks above are real ones."""
    row, _, fields = case
    table, key, pk = named(row)
    column, value = change_of(row, fields)
    before = stored(row)
    if row._meta.db_table == "parties_installation":
        column, value = quoted("name"), "another"
    with undone():
        unguard(row._meta.db_table)
        raw(f"UPDATE {table} SET {column} = %s WHERE {key} = %s", value, pk)
        assert not is_there(row) or stored(row) != before
    with undone():
        unguard(row._meta.db_table)
        raw(f"DELETE FROM {table} WHERE {key} = %s", pk)
        assert not is_there(row)
    assert stored(row) == before
