"""What was put before the other side cannot be rewritten, by Django or past it."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction

from agreements import transitions
from agreements.models import Naming, Remark, Revision, Standing, TermsPaper
from agreements.standing import today_in
from ledger.operations import frozen
from tests.agreements.conftest import Table

VALUES: dict[str, Any] = {
    "number": 77,
    "terms": b"{}",
    "digest": "0" * 64,
    "proposed_by": "supplier",
    "note": "other",
    "clause": "viewing",
    "item": "other",
    "text": "other",
    "author": "P-X",
    "side": "auditor",
    "side_only": "customer",
    "state": "ended",
    "reason": "other",
    "person": "P-X",
}


@pytest.fixture
def rows(table: Table) -> dict[type, Any]:
    """One row of each frozen table."""
    revision = table.signed()
    remark = transitions.make_remark(revision, by=table.supplier, clause="scope", text="Hm.")
    day = today_in(revision.dossier)
    transitions.suspend(revision.dossier, by=table.customer, from_day=day, reason="Stock-taking")
    return {
        Revision: revision,
        Remark: remark,
        Naming: Naming.objects.first(),
        Standing: Standing.objects.get(),
    }


CASES = [
    *((Revision, name) for name in Revision.FROZEN if name in VALUES),
    *((Remark, name) for name in Remark.FROZEN if name in VALUES),
    *((Naming, name) for name in ("side", "digest", "person")),
    *((Standing, name) for name in ("number", "state", "reason", "side", "author")),
]


@pytest.mark.parametrize(("model", "column"), CASES)
def test_a_frozen_column_refuses_every_way_of_changing_it(rows, model, column):
    row = rows[model]
    before = model.objects.values().get(pk=row.pk)
    setattr(row, column, VALUES[column])
    table = model._meta.db_table
    key = model._meta.pk.get_db_prep_value(row.pk, connection)

    def raw() -> None:
        with connection.cursor() as cursor:
            cursor.execute(f"UPDATE {table} SET {column} = %s WHERE id = %s", [VALUES[column], key])

    for attempt in (
        row.save,
        lambda: model.objects.filter(pk=row.pk).update(**{column: VALUES[column]}),
        lambda: model.objects.bulk_update([row], [column]),
        raw,
    ):
        with pytest.raises(DatabaseError), transaction.atomic():
            attempt()
    assert model.objects.values().get(pk=row.pk) == before


@pytest.mark.parametrize("model", [Revision, Remark, Naming, Standing])
def test_a_row_is_not_deleted(rows, model):
    table, key = model._meta.db_table, model._meta.pk.get_db_prep_value(rows[model].pk, connection)
    with pytest.raises(DatabaseError), transaction.atomic():
        model.objects.filter(pk=rows[model].pk)._raw_delete("default")
    with (
        pytest.raises(DatabaseError),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(f"DELETE FROM {table} WHERE id = %s", [key])
    assert model.objects.filter(pk=rows[model].pk).exists()


def test_the_guards_are_those_written_here():
    own = {pair for pair in frozen() if pair[0].startswith("agreements_")}
    wanted = set()
    for model in (Revision, Remark):
        for name in model.FROZEN:
            wanted.add((model._meta.db_table, model._meta.get_field(name).column))
    wanted |= {("agreements_revision", "signed_at"), ("agreements_remark", "struck_at")}
    for model in (Naming, Standing, TermsPaper):
        for field in model._meta.local_concrete_fields:
            wanted.add((model._meta.db_table, field.column))
    assert own == wanted
