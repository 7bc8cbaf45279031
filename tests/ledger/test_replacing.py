"""SQLite's OR REPLACE takes rows away without any DELETE: each way in is tried on each table.

Every attack is first shown to work on the table without its triggers.
"""

from __future__ import annotations

import pytest
from django.db import IntegrityError, connection, models, transaction

from ledger.checks import SelfCheck
from parties.models import Organisation
from tests.ledger.attacks import (
    conditional_constraints,
    insert,
    is_there,
    prepared,
    quoted,
    raw,
    refused,
    stored,
    undone,
    unguard,
)
from tests.ledger.rows import MOMENT, make_row

pytestmark = pytest.mark.only_on("sqlite", "OR REPLACE and rowids are SQLite's own")
SPELLINGS = ("rowid", "_rowid_", "oid")
ONE_ROW = {"parties_installation"}
# Constraint → fields of a row within its condition, and of one outside.
WITHIN = {
    "ledger_alarm_open_once": (
        {"ended_at": None, "ended_by": None},
        lambda: {"ended_at": MOMENT, "ended_by": make_row(SelfCheck)},
    ),
    "seal_key_one_in_use": (
        lambda: {"retired_at": None, "organisation": make_row(Organisation)},
        {"retired_at": MOMENT},
    ),
    "seal_key_one_of_service": (
        {"retired_at": None, "organisation": None},
        {"retired_at": MOMENT, "organisation": None},
    ),
    "key_one_in_use": ({"revoked_at": None}, {"revoked_at": MOMENT}),
    "offer_one_open": ({"status": "open"}, {"status": "declined"}),
    "piece_seal_once": ({"set_aside_at": None}, {"set_aside_at": MOMENT}),
    "revision_one_open": (
        {"status": "proposed", "signed_at": None},
        {"status": "withdrawn", "signed_at": None},
    ),
}


def rowid_of(row: models.Model) -> int:
    table, key = quoted(row._meta.db_table), quoted(row._meta.pk.column)
    with connection.cursor() as cursor:
        pk = row._meta.pk.get_db_prep_value(row.pk, connection)
        cursor.execute(f"SELECT rowid FROM {table} WHERE {key} = %s", [pk])
        return cursor.fetchone()[0]


def fresh(model: type[models.Model], **given) -> dict[str, object]:
    """The values of a row that could be inserted and is not there; no key the database gives."""
    with undone():
        row = make_row(model, **given)
        values = prepared(row)
    if isinstance(model._meta.pk, models.AutoField):
        del values[model._meta.pk.column]
    return values


def works_unguarded_but_is_refused(attack, victim: models.Model) -> None:
    before = stored(victim)
    with undone():
        unguard(victim._meta.db_table)
        attack()
        if is_there(victim):
            assert stored(victim) != before, "this attack does nothing: it shows nothing"
    refused(attack)
    assert stored(victim) == before


@pytest.mark.parametrize("name", SPELLINGS)
def test_no_row_is_replaced_by_its_rowid(case, name):
    row, _, _ = case
    table = row._meta.db_table
    number = rowid_of(row)
    values = prepared(row) if table in ONE_ROW else fresh(type(row))
    for verb in ("INSERT OR REPLACE", "REPLACE"):
        for given in (number, str(number), float(number)):
            attack = {name: given, **values}
            if table in ONE_ROW:
                refused(lambda attack=attack, verb=verb: insert(table, attack, verb))
            else:
                works_unguarded_but_is_refused(
                    lambda attack=attack, verb=verb: insert(table, attack, verb), row
                )


@pytest.mark.parametrize("name", SPELLINGS)
def test_no_row_is_ousted_by_another_that_takes_its_rowid(case, name):
    row, _, _ = case
    table, key = quoted(row._meta.db_table), quoted(row._meta.pk.column)
    if row._meta.db_table in ONE_ROW:
        refused(lambda: raw(f"UPDATE OR REPLACE {table} SET {name} = 7"))
        return
    other = make_row(type(row))
    pk = row._meta.pk.get_db_prep_value(other.pk, connection)
    sql = f"UPDATE OR REPLACE {table} SET {name} = %s WHERE {key} = %s"
    works_unguarded_but_is_refused(lambda: raw(sql, rowid_of(row), pk), row)
    for way in ("", "OR IGNORE", "OR FAIL"):
        refused(lambda way=way: raw(f"UPDATE {way} {table} SET {name} = 4711 WHERE {key} = %s", pk))


def test_no_row_stands_where_rowids_not_given_are_looked_for(case):
    row, _, _ = case
    table = row._meta.db_table
    if table in ONE_ROW:
        return
    values = fresh(type(row))
    for number in (-1, 0):
        refused(lambda number=number: insert(table, {"rowid": number, **values}))
    with undone():
        insert(table, values)  # an ordinary row is added all the same


def test_every_constraint_under_a_condition_is_tried_here():
    assert set(WITHIN) == set(conditional_constraints())


@pytest.fixture(params=sorted(WITHIN))
def contested(request, db):
    """A row within a condition; fields that take its place, and ones that stay outside."""
    model = conditional_constraints()[request.param]
    constraint = next(one for one in model._meta.constraints if one.name == request.param)
    inside, outside = WITHIN[request.param]
    inside, outside = (one() if callable(one) else one for one in (inside, outside))
    row = make_row(model, **inside)
    place = {name: getattr(row, name) for name in constraint.fields}
    return row, {**place, **inside}, place, outside


def test_no_row_is_replaced_by_one_that_takes_its_place_under_a_condition(contested):
    row, taking, _, _ = contested
    table = row._meta.db_table
    with undone():
        unguard(table)
        raw(f"DELETE FROM {quoted(table)}")
        values = fresh(type(row), **taking)
    works_unguarded_but_is_refused(lambda: insert(table, values, "INSERT OR REPLACE"), row)
    with pytest.raises(IntegrityError), transaction.atomic():
        make_row(type(row), **taking)
    with pytest.raises(IntegrityError), transaction.atomic():
        insert(table, values)


def test_no_row_is_ousted_by_one_that_moves_into_the_condition(contested):
    row, _, place, outside = contested
    other = make_row(type(row), **place, **outside)  # beside it, outside the condition: legitimate
    fields = [row._meta.get_field(name) for name in outside]
    values = [getattr(row, field.attname) for field in fields]
    changes = ", ".join(f"{quoted(field.column)} = %s" for field in fields)
    table, key = quoted(row._meta.db_table), quoted(row._meta.pk.column)
    pk = row._meta.pk.get_db_prep_value(other.pk, connection)
    sql = f"UPDATE OR REPLACE {table} SET {changes} WHERE {key} = %s"
    works_unguarded_but_is_refused(lambda: raw(sql, *values, pk), row)


def test_a_status_still_moves_within_and_out_of_its_condition(contested):
    row, taking, _, outside = contested
    rows = row._meta.base_manager.filter(pk=row.pk)
    if "status" in outside:
        assert rows.update(status="signed_by_one") == 1
    assert rows.update(**outside) == 1
    make_row(type(row), **taking)  # its place is free


def test_no_setting_of_the_connection_lets_a_row_be_replaced(case):
    row, _, _ = case
    table = row._meta.db_table
    values = {"rowid": rowid_of(row), **prepared(row)}
    for setting in ("recursive_triggers", "ignore_check_constraints", "defer_foreign_keys"):
        try:
            for value in ("OFF", "ON"):
                raw(f"PRAGMA {setting} = {value}")
                refused(lambda: insert(table, values, "INSERT OR REPLACE"))
                assert is_there(row)
        finally:
            raw(f"PRAGMA {setting} = OFF")
