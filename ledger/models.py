"""Tables of the ledger. Entries and blobs are never changed; a chain's head only moves forward.

There are no foreign keys into or out of this app: nothing cascades, and the exported record
verifies without the rest of the database.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.db import models

from ledger.canonical import parse
from ledger.checks import Alarm, Finding, SeenHead, SelfCheck

__all__ = ["Alarm", "Blob", "ChainHead", "Entry", "Finding", "SeenHead", "SelfCheck"]


class ChainHead(models.Model):
    """Where a chain stands: the number and hash of its last entry (0 and zeros when empty)."""

    chain = models.CharField(max_length=64, primary_key=True)
    number = models.PositiveBigIntegerField(default=0)
    hash = models.CharField(max_length=64)

    class Meta:
        db_table = "ledger_head"

    def __str__(self) -> str:
        return f"{self.chain} #{self.number}"


class Entry(models.Model):
    """One entry. `header_bytes` is what is hashed; the other columns repeat it for queries."""

    chain = models.CharField(max_length=64)
    number = models.PositiveBigIntegerField()
    time = models.DateTimeField()
    actor = models.CharField(max_length=64)
    organisation = models.CharField(max_length=64)
    side = models.CharField(max_length=64)
    role = models.CharField(max_length=64)
    kind = models.CharField(max_length=64)
    subject = models.CharField(max_length=120)
    act = models.CharField(max_length=64)
    hash = models.CharField(max_length=64, unique=True)
    previous = models.CharField(max_length=64)
    header_bytes = models.BinaryField()
    payload_bytes = models.BinaryField()
    salt = models.BinaryField()

    class Meta:
        db_table = "ledger_entry"
        ordering = ["chain", "number"]
        constraints = [
            models.UniqueConstraint(fields=["chain", "number"], name="ledger_entry_number"),
            models.UniqueConstraint(fields=["chain", "previous"], name="ledger_entry_previous"),
            models.UniqueConstraint(
                fields=["chain", "act", "kind", "subject"], name="ledger_entry_once_per_act"
            ),
        ]
        indexes = [models.Index(fields=["chain", "subject"], name="ledger_entry_subject")]

    def __str__(self) -> str:
        return f"{self.chain} #{self.number} {self.kind}"

    @cached_property
    def header(self) -> dict[str, Any]:
        """The parsed header."""
        value: dict[str, Any] = parse(bytes(self.header_bytes))
        return value

    @cached_property
    def payload(self) -> dict[str, Any]:
        """The parsed payload."""
        value: dict[str, Any] = parse(bytes(self.payload_bytes))
        return value

    @property
    def blobs(self) -> list[str]:
        """Digests of the blobs that this entry refers to."""
        return list(self.header["blobs"])


class Blob(models.Model):
    """That a chain holds a blob; the bytes lie in a file named by chain and digest."""

    chain = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()
    media_type = models.CharField(max_length=120)
    stored_at = models.DateTimeField()

    class Meta:
        db_table = "ledger_blob"
        ordering = ["chain", "digest"]
        constraints = [models.UniqueConstraint(fields=["chain", "digest"], name="ledger_blob_once")]

    def __str__(self) -> str:
        return f"{self.chain} {self.digest}"
