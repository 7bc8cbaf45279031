"""Fixtures for all tests."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import translation

from parties.models import Person
from tests.cast import Cast, make_cast
from tests.kept import kept
from tests.unsealed import unsealed
from tests.world import World, make_world


@pytest.fixture(autouse=True)
def quick_and_closed(settings, tmp_path):
    """Files go to a temporary folder, passwords hash fast, mail stays in memory."""
    settings.BLOB_DIR = tmp_path / "blobs"
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(autouse=True)
def said_in_english() -> None:
    """The language of the last request stays with the thread: each test begins without one."""
    translation.deactivate()


@pytest.fixture
def cast(db) -> Cast:
    """Everybody, seated (tests/cast.py)."""
    return kept("cast", make_cast)


@pytest.fixture
def sign_in() -> Callable[[Person], Client]:
    """A client signed in as somebody."""

    def made(who: Person) -> Client:
        client = Client()
        client.force_login(who, backend="django.contrib.auth.backends.ModelBackend")
        return client

    return made


@pytest.fixture
def quick_papers(monkeypatch) -> None:
    """PDFs are not typeset and not sealed: for tests that judge but look at no paper."""
    monkeypatch.setattr("jobs.pdf.render", lambda *_args, **_more: b"%PDF- (not typeset)")
    monkeypatch.setattr("jobs.pdfseal.certify", unsealed)
    monkeypatch.setattr("jobs.pdfseal.countersign", unsealed)


@pytest.fixture
def world(cast: Cast, quick_papers: None) -> World:
    """A signed agreement with an instrument, registers filled, the first article approved."""
    return kept("world", lambda: make_world(cast), cast)


@pytest.fixture
def seen(cast: Cast, quick_papers: None) -> World:
    """The same without any instrument: a panel decides by eye."""
    return kept("seen", lambda: make_world(cast, "visual"), cast)
