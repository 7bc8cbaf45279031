"""Checkpoints at the end of mails that this app sends: of invitations and of alarms.

Mails about acts in an agreement have theirs from `agreements.letters`.
"""

from __future__ import annotations

from django.conf import settings
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from ledger.chain import ChainError
from ledger.erasable import ErasableError
from parties.checkpoints import current_note, has_chain
from parties.models import Dossier

CHECK = _("Whoever holds the mail can check it here: %(check)s")
KEEP_INVITATION = _(
    "Keep this mail. Its last lines are a checkpoint of the record of “%(title)s” as it stood when "
    "you were invited: with them you can prove a later change."
)
KEEP_ALARM = _(
    "Keep this mail. Its last lines are a checkpoint of the record of “%(title)s” as it stands "
    "now, with what was found: with them you can prove a later change. Of a change before it only "
    "your earlier mails tell."
)


def ending(dossier: Dossier, keep: Promise) -> tuple[str, str]:
    """The last lines of a mail about this dossier, and the note in them; both empty where nothing
    was entered yet, or where the chain is so damaged that no checkpoint of it can be made."""
    try:
        note = current_note(dossier) if has_chain(dossier) else ""
    # A mail about a damaged chain must go out whatever was done to it.
    except (ChainError, ErasableError, ValueError, LookupError, TypeError):
        note = ""
    if not note:
        return "", ""
    check = CHECK % {"check": settings.PUBLIC_URL + reverse("desk:held-checkpoint")}
    return f"\n{keep % {'title': dossier.title}} {check}\n\n{note}", note
