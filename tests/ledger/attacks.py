"""Tools for attacks on frozen rows by raw SQL, on the database that the tests run on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.db import IntegrityError, connection, models, transaction
from django.db.models import ProtectedError, RestrictedError, UniqueConstraint

from ledger.operations import expected_triggers
from tests.ledger.rows import guarded

REFUSED = (IntegrityError, ProtectedError, RestrictedError)


def refused(attack: Callable[[], object]) -> None:
    """The trigger's own words, or Django's refusal to leave rows behind that refer to the row."""
    with pytest.raises(REFUSED) as caught, transaction.atomic():
        attack()
    if isinstance(caught.value, IntegrityError):
        assert "is append-only or frozen" in str(caught.value)


@contextmanager
def undone() -> Iterator[None]:
    """A block whose every change, to the schema as well, is taken back."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def unguard(table: str) -> None:
    """Drop a table's guarding triggers (within `undone`)."""
    if connection.vendor == "postgresql":
        raw("SET CONSTRAINTS ALL IMMEDIATE")
    for trigger in expected_triggers("default"):
        if trigger.table == table:
            for statement in trigger.drop:
                raw(statement)


def raw(sql: str, *parameters: Any) -> None:
    """Run one statement."""
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters or None)


def quoted(name: str) -> str:
    """A name as the database quotes it."""
    return connection.ops.quote_name(name)


def stored(row: models.Model) -> tuple[Any, ...]:
    """All values of a row as they stand in the table; fails where it is gone."""
    names = [field.attname for field in row._meta.local_concrete_fields]
    values = row._meta.base_manager.filter(pk=row.pk).values_list(*names).get()
    return tuple(bytes(v) if isinstance(v, memoryview) else v for v in values)


def is_there(row: models.Model) -> bool:
    """Whether a row of this key stands in its table."""
    return row._meta.base_manager.filter(pk=row.pk).exists()


def prepared(row: models.Model) -> dict[str, Any]:
    """What an INSERT of the row sends: column → value."""
    return {
        field.column: field.get_db_prep_save(getattr(row, field.attname), connection)
        for field in row._meta.local_concrete_fields
    }


def insert(table: str, values: dict[str, Any], verb: str = "INSERT") -> None:
    """Insert a row by raw SQL; `verb`: with its conflict clause."""
    names = ", ".join(quoted(name) for name in values)
    holes = ", ".join(["%s"] * len(values))
    raw(f"{verb} INTO {quoted(table)} ({names}) VALUES ({holes})", *values.values())


def conditional_constraints() -> dict[str, type[models.Model]]:
    """Unique constraints under a condition on guarded tables: name → model."""
    return {
        constraint.name: model
        for model, _ in guarded().values()
        for constraint in model._meta.constraints
        if isinstance(constraint, UniqueConstraint) and constraint.condition is not None
    }
