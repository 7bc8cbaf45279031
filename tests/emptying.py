"""Pytest plugin: tests with real transactions may empty tables that nobody else may empty.

After such a test Django empties every table, which the append-only triggers refuse (on PostgreSQL
even for empty tables). For the length of that one step the triggers are dropped, and they stand
again before the next test. Nothing outside the tests can do this: `manage.py flush` stays refused.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import pytest


@pytest.fixture(scope="session", autouse=True)
def emptying_lifts_the_guards() -> Iterator[Callable[..., None]]:
    """Wrap the one place where Django empties tables; gives Django's own function."""
    # Django is not set up yet when plugins are loaded.
    from django.db.backends.base.operations import BaseDatabaseOperations

    from ledger.operations import expected_triggers, restore_triggers

    empty = BaseDatabaseOperations.execute_sql_flush

    def emptied(operations: BaseDatabaseOperations, statements: Sequence[str]) -> None:
        alias = operations.connection.alias
        with operations.connection.cursor() as cursor:
            for trigger in list(expected_triggers(alias)):
                for statement in trigger.drop:
                    cursor.execute(statement)
        try:
            empty(operations, statements)
        finally:
            restore_triggers(alias)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(BaseDatabaseOperations, "execute_sql_flush", emptied)
        yield empty
