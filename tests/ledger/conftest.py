"""Fixtures of the ledger's tests: a signed record and a way to verify bytes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from ledger.operations import frozen
from ledger.verify import Report, verify
from tests.ledger import small as make
from tests.ledger.rows import guarded, make_row
from tests.ledger.small import Small


@pytest.fixture
def small(db) -> Small:
    """A small chain signed by both sides."""
    return make.signed()


@pytest.fixture
def judge(tmp_path: Path) -> Callable[..., Report]:
    """Verify bytes under a root's fingerprint, from a file."""

    def judged(record: bytes, fingerprint: str | None = None) -> Report:
        path = tmp_path / "record.zip"
        path.write_bytes(record)
        return verify(path, fingerprint)

    return judged


@pytest.fixture(params=sorted(guarded()))
def case(request, db):
    """A row of each guarded table, its guard, and the frozen fields."""
    model, guard = guarded()[request.param]
    columns = frozenset(column for table, column in frozen() if table == request.param)
    row = make_row(model, full=columns)
    fields = [field for field in model._meta.local_concrete_fields if field.column in columns]
    assert fields
    return row, guard, fields
