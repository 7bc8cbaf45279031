"""Keys that wait for a second person: told to everybody who may confirm them, and to the holder."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from django.urls import reverse
from django.utils.translation import gettext

from ledger import clock
from parties.access import STAFF
from parties.capacity import Capacity
from parties.due import Due
from parties.models import Dossier, Key
from parties.transitions.keys import CONFIRMERS


def keys_due_in(capacities: Sequence[Capacity], day: dt.date) -> list[Due]:
    """What this person may confirm in the registers among these dossiers, administrators included,
    and the own keys that a colleague must confirm. One query, however many registers."""
    own = {
        by.organisation.pk: by
        for by in capacities
        if by.dossier.purpose == Dossier.Purpose.REGISTER and by.role in CONFIRMERS | STAFF
    }
    if not own:
        return []
    waiting = Key.objects.pending().filter(organisation__in=own, expires_at__gt=clock.now())
    found = [(own[key.organisation_id], key) for key in waiting.order_by("created_at")]
    return [
        _own(key, by, day) if key.person_id == by.person.pk else _colleagues(key, by, day)
        for by, key in found
        if key.person_id == by.person.pk or by.role in CONFIRMERS
    ]


def _own(key: Key, by: Capacity, day: dt.date) -> Due:
    words = gettext("Your new signing key waits: a colleague must confirm it")
    url = reverse("parties:keys", kwargs={"dossier": by.dossier.pk})
    return Due(f"own_key_waits:{key.pk.hex}", words, url, day)


def _colleagues(key: Key, by: Capacity, day: dt.date) -> Due:
    words = gettext("Confirm the signing key of %(name)s") % {"name": key.name}
    url = reverse("parties:confirm-key", kwargs={"dossier": by.dossier.pk})
    return Due(f"confirm_key:{key.pk.hex}", words, f"{url}?key={key.pk}", day)
