"""Idempotency keys: a repeated request gets the first answer and does nothing more."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db import transaction

from jobs.models import IdempotencyKey


class KeyReused(Exception):
    """The same key came with another body: the caller made a mistake, nothing was done."""


def answered(key: str, owner: str, body_digest: str) -> Any:
    """The answer that (owner, key) got before, or None. Raises KeyReused, ValueError as `once`."""
    _check(key)
    row = IdempotencyKey.objects.filter(owner=owner, key=key).first()
    if row is not None and row.body_digest != body_digest:
        raise KeyReused(key)
    return row.answer if row else None


def once(key: str, owner: str, body_digest: str, fn: Callable[[], Any]) -> Any:
    """Run `fn` once per (owner, key) and give its JSON answer, also to repetitions.

    `fn` runs in the transaction that writes the key: what it raises leaves the key free again.
    A second request at the same time waits at the unique row for the first one's answer.
    Raises KeyReused, and ValueError for a key that is empty or longer than 200 characters.
    """
    _check(key)
    with transaction.atomic():
        row, made = IdempotencyKey.objects.get_or_create(
            owner=owner, key=key, defaults={"body_digest": body_digest}
        )
        if not made:
            if row.body_digest != body_digest:
                raise KeyReused(key)
            return row.answer
        answer = fn()
        IdempotencyKey.objects.filter(pk=row.pk).update(answer=answer)
        row.refresh_from_db(fields=["answer"])  # the first caller sees what later ones will
        return row.answer


def _check(key: str) -> None:
    if not 0 < len(key) <= 200 or not key.isprintable():
        raise ValueError("an idempotency key has 1 to 200 printable characters")
