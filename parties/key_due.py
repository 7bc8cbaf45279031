"""Keys of colleagues that wait for a second person: told to everybody who may confirm them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from django.urls import reverse
from django.utils.translation import gettext

from ledger import clock
from parties.capacity import Capacity
from parties.due import Due
from parties.models import Dossier, Key
from parties.transitions.keys import CONFIRMERS


def keys_due_in(capacities: Sequence[Capacity], day: dt.date) -> list[Due]:
    """What this person may confirm in the registers among these dossiers, administrators included;
    never their own key. One query, however many registers."""
    own = {
        by.organisation.pk: by
        for by in capacities
        if by.dossier.purpose == Dossier.Purpose.REGISTER and by.role in CONFIRMERS
    }
    if not own:
        return []
    people = {by.person.pk for by in own.values()}
    waiting = Key.objects.pending().filter(organisation__in=own, expires_at__gt=clock.now())
    return [
        Due(
            f"confirm_key:{key.pk.hex}",
            gettext("Confirm the signing key of %(name)s") % {"name": key.name},
            reverse("parties:confirm-key", kwargs={"dossier": own[key.organisation_id].dossier.pk})
            + f"?key={key.pk}",
            day,
        )
        for key in waiting.exclude(person__in=people).order_by("created_at")
    ]
