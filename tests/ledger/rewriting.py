"""What somebody with all rights over the database can do: write a chain anew, without a gap.

Every hash, commitment and link is computed again, the head and what the self-check remembers are
moved along, and each signature is made again where its key is at hand.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from django.db import transaction

from ledger.canonical import canonical_bytes, digest
from ledger.chain import START, commitment
from ledger.kinds import Kind
from ledger.models import ChainHead, Entry, SeenHead
from tests.triggers import without_triggers

# Of a signature: the fingerprint of its key and the statement's bytes → a detached JWS, or None
# where that key is not at hand.
Signing = Callable[[str, bytes], str | None]


def rewrite(
    chain: str, number: int, change: Callable[[dict[str, Any]], Any], sign: Signing
) -> None:
    """Change the payload of one entry and make everything after it fit, past all triggers."""
    rows = list(Entry.objects.filter(chain=chain).order_by("number"))
    hashes = {0: START}
    for row in rows:
        payload = json.loads(bytes(row.payload_bytes)) if row.personal is None else None
        if row.number == number:
            change(payload)
        elif row.number > number and row.kind == Kind.SIGNATURE_MADE:
            _sign_again(payload, hashes, sign)
        _write(row, payload, hashes)
    with transaction.atomic(), without_triggers():
        Entry.objects.filter(chain=chain).delete()
        Entry.objects.bulk_create(rows)
        ChainHead.objects.filter(chain=chain).update(hash=hashes[len(rows)])
        for seen in SeenHead.objects.filter(chain=chain):
            SeenHead.objects.filter(pk=seen.pk).update(hash=hashes[seen.number])


def _write(row: Entry, payload: Any, hashes: dict[int, str]) -> None:
    """Header, hash and columns of one entry after those before it."""
    header = json.loads(bytes(row.header_bytes))
    header["previous"] = hashes[row.number - 1]
    if payload is not None:
        row.payload_bytes = canonical_bytes(payload)
        header["payload"] = commitment(bytes(row.salt), bytes(row.payload_bytes))
    row.header_bytes = canonical_bytes(header)
    row.previous, row.hash = header["previous"], digest(bytes(row.header_bytes))
    hashes[row.number] = row.hash


def _sign_again(payload: dict[str, Any], hashes: dict[int, str], sign: Signing) -> None:
    """The statement over the head as it is now; as it was where nobody can sign it again."""
    statement = json.loads(payload["statement"])
    statement["head"]["hash"] = hashes[statement["head"]["number"]]
    data = canonical_bytes(statement)
    made = sign(payload["fingerprint"], data)
    if made is not None:
        payload["statement"], payload["jws"] = data.decode(), made
