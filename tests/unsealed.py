"""Seals that are none: for tests that judge or sign but look at no PDF. Never those of seals."""

from __future__ import annotations

import uuid
from typing import Any

from jobs.pdfseal import UNASKED, Said, Sealed, Signer


def unsealed(pdf: bytes, signer: Signer, said: Said, **_more: Any) -> Sealed:
    """The same bytes with a line more, which differs each time, as a seal would."""
    return Sealed(pdf + f"\n% no seal, {said.field} {uuid.uuid4()}".encode(), UNASKED)
