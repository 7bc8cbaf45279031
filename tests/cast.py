"""The cast of all tests: who they are and where they sit. Invented people and firms.

Two agreements and three firms: `agreement` between the customer and the supplier,
`other` between the supplier and a third firm, so that "another dossier of the same firm" is always
at hand when a test asks what leaks.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from parties.capacity import Capacity
from parties.models import Dossier, Membership, Organisation, Person, Role, Seat, Side, Sitter

PASSWORD = "a-long-invented-password"


def person(key: str, name: str) -> Person:
    """Somebody who can sign in with PASSWORD."""
    made = Person(email=f"{key}@example.org", name=name)
    # A fast, unsafe stand-in for argon2 is set in conftest.
    made.set_password(PASSWORD)
    made.save()
    return made


@dataclass
class Cast:
    """People, firms and dossiers; `capacity` tells as whom somebody acts."""

    people: dict[str, Person] = field(default_factory=dict)
    firms: dict[str, Organisation] = field(default_factory=dict)
    registers: dict[str, Dossier] = field(default_factory=dict)
    agreement: Dossier = None  # type: ignore[assignment]
    other: Dossier = None  # type: ignore[assignment]

    def __getattr__(self, name: str) -> Person:
        try:
            return self.__dict__["people"][name]
        except KeyError:
            raise AttributeError(name) from None

    def capacity(self, who: Person, dossier: Dossier | None = None) -> Capacity:
        """In which capacity `who` acts in `dossier` (the agreement by default)."""
        return Capacity(Sitter.objects.sitting(who, (dossier or self.agreement).pk))

    def firm(self, key: str, name: str, members: dict[str, tuple[str, str]]) -> None:
        """A firm, its people by key → (name, role), and its register dossier."""
        firm = self.firms[key] = Organisation.objects.create(name=name)
        register = self.registers[key] = Dossier.objects.create(
            purpose=Dossier.Purpose.REGISTER, title=name
        )
        for who, (full_name, role) in members.items():
            self.people[who] = person(who, full_name)
            Membership.objects.create(organisation=firm, person=self.people[who], role=role)
        self.seat(register, key, Side.OWN)

    def seat(self, dossier: Dossier, key: str, side: str) -> Seat:
        """Seat a firm and all its members but administrators in a dossier."""
        firm = self.firms[key]
        seat = Seat.objects.create(
            dossier=dossier, organisation=firm, side=side, code=f"O-{key.upper()}"
        )
        for number, member in enumerate(firm.memberships.order_by("pk"), 1):
            if member.role == Role.ADMINISTRATOR and side != Side.OWN:
                continue
            Sitter.objects.create(
                dossier=dossier,
                seat=seat,
                person=member.person,
                role=member.role,
                code=f"P-{key.upper()}{number}",
            )
        return seat


def make_cast() -> Cast:
    """The cast; see DEVELOPERS.md."""
    cast = Cast()
    lead, deputy, staff = Role.QUALITY_LEAD, Role.DEPUTY, Role.QUALITY_STAFF
    cast.firm(
        "cust",
        "Vellmar Appliances (invented)",
        {
            "customer_lead": ("Ines Vellmar", lead),
            "customer_colleague": ("Bo Haldane", staff),
            "customer_observer": ("Mira Tolland", Role.OBSERVER),
        },
    )
    cast.firm(
        "supp",
        "Quarrow Coatings (invented)",
        {
            "supplier_lead": ("Sanna Quarrow", lead),
            "supplier_deputy": ("Eli Marsh", deputy),
            "supplier_staff": ("Teo Brandt", staff),
            "supplier_observer": ("Ada Finch", Role.OBSERVER),
            "supplier_admin": ("Kit Ruan", Role.ADMINISTRATOR),
        },
    )
    cast.firm("audit", "Fennel Audit (invented)", {"auditor": ("Oda Fennel", Role.READER)})
    cast.firm("third", "Third Firm (invented)", {"stranger": ("Sam Stray", lead)})
    cast.agreement = Dossier.objects.create(
        purpose=Dossier.Purpose.AGREEMENT, title="Grey housings (invented)"
    )
    cast.seat(cast.agreement, "cust", Side.CUSTOMER)
    cast.seat(cast.agreement, "supp", Side.SUPPLIER)
    cast.seat(cast.agreement, "audit", Side.AUDITOR)
    cast.other = Dossier.objects.create(
        purpose=Dossier.Purpose.AGREEMENT, title="Another matter (invented)"
    )
    cast.seat(cast.other, "third", Side.CUSTOMER)
    cast.seat(cast.other, "supp", Side.SUPPLIER)
    return cast
