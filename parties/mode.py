"""Demo mode belongs to the demo's database, and only to it.

The root made in demo mode says so in its name. A service in the other mode refuses that database:
the demo's accounts, whose password is printed, must never open a real installation, nor the
invented story be played into one.
"""

from __future__ import annotations

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

from parties.models import Installation

MARK = "(demo)"


def check_mode() -> None:
    """Raise ImproperlyConfigured where this database was made in the other mode."""
    root = Installation.objects.first()
    if root is None or (MARK in root.name) == settings.DEMO:
        return
    if settings.DEMO:
        raise ImproperlyConfigured(
            "COUNTERSHADE_DEMO=1, but this database is a real installation's: unset it, or give "
            "the demo a COUNTERSHADE_VAR_DIR (and no DATABASE_URL) of its own"
        )
    raise ImproperlyConfigured(
        "this database is the demo's, with invented accounts and a printed password: set "
        "COUNTERSHADE_DEMO=1, or point DATABASE_URL or COUNTERSHADE_VAR_DIR elsewhere"
    )
