"""References in an agreement: who may say what both sides rely on.

A supplier who could exchange the master could make any lot conform. Masters and limit samples are
the customer's (or the colour owner's) to enter; a reference is renewed only by the side that
entered it; what it is, and a reading once stored, stay: another reading is another reference.
"""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from parties.capacity import Capacity
from parties.models import Dossier, Reference, Side, Sitter
from parties.refusal import Refusal

GIVES = frozenset({Side.CUSTOMER, Side.COLOUR_OWNER})
GIVEN = frozenset({Reference.Kind.MASTER, Reference.Kind.LIMIT_SAMPLE})
STAYS = ("kind", "part", "colour", "approval")


def check_shared(row: Reference, *, by: Capacity, supersedes: Reference | None) -> None:
    """Refusal where this side may not write this row of an agreement; nothing in a register."""
    if by.dossier.purpose != Dossier.Purpose.AGREEMENT:
        return
    if row.kind in GIVEN and by.side not in GIVES:
        raise Refusal(
            "reference.given",
            _("Masters and limit samples of an agreement are entered by the customer."),
        )
    if supersedes is None:
        return
    if side_of(supersedes) != by.side:
        raise Refusal(
            "reference.side", _("The other side entered this reference; only they renew it.")
        )
    if any(getattr(row, name) != getattr(supersedes, name) for name in STAYS):
        raise Refusal(
            "reference.stays",
            _("Kind, part and colour of a reference stay. Enter another reference instead."),
        )
    if supersedes.reading and row.reading != supersedes.reading:
        raise Refusal(
            "reference.reading",
            _("The stored reading of a shared reference stays. Enter another reference instead."),
        )


def side_of(row: Reference) -> str:
    """The side whose person recorded this row of an agreement."""
    sitter = Sitter.objects.select_related("seat").get(dossier=row.dossier_id, code=row.recorded_by)
    return sitter.seat.side
