"""Tables of people, organisations, dossiers, seats, registers and keys."""

from parties.models.codes import Code
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
from parties.models.invitations import Invitation
from parties.models.keys import Installation, Key, Signature
from parties.models.people import Person
from parties.models.registers import (
    Booth,
    Chip,
    Instrument,
    Observer,
    Reference,
    RegisterQuerySet,
    RegisterRow,
)
from parties.models.seals import DocumentSeal, SealKey

__all__ = [
    "Booth",
    "Chip",
    "Code",
    "DocumentSeal",
    "Dossier",
    "DossierRow",
    "DossierRowQuerySet",
    "Installation",
    "Instrument",
    "Invitation",
    "Key",
    "Membership",
    "Observer",
    "Organisation",
    "Person",
    "Reference",
    "RegisterQuerySet",
    "RegisterRow",
    "Role",
    "SealKey",
    "Seat",
    "Side",
    "Signature",
    "Sitter",
]
