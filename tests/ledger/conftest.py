"""Fixtures of the ledger's tests: a signed record and a way to verify bytes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from ledger.verify import Report, verify
from tests.ledger import small as make
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
