"""Tests clean up by emptying tables, which triggers rightly refuse: set them aside, in tests only.

`without_triggers` is kept out of the product on purpose: nothing there may switch them off.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.db import DEFAULT_DB_ALIAS, connections
from django.test import TransactionTestCase

from ledger.operations import expected_triggers, restore_triggers


@contextmanager
def without_triggers(using: str = DEFAULT_DB_ALIAS) -> Iterator[None]:
    """Drop every guarding trigger for the block, and create them again after it."""
    with connections[using].cursor() as cursor:
        for trigger in list(expected_triggers(using)):
            for statement in trigger.drop:
                cursor.execute(statement)
    try:
        yield
    finally:
        restore_triggers(using)


@pytest.fixture(autouse=True, scope="session")
def emptying_is_allowed() -> Iterator[None]:
    """Let the clean-up after a test with real transactions empty the guarded tables."""
    original = TransactionTestCase._fixture_teardown

    def teardown(self: Any) -> None:
        with without_triggers():
            original(self)

    TransactionTestCase._fixture_teardown = teardown
    yield
    TransactionTestCase._fixture_teardown = original
