"""Fixtures of the pages under a pseudo-locale."""

from __future__ import annotations

import pytest

from jobs import pdf
from tests.browser.played import Played, play


@pytest.fixture
def played(cast, monkeypatch) -> Played:
    """The played world, without setting its PDFs (which takes ten times as long)."""
    monkeypatch.setattr(pdf, "render", lambda html, **_: b"%PDF-not set in page checks")
    return play(cast)
