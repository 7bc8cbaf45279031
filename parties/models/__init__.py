"""Tables of people, organisations, dossiers and seats."""

from parties.models.dossiers import (
    Dossier,
    DossierRow,
    DossierRowQuerySet,
    Membership,
    Organisation,
    Role,
    Seat,
    Side,
    Sitter,
)
from parties.models.people import Person

__all__ = [
    "Dossier",
    "DossierRow",
    "DossierRowQuerySet",
    "Membership",
    "Organisation",
    "Person",
    "Role",
    "Seat",
    "Side",
    "Sitter",
]
