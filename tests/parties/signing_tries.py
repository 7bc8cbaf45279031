"""Signing with a prepared statement, and what comes of trying."""

from __future__ import annotations

import base64

import pytest
from cryptography import x509
from django.db import transaction

from ledger import chain
from ledger.kinds import Kind
from parties.models import Signature
from parties.refusal import Refusal
from parties.signing import sign
from tests.own_keys import WANTED, prepared


def signed(by, proof, wanted=WANTED):
    """The signature, in an act of its own."""
    with transaction.atomic():
        return sign(by, wanted, act=chain.new_act(), proof=proof)


def refused(by, proof, wanted=WANTED) -> Refusal:
    """The refusal; nothing is signed by it."""
    before = Signature.objects.count(), chain.head(by.dossier.chain)
    with pytest.raises(Refusal) as caught:
        signed(by, proof, wanted)
    assert (Signature.objects.count(), chain.head(by.dossier.chain)) == before
    return caught.value


def not_prepared(why, by, held):
    """No statement is made for this key."""
    before = chain.head(by.dossier.chain)
    with pytest.raises(Refusal) as caught:
        prepared(by, held)
    assert (caught.value.id, chain.head(by.dossier.chain)) == (why, before)


def public_of(payload):
    """The certified key of an entry's payload."""
    der = base64.b64decode(payload["certificate"])
    return x509.load_der_x509_certificate(der).public_key()


def certified(by):
    """Payloads of the certified keys of the chain."""
    rows = chain.entries(by.dossier.chain).filter(kind=Kind.KEY_CERTIFIED)
    return [row.payload for row in rows]
