"""The page of a firm's seal: which certificate seals for it, until when, and earlier ones."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from parties.access import READING, for_seat
from parties.models import Dossier, Role, SealKey, Side, Sitter
from parties.seal_acts import ACTS, OWN_CERTIFICATE
from parties.seals import valid


@for_seat(sides={Side.OWN}, roles=READING | {Role.ADMINISTRATOR}, purpose=Dossier.Purpose.REGISTER)
def seal(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """Which certificate seals today; an own one that is not valid stands beside the other."""
    rows = SealKey.objects.filter(organisation=sitter.seat.organisation)
    keys = list(rows.select_related("entered_by").order_by("-created_at"))
    in_use = {key.issuer: key for key in keys if key.retired_at is None}
    own = in_use.get(SealKey.Issuer.OWN)
    context = {
        "obj": dossier,
        "own": own,
        "own_valid": own is not None and valid(own),
        "issued": in_use.get(SealKey.Issuer.INSTALLATION),
        "earlier": [key for key in keys if key.retired_at is not None],
        "acts": ACTS if own else [OWN_CERTIFICATE],
    }
    return render(request, "parties/seal.html", context)
