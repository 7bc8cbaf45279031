"""What the tests may do to guarded tables, and what stays refused."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction
from django.db.backends.base.operations import BaseDatabaseOperations

from ledger.chain import open_chain
from ledger.models import ChainHead
from ledger.operations import expected_triggers


def standing() -> set[str]:
    """Names of the triggers that the database has."""
    sql = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return {row[0] for row in cursor.fetchall()}


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("turn", ["first", "second"])
def test_tables_are_emptied_after_a_test_and_the_guards_stand_again(turn: str) -> None:
    assert {trigger.name for trigger in expected_triggers("default")} == standing() != set()
    assert ChainHead.objects.count() == 0, "the other turn left its row"
    with transaction.atomic():
        open_chain(f"emptying-{turn}")
    with pytest.raises(DatabaseError), transaction.atomic():
        ChainHead.objects.all().delete()


@pytest.mark.django_db(transaction=True)
def test_flush_outside_the_tests_is_refused(
    monkeypatch: pytest.MonkeyPatch, emptying_lifts_the_guards: Callable[..., None]
) -> None:
    with transaction.atomic():
        open_chain("kept")
    with monkeypatch.context() as patch:
        patch.setattr(BaseDatabaseOperations, "execute_sql_flush", emptying_lifts_the_guards)
        with pytest.raises(CommandError):
            call_command("flush", interactive=False)
    assert ChainHead.objects.filter(chain="kept").exists()
