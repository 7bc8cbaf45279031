"""What the pages of some acts show around their forms."""

from __future__ import annotations

from typing import Any

from agreements.models import Draft, Revision
from agreements.signatories import signing_roles
from agreements.transitions.signing import INTENT
from agreements.words import clause_titles, findings, word
from parties.capacity import Capacity
from parties.models import Role
from parties.signing import statement_facts


def clause_context(draft: Draft, by: Capacity) -> dict[str, Any]:
    """The clauses to go on to."""
    return {"clauses": clause_titles()}


def sign_context(revision: Revision, by: Capacity) -> dict[str, Any]:
    """The facts that the signed statement will hold, and what stands against signing."""
    terms = revision.document
    roles = signing_roles(terms, by.side)
    return {
        **statement_facts(by, word(INTENT), revision),
        "signing_roles": [Role(role).label for role in sorted(roles)],
        "may_sign": by.role in roles,
        "blockers": [found for found in findings(terms) if found.severity == "blocker"],
    }
