"""Everything that changes who sits where, what a register says, and what is invited."""

from parties.transitions.account import set_own_facts
from parties.transitions.firms import (
    change_role,
    join,
    new_firm,
    register_of,
    remove_member,
)
from parties.transitions.invitations import (
    Founded,
    accept_invitation,
    accept_url,
    find_invitation,
    firms_to_bind,
    found_organisation,
    invite,
    withdraw_invitation,
)
from parties.transitions.registers import add_chips, enter, supersede, use_chip
from parties.transitions.seat_ends import limit_seat, limitable
from parties.transitions.seats import (
    open_agreement,
    open_dossier_chain,
    seat_organisation,
    seat_person,
    unseat,
)

__all__ = [
    "Founded",
    "accept_invitation",
    "accept_url",
    "add_chips",
    "change_role",
    "enter",
    "find_invitation",
    "firms_to_bind",
    "found_organisation",
    "invite",
    "join",
    "limit_seat",
    "limitable",
    "new_firm",
    "open_agreement",
    "open_dossier_chain",
    "register_of",
    "remove_member",
    "seat_organisation",
    "seat_person",
    "set_own_facts",
    "supersede",
    "unseat",
    "use_chip",
    "withdraw_invitation",
]
