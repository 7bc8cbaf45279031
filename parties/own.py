"""From a dossier to the register of one's own firm: the same person, their other sitter."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from parties.capacity import Capacity
from parties.models import Dossier, Sitter
from parties.refusal import Refusal


def own_register(by: Capacity) -> Sitter:
    """As whom this person sits in the register of the firm for which they act.

    Raises Refusal `no_register` where they have no seat there.
    """
    sitter = (
        Sitter.objects.today()
        .select_related("seat__organisation", "dossier", "person")
        .filter(
            person=by.person,
            dossier__purpose=Dossier.Purpose.REGISTER,
            seat__organisation=by.organisation,
        )
        .first()
    )
    if sitter is None:
        raise Refusal(
            "no_register",
            _("You have no seat in your firm's register. Ask your administrator for one."),
        )
    return sitter
