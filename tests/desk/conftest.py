"""Record copies of these tests lie in a temporary folder."""

import pytest


@pytest.fixture(autouse=True)
def copies_apart(settings, tmp_path):
    """Where the desk writes records."""
    settings.VAR_DIR = tmp_path
