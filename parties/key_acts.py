"""What can be done about signing keys, in the firm's register."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from parties.access import STAFF
from parties.acts import Act
from parties.capacity import Capacity
from parties.forms.keys import ConfirmKeyForm, EnrolKeyForm, RevokeKeyForm
from parties.models import Dossier, Key, Role, Side
from parties.own_keys import NewKey
from parties.transitions.keys import (
    CONFIRMERS,
    ask_service_key,
    confirm_key,
    confirmers,
    enrol_key,
    may_sign,
    needs_second,
)
from parties.transitions.keys import revoke_key as _end


def _enrol(dossier: Dossier, *, by: Capacity, new: NewKey | None, replaces: Key | None) -> Any:
    if new is None:
        return ask_service_key(by)
    return enrol_key(by, new=new, replaces=replaces)


def _confirm(dossier: Dossier, *, by: Capacity, key: Key) -> Any:
    return confirm_key(key, by=by)


def _revoke(dossier: Dossier, *, by: Capacity, key: Key, reason: str) -> Any:
    return _end(key, by=by, reason=reason)


def enrol_context(dossier: Dossier, by: Capacity) -> dict[str, Any]:
    """Whether a second person will be needed, who that may be, and whether there is anything that a
    key of this person would sign."""
    return {
        "second": needs_second(by.person, by.organisation),
        "confirmers": confirmers(by.person, by.organisation),
        "signs": may_sign(by.person, by.organisation),
    }


def enrolled_words(dossier: Dossier, by: Capacity) -> str:
    """What came of enrolling: the key signs, or who must confirm it first."""
    keys = Key.objects.filter(person=by.person, organisation=by.organisation)
    made = keys.order_by("-created_at").first()
    if made is None or not made.is_pending:
        return gettext("The key is enrolled and may sign.")
    who = confirmers(by.person, by.organisation)
    if not who:
        return gettext(
            "The key is made and signs nothing yet: a second person of your firm must confirm it, "
            "and there is nobody who may. It takes another quality lead, a deputy or an "
            "administrator: have one invited on the page “People of the firm”."
        )
    names = [f"{one.person.name} ({one.get_role_display()})" for one in who]
    return gettext(
        "The key is made and signs nothing yet: a second person of your firm must confirm it. It "
        "waits on the desk of: %(names)s. Read them its fingerprint."
    ) % {"names": ", ".join(names)}


FIRM = {
    "sides": {Side.OWN},
    "purpose": Dossier.Purpose.REGISTER,
    "template": "parties/key_act.html",
    "back": "parties:keys",
}
ENROL = Act(
    name="enrol-key",
    title=_("Enrol a key of your own"),
    do=_enrol,
    form=EnrolKeyForm,
    roles=STAFF,
    button=_("Go on and make the key"),
    explain=_(
        "You hold it, not this service: whoever runs the service cannot sign with it. The "
        "installation's root certifies it under your name and your firm's."
    ),
    tells=enrolled_words,
    context=enrol_context,
    **FIRM,
)
CONFIRM = Act(
    name="confirm-key",
    title=_("Confirm a colleague's key"),
    do=_confirm,
    form=ConfirmKeyForm,
    roles=CONFIRMERS,
    button=_("Confirm this key"),
    explain=_(
        "Let your colleague read you the fingerprint of the key they made, and compare all of it. "
        "From then on it signs for your firm."
    ),
    done=_("The key is confirmed."),
    **FIRM,
)
REVOKE = Act(
    name="revoke-key",
    title=_("Revoke a key"),
    do=_revoke,
    form=RevokeKeyForm,
    roles=STAFF | {Role.ADMINISTRATOR},
    button=_("Revoke this key"),
    explain=_(
        "It signs nothing any more, from this moment and for good. What it signed before stands. "
        "The other side reads in the record that it was revoked. A key held by this service does "
        "not come back by itself: a new one waits for a second person, as every later key does."
    ),
    done=_("The key is revoked."),
    **FIRM,
)
ACTS = [ENROL, CONFIRM, REVOKE]
