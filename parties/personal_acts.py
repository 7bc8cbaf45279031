"""What can be done about personal data: enter a name behind a code, erase what can be erased."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

from parties.access import LEADS
from parties.acts import Act
from parties.capacity import Capacity
from parties.forms.personal import EraseForm, NameForm
from parties.models import Dossier, Role, Side
from parties.transitions.personal import erase_person, name_person


def _erase(dossier: Dossier, *, by: Capacity, key: str) -> Any:
    erase_person(key, by=by)


NAME = Act(
    name="name-person",
    title=_("Name a code in the record"),
    do=name_person,
    form=NameForm,
    roles=LEADS,
    button=_("Enter the name"),
    explain=_(
        "In the record your staff and observers are codes. A name entered here is read by both "
        "firms, by auditors, and by everybody who is given the signed record. Your administrator "
        "can erase it here later; copies that were taken before keep it."
    ),
    done=_("The name stands in the record."),
)
ERASE = Act(
    name="erase-person",
    title=_("Erase a person's data"),
    do=_erase,
    form=EraseForm,
    sides={Side.OWN},
    roles={Role.ADMINISTRATOR},
    purpose=Dossier.Purpose.REGISTER,
    template="parties/erase.html",
    button=_("Erase"),
    explain=_("For somebody who has left your firm, or an observer without a login."),
    done=_("What can be erased was erased."),
    back="parties:personal",
)
ACTS = [NAME, ERASE]
