"""Words that the samples share, in the reader's language: all of them are invented."""

from __future__ import annotations

from datetime import UTC, datetime

from django.utils.translation import gettext

WHEN = datetime(2026, 3, 5, 14, 30, 12, tzinfo=UTC)
DIGEST = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"
OTHER_DIGEST = "60303ae22b998861bce3b28f33eec1be758a213c86c93c076dbe9f558c11c752"
CODE, OTHER_CODE = "K7", "S2"
# A name that does not break by itself, as file names and names of parts may be.
UNBROKEN = "Seitenwandverkleidungsabdeckleiste-links-hinten-unten-Narbung-fein"


def long() -> str:
    """A long name: whatever holds it must wrap."""
    return gettext("Trim of the left rear side wall, lower part, fine grain (invented)") + (
        f", {UNBROKEN}"
    )


def firm() -> str:
    """A firm's name."""
    return gettext("Invented Housings Works")


def remark() -> str:
    """What somebody remarks on a clause."""
    return gettext("Our booth reaches 900 lx at the edge: please say where it is measured.")


def reason() -> str:
    """Why something is asked for or refused."""
    return gettext("the hue test of observer K7 ran out on 2026-02-28")
