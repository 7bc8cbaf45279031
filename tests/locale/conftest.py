"""The played world, for checks of pages."""

from __future__ import annotations

import pytest

from tests.browser.played import Played, play
from tests.kept import kept


@pytest.fixture
def played(cast, quick_papers) -> Played:
    """Every kind of object; its PDFs are not set, which would take ten times as long."""
    return kept("played", lambda: play(cast), cast)
