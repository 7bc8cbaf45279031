"""Fixtures for all tests."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from parties.models import Person
from tests.cast import Cast, make_cast


@pytest.fixture(autouse=True)
def quick_and_closed(settings, tmp_path):
    """Files go to a temporary folder, passwords hash fast, mail stays in memory."""
    settings.BLOB_DIR = tmp_path / "blobs"
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def cast(db) -> Cast:
    """Everybody, seated (tests/cast.py)."""
    return make_cast()


@pytest.fixture
def sign_in() -> Callable[[Person], Client]:
    """A client signed in as somebody."""

    def made(who: Person) -> Client:
        client = Client()
        client.force_login(who, backend="django.contrib.auth.backends.ModelBackend")
        return client

    return made
