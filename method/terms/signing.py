"""Which keys sign for terms (clause 10)."""

from __future__ import annotations

from typing import Any

from method.terms.describe import field_of
from method.terms.models import Resolved, Terms

_ALLOWS = "service_held_too"


def service_held_allowed(terms: Terms) -> bool:
    """Whether a key that the service holds may sign for a side.

    Only where the terms say so: unsaid means no. Documents of a schema without the field were
    made when every key was held by the service, and mean yes. A signature binds the terms as a
    whole, so that a part whose own values do not allow it excludes it for all.
    """
    shared = terms.shared.changes.signing_keys
    own = [part.overrides.get("changes", {}) for part in terms.parts]
    said = [shared, *(values.get("signing_keys", shared) for values in own)]
    return all(_allows(terms.schema_version, keys) for keys in said)


def service_held_allowed_in(clauses: Resolved) -> bool:
    """The same for the clauses as they bind one part."""
    return _allows(clauses.schema_version, clauses.changes.signing_keys)


def _allows(schema: int, keys: Any) -> bool:
    field = field_of("changes", "signing_keys")
    if field is not None and schema < field.about.since:
        keys = field.about.was
    return bool(keys == _ALLOWS)
