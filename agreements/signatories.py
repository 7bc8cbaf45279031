"""Who may sign for a side under clause 10 of the terms."""

from __future__ import annotations

from typing import Any

from method.terms import service_held_allowed
from method.terms.models import Terms
from parties.access import LEADS


def signing_roles(terms: Terms, side: str) -> frozenset[str]:
    """The roles that sign for the side; where the terms name none, the quality lead."""
    named = {
        signatory.role
        for signatory in terms.shared.changes.signatories
        if signatory.side == side and signatory.role
    }
    return frozenset(named or LEADS)


def service_held(found: Any) -> bool:
    """Whether a key that the service holds may sign what these terms bind: a revision itself, or
    anything that has one (`found.revision`)."""
    revision = getattr(found, "revision", found)
    return bool(service_held_allowed(revision.document))


def may_sign(terms: Terms, side: str, role: str) -> bool:
    """Whether a person in this role signs for this side."""
    return role in signing_roles(terms, side)
