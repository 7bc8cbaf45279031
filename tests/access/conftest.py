"""One world for all tests of the folder: built once, in one transaction, rolled back."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.db import transaction

from tests.access.stage import Stage, build, html_for_pdf, quiet_settings


@pytest.fixture(autouse=True)
def quick_and_closed() -> None:
    """The settings of the whole folder hold (see `stage`); those of single tests would hide the
    world's files."""


@pytest.fixture(scope="package")
def stage(django_db_setup, django_db_blocker, tmp_path_factory) -> Iterator[Stage]:
    """The world; each check undoes what it did."""
    folder = tmp_path_factory.mktemp("access")
    settled = (quiet_settings(folder), html_for_pdf(), transaction.atomic())
    with django_db_blocker.unblock(), settled[0], settled[1], settled[2]:
        yield build()
        transaction.set_rollback(True)
