"""Mails about first articles and lots: the other side hears of every step that concerns it."""

from __future__ import annotations

from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from agreements.letters import other_side, tell
from ledger.kinds import Kind
from parties.capacity import Capacity

BODY = _("This concerns the agreement “%(title)s”.")
SUBJECTS: dict[Kind, Any] = {
    Kind.ARTICLE_SUBMITTED: _("First article %(number)s was submitted"),
    Kind.ARTICLE_APPROVED: _("First article %(number)s was approved"),
    Kind.ARTICLE_APPROVED_WITH_LIMITS: _("First article %(number)s was approved with limits"),
    Kind.ARTICLE_RETURNED: _("First article %(number)s was returned to be corrected"),
    Kind.LOT_RELEASED: _("Lot %(number)s was released"),
    Kind.LOT_RECEIVED: _("Lot %(number)s was received"),
    Kind.LOT_ACCEPTED: _("Lot %(number)s was accepted"),
    Kind.LOT_WITHDRAWN: _("Lot %(number)s was withdrawn"),
}


def tell_step(what: Any, kind: Kind, by: Capacity, act: str) -> None:
    """Mail the other side about a step just recorded, in the same transaction."""
    subject: Promise = SUBJECTS[kind]
    tell(
        what.dossier,
        other_side(by.side),
        subject=subject,
        body=BODY,
        path=what.get_absolute_url(),
        act=act,
        number=what.number,
    )
