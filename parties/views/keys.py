"""Signing keys of a firm, and the page on which a browser is marked as standing at a booth."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext_lazy as _

from ledger import clock
from parties.access import KEEPERS, STAFF, for_person, for_seat
from parties.acts import Act
from parties.booth_devices import is_booth_device, mark, unmark
from parties.forms.booth import BoothForm
from parties.key_acts import CONFIRM, ENROL, REVOKE
from parties.models import Dossier, Key, Role, Side, Sitter
from parties.transitions.keys import CONFIRMERS, may_sign


@for_seat(sides={Side.OWN}, roles=STAFF | {Role.ADMINISTRATOR}, purpose=Dossier.Purpose.REGISTER)
def keys(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """One's own keys for this firm; what waits for one's confirmation; for those who keep people,
    everybody's keys."""
    rows = Key.objects.filter(organisation=sitter.seat.organisation)
    rows = rows.select_related("person", "confirmed_by", "replaces").order_by("-created_at")
    others = rows.exclude(person=sitter.person)
    now = clock.now()
    waiting = list(others.pending().filter(expires_at__gt=now))
    if sitter.role not in CONFIRMERS:
        waiting = []
    context: dict[str, Any] = {
        "obj": dossier,
        "own": [(key, *state_of(key)) for key in rows.filter(person=sitter.person)],
        "others": [(key, *state_of(key)) for key in others] if sitter.role in KEEPERS else [],
        "waiting": waiting,
        "confirm": CONFIRM,
        "acts": _offered(rows, waiting, sitter),
        "signs": may_sign(sitter.person, sitter.seat.organisation),
        "booth": is_booth_device(request),
    }
    return render(request, "parties/keys.html", context)


def _offered(rows: Any, waiting: list[Key], sitter: Sitter) -> list[Act]:
    """The acts for which there is a key; a page without anything to choose is a closed door. A key
    is offered to those who have something to sign."""
    standing = rows.filter(revoked_at__isnull=True)
    if sitter.role not in KEEPERS:
        standing = standing.filter(person=sitter.person)
    signs = may_sign(sitter.person, sitter.seat.organisation)
    offered = [*([ENROL] if signs else []), *([CONFIRM] if waiting else [])]
    return [*offered, REVOKE] if standing.exists() else offered


def state_of(key: Key) -> tuple[str, Any]:
    """How a key stands: an id for its shape, and words."""
    if key.revoked_at is not None:
        return "ended", _("revoked")
    if key.expires_at <= clock.now():
        return "ended", _("expired")
    if key.is_pending:
        return "waiting", _("waits for a second person")
    return "done", _("in use")


@for_person(methods=("GET", "POST"))
def booth_device(request: HttpRequest) -> HttpResponse:
    """Mark this browser as standing at a viewing booth, or take the mark away (by password)."""
    marked = is_booth_device(request)
    sent = request.POST if request.method == "POST" else None
    form = BoothForm(sent, person=request.user, request=request, marked=marked)
    if sent is not None and form.is_valid():
        answer = redirect("parties:booth-device")
        if marked:
            unmark(request, answer)
            messages.success(request, _("The mark is taken away."))
        else:
            mark(request, answer)
            messages.success(request, _("This browser is marked: nobody signs on it."))
        return answer
    context = {"form": form, "marked": marked}
    return render(request, "parties/booth_device.html", context, status=422 if form.errors else 200)
