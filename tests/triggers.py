"""Set the guarding triggers aside, in tests only: nothing in the product may switch them off."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import DEFAULT_DB_ALIAS, connections

from ledger.operations import expected_triggers, restore_triggers


@contextmanager
def without_triggers(using: str = DEFAULT_DB_ALIAS) -> Iterator[None]:
    """Drop every guarding trigger for the block, and create them again after it."""
    settle(using)
    with connections[using].cursor() as cursor:
        for trigger in list(expected_triggers(using)):
            for statement in trigger.drop:
                cursor.execute(statement)
    try:
        yield
    finally:
        settle(using)
        restore_triggers(using)


def settle(using: str = DEFAULT_DB_ALIAS) -> None:
    """Check now what PostgreSQL checks at the end of a transaction: until then it changes no table
    and no trigger."""
    if connections[using].vendor == "postgresql":
        connections[using].check_constraints()
