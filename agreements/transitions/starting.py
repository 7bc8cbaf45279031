"""Starting an agreement from the firm's register: dossier, first draft, invitation."""

from __future__ import annotations

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from agreements.letters import other_side
from agreements.models import Draft
from agreements.models.revisions import PARTIES
from ledger import clock
from method.terms.document import terms_bytes
from method.terms.starter import starter
from parties.capacity import Capacity
from parties.models import Dossier, Role, Side, Sitter
from parties.refusal import Refusal
from parties.transitions import invite, open_agreement


def start_agreement(
    register: Dossier,
    *,
    by: Capacity,
    title: str,
    side: str,
    terms: str,
    firm: str,
    email: str,
) -> Dossier:
    """Open a dossier with a private first draft and invite the other side's quality lead.

    `side` is the own one; `terms` names the starter terms ("spectral" or "visual"); the chain
    starts later, with the first proposal. Refused outside one's own register.
    """
    if by.side != Side.OWN or register.pk != by.dossier.pk or side not in PARTIES:
        raise Refusal(
            "agreement.not_own_register", _("An agreement is started from your firm's register.")
        )
    now = clock.now()
    with transaction.atomic():
        dossier = open_agreement(by, title=title, side=side)
        seated = Capacity(Sitter.objects.sitting(by.person, dossier.pk))
        document = starter(terms).model_copy(update={"title": title})
        Draft.objects.create(
            dossier=dossier,
            side_only=side,
            terms=terms_bytes(document),
            created_at=now,
            changed_at=now,
        )
        invite(
            seated,
            email=email,
            role=Role.QUALITY_LEAD,
            side=other_side(side),
            organisation_name=firm,
        )
    return dossier
