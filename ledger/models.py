"""Tables of the ledger. Entries and blobs are never changed; a chain's head only moves forward.

There are no foreign keys into or out of this app: nothing cascades, and the exported record
verifies without the rest of the database.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.db import models

from ledger import erasable
from ledger.canonical import parse
from ledger.checks import Alarm, Finding, SeenHead, SelfCheck
from ledger.sealing import SealError, unseal

__all__ = [
    "Alarm",
    "Blob",
    "ChainHead",
    "Entry",
    "Finding",
    "PersonalKey",
    "SeenHead",
    "SelfCheck",
]


class ChainHead(models.Model):
    """Where a chain stands: the number and hash of its last entry (0 and zeros when empty)."""

    chain = models.CharField(max_length=64, primary_key=True)
    number = models.PositiveBigIntegerField(default=0)
    hash = models.CharField(max_length=64)

    class Meta:
        db_table = "ledger_head"

    def __str__(self) -> str:
        return f"{self.chain} #{self.number}"


class PersonalKey(models.Model):
    """The key under which a person's erasable payloads of one chain lie, sealed at rest.

    Destroying it empties `sealed`, once and for good, and says when: the database refuses every
    other change. A row without a key keeps anybody from making a new one for this code.
    """

    chain = models.CharField(max_length=64)
    person = models.CharField(max_length=64)  # the code of that chain, never a name
    sealed = models.BinaryField(null=True)  # see ledger.sealing
    created_at = models.DateTimeField()
    destroyed_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "ledger_personal_key"
        constraints = [
            models.UniqueConstraint(fields=["chain", "person"], name="ledger_personal_key_once"),
            models.CheckConstraint(
                condition=models.Q(sealed__isnull=False, destroyed_at__isnull=True)
                | models.Q(sealed__isnull=True, destroyed_at__isnull=False),
                name="ledger_personal_key_lives_or_not",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.chain} {self.person}"

    @property
    def label(self) -> str:
        """For what the key is sealed: this chain and person and no other."""
        return f"personal key {self.chain} {self.person}"

    @cached_property
    def key(self) -> bytes:
        """The key; Erased where it was destroyed, SealError where KEY_SECRET does not open it."""
        if self.sealed is None:
            raise erasable.Erased(self.person, self.destroyed_at)
        return unseal(bytes(self.sealed), self.label)


class Entry(models.Model):
    """One entry. `header_bytes` is what is hashed; the other columns repeat it for queries.

    `personal` tells a payload that can be erased: the code of the person under whose key it lies
    encrypted in `payload_bytes`, its salt inside and none in `salt`. NULL for all others. Only the
    ledger writes the column, so nothing that people type can pass for the one or the other.
    """

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
    personal = models.CharField(max_length=64, null=True)

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
        indexes = [
            models.Index(fields=["chain", "subject"], name="ledger_entry_subject"),
            # Keys and each side's latest signature are asked for with every signature and mail.
            models.Index(fields=["chain", "kind", "number"], name="ledger_entry_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.chain} #{self.number} {self.kind}"

    @cached_property
    def header(self) -> dict[str, Any]:
        """The parsed header."""
        value: dict[str, Any] = parse(bytes(self.header_bytes))
        return value

    @cached_property
    def clear(self) -> tuple[bytes, bytes]:
        """The payload's bytes and the salt, as the header commits to them.

        Raises erasable.Erased after the key was destroyed, erasable.ErasableError where the stored
        bytes do not open.
        """
        if self.personal is None:
            return bytes(self.payload_bytes), bytes(self.salt)
        if self.personal_key is None:
            raise erasable.ErasableError(f"the key of {self.personal} is missing")
        try:
            key = self.personal_key.key
        except SealError as error:
            raise erasable.ErasableError(str(error)) from None
        return erasable.decrypt(key, bytes(self.payload_bytes), self.place)

    @cached_property
    def personal_key(self) -> PersonalKey | None:
        """The row of the key of an erasable payload; `erasure.with_keys` reads many at once."""
        rows = PersonalKey.objects.using(self._state.db)
        return rows.filter(chain=self.chain, person=self.personal).first()

    @property
    def place(self) -> tuple[str, int, str]:
        """What an erasable payload is bound to."""
        return self.chain, self.number, self.kind

    @cached_property
    def payload(self) -> dict[str, Any]:
        """The parsed payload; raises as `clear` does."""
        value: dict[str, Any] = parse(self.clear[0])
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
