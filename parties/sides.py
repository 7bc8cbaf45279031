"""Which sides of a dossier are its parties, and which are guests at their table."""

from __future__ import annotations

from parties.models import Side

TWO_SIDES = frozenset({Side.CUSTOMER, Side.SUPPLIER})
GUESTS = frozenset({Side.AUDITOR, Side.REFEREE, Side.COLOUR_OWNER})
