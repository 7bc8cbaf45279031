"""Whose move it is about a thing: which sides, and what they may do, as every page says it."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from parties.models import Side

NOBODY: frozenset[str] = frozenset()
CUSTOMER, SUPPLIER = frozenset({str(Side.CUSTOMER)}), frozenset({str(Side.SUPPLIER)})
BOTH = CUSTOMER | SUPPLIER


@dataclass(frozen=True)
class Move:
    """What comes next: `sides` have to move, `id` names the move for programs.

    `words` tell it standing alone; `act` tells it behind the sides, where pages say whose it is.
    """

    id: str
    sides: frozenset[str]
    words: str | Promise
    act: str | Promise = ""

    def awaits(self, side: str) -> bool:
        """Whether it is this side's move."""
        return side in self.sides


def whose(sides: frozenset[str], reader: str) -> tuple[str, str | Promise]:
    """How a reader on the side `reader` (empty: none) is told whose move it is: "yours",
    "theirs" or "nobody", and the words in front of the act."""
    if reader in sides:
        return "yours", _("Your move:")
    if not sides:
        return "nobody", _("Nobody's move:")
    if sides == CUSTOMER:
        return "theirs", _("The customer's move:")
    if sides == SUPPLIER:
        return "theirs", _("The supplier's move:")
    return "theirs", _("Both sides' move:")
