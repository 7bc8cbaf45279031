"""Somebody who signs, and the key they hold."""

from __future__ import annotations

import pytest
from django.db import transaction

from parties.transitions import open_dossier_chain
from tests.own_keys import Held, in_register, passkey


@pytest.fixture
def customer(cast):
    """The customer's lead, in an agreement whose chain has begun."""
    by = cast.capacity(cast.customer_lead)
    with transaction.atomic():
        open_dossier_chain(by.dossier, by)
    return by


@pytest.fixture
def held(cast, customer) -> Held:
    """Their passkey, on a device that counts."""
    return passkey(in_register(cast, cast.customer_lead), count=1)
