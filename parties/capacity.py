"""In which capacity somebody acts: passed as `by=` to every transition."""

from __future__ import annotations

from dataclasses import dataclass

from ledger.chain import Actor
from parties.models import Dossier, Organisation, Person, Sitter


@dataclass(frozen=True)
class Capacity:
    """A sitter who acts: person, organisation, side and role are read from one row."""

    sitter: Sitter

    @property
    def person(self) -> Person:
        """Who acts."""
        return self.sitter.person

    @property
    def organisation(self) -> Organisation:
        """For whom."""
        return self.sitter.seat.organisation

    @property
    def dossier(self) -> Dossier:
        """In which dossier."""
        return self.sitter.dossier

    @property
    def side(self) -> str:
        """On which side."""
        return self.sitter.seat.side

    @property
    def role(self) -> str:
        """In which role."""
        return self.sitter.role

    def actor(self) -> Actor:
        """The ledger's value: codes of this dossier, never names."""
        return Actor(
            person=self.sitter.code,
            organisation=self.sitter.seat.code,
            side=self.side,
            role=self.role,
        )
