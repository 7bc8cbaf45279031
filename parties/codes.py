"""Codes of a dossier: random, short, hard to misread, never reused."""

from __future__ import annotations

import secrets

from django.db import IntegrityError, transaction

from parties.models import Code, Dossier

# Without 0 O 1 I L U V: what a printed sheet or a telephone line confuses.
ALPHABET = "23456789ABCDEFGHJKMNPQRSTWXYZ"
LENGTH = 4
ATTEMPTS = 20


class CodesExhausted(RuntimeError):
    """No free code was found in `ATTEMPTS` draws."""


def code_for(dossier: Dossier, key: str, prefix: str) -> str:
    """The code of `key` in this dossier, made at the first call: "P-4K7Q" for prefix "P".

    Codes are drawn, not counted, so that a code tells neither order nor number of people.
    """
    for attempt in range(ATTEMPTS):
        known = Code.objects.filter(dossier=dossier, key=key).values_list("code", flat=True).first()
        if known is not None:
            return known
        drawn = f"{prefix}-{_draw(LENGTH + attempt // 5)}"
        try:
            with transaction.atomic():
                return Code.objects.create(dossier=dossier, key=key, code=drawn).code
        except IntegrityError:
            continue  # the code is taken, or somebody else just made one for this key
    raise CodesExhausted(f"no free code with prefix {prefix} in dossier {dossier.pk}")


def _draw(length: int) -> str:
    return "".join(secrets.choice(ALPHABET) for _ in range(length))
