"""An agreement on the way: starter terms made complete, and each stage of the negotiation."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from agreements import transitions
from agreements.models import Draft, Revision
from method.terms.document import terms_bytes
from method.terms.draft import draft_check
from method.terms.edit import with_item, with_part, with_values
from method.terms.models import Terms
from method.terms.starter import starter
from parties.capacity import Capacity
from tests.cast import Cast


def complete(name: str = "visual") -> Terms:
    """Starter terms with what no starter can know: no blocker is left."""
    terms = starter(name)
    terms = with_part(terms, {"number": "H-1", "name": "Housing", "colour": "Grey"})
    terms = with_values(terms, "disputes", {"zone": "Europe/Berlin"})
    terms = with_values(terms, "changes", {"signing_keys": "service_held_too"})
    for side in ("customer", "supplier"):
        for role in ("quality_lead", "deputy"):
            values = {"side": side, "role": role, "label": f"{side} {role}"}
            terms = with_item(terms, "changes", "signatories", values)
    left = [found for found in draft_check(terms) if found.severity == "blocker"]
    assert left == []
    return terms


@dataclass
class Table:
    """Both sides at the table; each method plays one step of the main path."""

    cast: Cast

    @property
    def customer(self) -> Capacity:
        """The customer's lead."""
        return self.cast.capacity(self.cast.customer_lead)

    @property
    def supplier(self) -> Capacity:
        """The supplier's lead."""
        return self.cast.capacity(self.cast.supplier_lead)

    def draft(self, by: Capacity | None = None, terms: Terms | None = None) -> Draft:
        """A complete draft of a side (the customer's by default)."""
        by = by or self.customer
        data = terms_bytes(terms or complete())
        return Draft.objects.create(dossier=by.dossier, side_only=by.side, terms=data)

    def proposed(self) -> Revision:
        """Proposed by the customer."""
        return transitions.propose(self.draft(), by=self.customer)

    def agreed(self) -> Revision:
        """Proposed by the customer, agreed to by the supplier."""
        revision = self.proposed()
        return transitions.agree(revision, by=self.supplier, digest=revision.digest)

    def signed_by_one(self) -> Revision:
        """Signed by the customer."""
        revision = self.agreed()
        return transitions.sign(revision, by=self.customer, digest=revision.digest)

    def signed(self) -> Revision:
        """Signed by both."""
        revision = self.signed_by_one()
        return transitions.sign(revision, by=self.supplier, digest=revision.digest)


@pytest.fixture
def table(cast: Cast) -> Table:
    """Two sides, nothing said yet."""
    return Table(cast)
