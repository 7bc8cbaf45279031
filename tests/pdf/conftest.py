"""Fonts for the tests that set type."""

import pytest

from jobs import fonts


@pytest.fixture
def our_fonts():
    """The fonts where the application looks for them; copied only if they are not there."""
    return fonts.set_up()
