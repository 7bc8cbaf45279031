"""Mails to a side of the agreement, each in its reader's language."""

from __future__ import annotations

from django.conf import settings
from django.urls import reverse
from django.utils import translation
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from jobs import mail
from parties import reading
from parties.access import STAFF
from parties.checkpoints import current_note, has_chain, head_of
from parties.models import Dossier, Side, Sitter

CLOSING = _("Open it: %(url)s")
KEEP = _(
    "Keep this mail. Its last lines are a checkpoint: with them you can prove a later change. "
    "Whoever holds the mail can check it here: %(check)s"
)


def other_side(side: str) -> str:
    """The party across the table."""
    return Side.SUPPLIER if side == Side.CUSTOMER else Side.CUSTOMER


def tell(
    dossier: Dossier,
    side: str,
    *,
    subject: Promise,
    body: Promise,
    path: str,
    act: str,
    **params: str,
) -> None:
    """Post one mail to each of the side's leads, deputies and staff who can sign in.

    Runs in the caller's transaction, after the act's last entry: the mail ends with a checkpoint
    that names it. `path` is the page's path; the address before it is the configured public one.
    `subject` and `body` are templates with named params.
    """
    note = current_note(dossier) if has_chain(dossier) else ""
    check = settings.PUBLIC_URL + reverse("desk:held-checkpoint")
    sitters = Sitter.objects.today().filter(dossier=dossier, seat__side=side, role__in=STAFF)
    for sitter in sitters.select_related("person").order_by("code"):
        if not sitter.person.email:
            continue
        with translation.override(sitter.person.language):
            values = {**params, "title": dossier.title, "url": settings.PUBLIC_URL + path}
            text = f"{body % values}\n\n{CLOSING % values}\n"
            text += f"\n{KEEP % {'check': check}}\n\n{note}" if note else ""
            mail.post(
                to=sitter.person.email,
                subject=" ".join(str(subject % values).split()),
                body=text,
                key=f"{act}:{sitter.pk}",
            )
        if note:
            reading.checkpoint_given(sitter, head_of(note), "mail", act=act)
