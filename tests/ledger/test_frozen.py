"""Frozen columns refuse every way of changing them, on the database that the tests run on."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.db import connection, models

from ledger.operations import frozen
from tests.ledger.attacks import quoted, raw, refused, stored
from tests.ledger.rows import is_append_only, value_for

WRITTEN = Path(__file__).with_name("frozen.txt")


def test_the_frozen_columns_are_those_of_the_written_list():
    written = [tuple(line.split(".")) for line in WRITTEN.read_text().split()]
    missing = sorted(set(written) - set(frozen()))
    new = sorted(set(frozen()) - set(written))
    assert not missing, f"no longer frozen: {missing}"
    assert not new, f"frozen but not in {WRITTEN.name}: {new}"


def test_save_update_and_bulk_update_are_refused(case):
    row, _, fields = case
    before = stored(row)
    rows = row._meta.base_manager.filter(pk=row.pk)
    for field in fields:
        new = value_for(field, getattr(row, field.attname))
        refused(lambda field=field, new=new: rows.update(**{field.name: new}))
        if field.primary_key:
            continue  # saving under another key is another row
        changed = rows.get()
        setattr(changed, field.name, new)
        refused(lambda one=changed, name=field.name: models.Model.save(one, update_fields=[name]))
        refused(lambda one=changed, name=field.name: rows.bulk_update([one], [name]))
    assert stored(row) == before


def test_raw_updates_are_refused_column_by_column(case):
    row, guard, fields = case
    before = stored(row)
    table, key = quoted(row._meta.db_table), quoted(row._meta.pk.column)
    pk = row._meta.pk.get_db_prep_value(row.pk, connection)
    for field in fields:
        new = value_for(field, getattr(row, field.attname))
        new = new.pk if isinstance(new, models.Model) else new
        prepared = field.get_db_prep_save(new, connection)
        sql = f"UPDATE {table} SET {quoted(field.column)} = %s WHERE {key} = %s"
        refused(lambda sql=sql, prepared=prepared: raw(sql, prepared, pk))
        if is_append_only(guard):
            same = f"UPDATE {table} SET {quoted(field.column)} = {quoted(field.column)}"
            refused(lambda same=same: raw(same))
    assert stored(row) == before


def test_deletion_is_refused(case):
    row, _, _ = case
    table, key = quoted(row._meta.db_table), quoted(row._meta.pk.column)
    rows = row._meta.base_manager.filter(pk=row.pk)
    refused(lambda: rows.get().delete())
    refused(rows.delete)
    refused(lambda: rows._raw_delete(connection.alias))
    refused(lambda: raw(f"DELETE FROM {table}"))
    pk = row._meta.pk.get_db_prep_value(row.pk, connection)
    refused(lambda: raw(f"DELETE FROM {table} WHERE {key} = %s", pk))
    assert rows.exists()


@pytest.mark.only_on("sqlite", "INSERT OR REPLACE is SQLite's own")
def test_replacing_a_row_is_refused(case):
    row, _, _ = case
    table = quoted(row._meta.db_table)
    before = stored(row)
    refused(lambda: raw(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"))
    refused(lambda: raw(f"REPLACE INTO {table} SELECT * FROM {table}"))
    refused(
        lambda: raw(f"INSERT INTO {table} SELECT * FROM {table} WHERE 1 ON CONFLICT DO NOTHING")
    )
    assert stored(row) == before


@pytest.mark.only_on("postgresql", "TRUNCATE is no statement of SQLite")
def test_emptying_the_table_is_refused(case):
    row, _, _ = case
    raw("SET CONSTRAINTS ALL IMMEDIATE")
    refused(lambda: raw(f"TRUNCATE {quoted(row._meta.db_table)} CASCADE"))
    assert row._meta.base_manager.filter(pk=row.pk).exists()


@pytest.mark.only_on("postgresql", "upserts of PostgreSQL update the row they meet")
def test_an_upsert_that_changes_the_row_is_refused(case):
    row, _, fields = case
    table, key = quoted(row._meta.db_table), quoted(row._meta.pk.column)
    field = next((one for one in fields if not one.primary_key), fields[0])
    new = value_for(field, getattr(row, field.attname))
    new = new.pk if isinstance(new, models.Model) else new
    sql = (
        f"INSERT INTO {table} SELECT * FROM {table} ON CONFLICT ({key}) "
        f"DO UPDATE SET {quoted(field.column)} = %s"
    )
    refused(lambda: raw(sql, field.get_db_prep_save(new, connection)))
