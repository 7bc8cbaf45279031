"""Registers: what a firm has, what is due, and every earlier row."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from ledger import blobs, clock
from parties.access import ALL_ROLES, LEADS, READING, for_seat
from parties.capacity import Capacity
from parties.downloads import attachment
from parties.due import due, of_row
from parties.models import (
    Booth,
    Chip,
    Dossier,
    Instrument,
    Observer,
    Reference,
    RegisterRow,
    Role,
    Side,
    Sitter,
)
from parties.observers import sees_private
from parties.register_acts import ENTER, RENEW, USE_CHIP

OWN = {Side.OWN}
REGISTER = Dossier.Purpose.REGISTER
TITLES = {
    Observer: _("Observers"),
    Booth: _("Booths"),
    Instrument: _("Instruments"),
    Reference: _("References"),
}


@for_seat(sides=OWN, roles=ALL_ROLES, purpose=REGISTER)
def register(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """A firm's register: its lists and what is due."""
    lists = []
    if sitter.role in READING:
        for model, title in TITLES.items():
            count = model.objects.visible_to(sitter).current().filter(retired=False).count()
            lists.append((f"parties:{model.noun}s", title, count))
    own = Observer.objects.visible_to(sitter).current().filter(person=sitter.person).first()
    found = due(Capacity(sitter)) if sitter.role in READING | {Role.OBSERVER} else []
    if sitter.role == Role.OBSERVER:
        found = [one for one in found if own and one.id.endswith(own.key.hex)]
    context = {
        "obj": dossier,
        "lists": lists,
        "own_record": own,
        "due": [(one, "invalid" if one.past(_today()) else "warning") for one in found],
        "acts": list(ENTER.values()),
    }
    return render(request, "parties/register.html", context)


def _listing(request: HttpRequest, sitter: Sitter, model: type[RegisterRow]) -> HttpResponse:
    rows = model.objects.visible_to(sitter).current().order_by("retired", "name", "key")
    context = {
        "obj": sitter.dossier,
        "title": TITLES[model],
        "rows": [(row, _marks(row, sitter)) for row in rows],
        "acts": [ENTER[model]],
    }
    return render(request, "parties/list.html", context)


@for_seat(sides=OWN, roles=READING, purpose=REGISTER)
def observers(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """Observers by name; nothing of their records."""
    return _listing(request, sitter, Observer)


@for_seat(sides=OWN, roles=READING, purpose=REGISTER)
def booths(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """Booths."""
    return _listing(request, sitter, Booth)


@for_seat(sides=OWN, roles=READING, purpose=REGISTER)
def instruments(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """Instruments."""
    return _listing(request, sitter, Instrument)


@for_seat(roles=READING)
def references(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """References of a register, or those shared in an agreement."""
    return _listing(request, sitter, Reference)


@for_seat(Observer, sides=OWN, roles=READING | {Role.OBSERVER}, purpose=REGISTER)
def observer(request: HttpRequest, sitter: Sitter, row: Observer) -> HttpResponse:
    """An observer: the record for the own lead and the observer, the name for other staff."""
    private = sees_private(sitter, row)
    if sitter.role == Role.OBSERVER and not private:
        raise PermissionDenied
    return _detail(request, sitter, row, private=private)


@for_seat(Booth, sides=OWN, roles=READING, purpose=REGISTER)
def booth(request: HttpRequest, sitter: Sitter, row: Booth) -> HttpResponse:
    """A booth and its earlier rows."""
    return _detail(request, sitter, row)


@for_seat(Instrument, sides=OWN, roles=READING, purpose=REGISTER)
def instrument(request: HttpRequest, sitter: Sitter, row: Instrument) -> HttpResponse:
    """An instrument and its earlier rows."""
    return _detail(request, sitter, row)


@for_seat(Reference, roles=READING)
def reference(request: HttpRequest, sitter: Sitter, row: Reference) -> HttpResponse:
    """A reference, its chips and its earlier rows."""
    chips = Chip.objects.visible_to(sitter).current().filter(reference_key=row.key)
    master = None
    if row.master_key:
        masters = Reference.objects.visible_to(sitter).current()
        master = masters.filter(key=row.master_key).first()
    return _detail(request, sitter, row, chips=list(chips.order_by("name")), master=master)


@for_seat(Observer, sides=OWN, roles=LEADS | {Role.OBSERVER}, purpose=REGISTER)
def scan(request: HttpRequest, sitter: Sitter, row: Observer) -> HttpResponse:
    """The scan of a test sheet, for whom the record is open."""
    if not sees_private(sitter, row):
        raise PermissionDenied
    if not row.scan:
        raise Http404
    data = blobs.get(row.dossier.chain, row.scan)
    return attachment(data, row.scan_name, "application/octet-stream")


def _detail(
    request: HttpRequest, sitter: Sitter, row: Any, *, private: bool = True, **more: Any
) -> HttpResponse:
    rows = list(type(row).objects.visible_to(sitter).history(row.key))
    last = rows[0]
    context = {
        "obj": last,
        "title": last.name,
        "kind": TITLES[type(row)],
        "list_url": f"parties:{row.noun}s",
        "rows": [(one, one.shown() if private else []) for one in rows],
        "private": private,
        "marks": _marks(last, sitter),
        "acts": RENEW[type(row)] if isinstance(row, Reference) or private else [],
        "use": USE_CHIP if USE_CHIP.open_to(sitter) else None,
        **more,
    }
    return render(request, "parties/detail.html", context)


def _marks(row: RegisterRow, sitter: Sitter) -> list[tuple[str, str]]:
    """(tone, words) of what is due or over, of retirement, and of rows that hold only later."""
    today = _today()
    if row.retired:
        return [("ended", gettext("no longer in use"))]
    marks = []
    if row.valid_from > today:
        marks.append(("waiting", gettext("holds from %(day)s") % {"day": row.valid_from}))
    if isinstance(row, Observer) and not sees_private(sitter, row):
        return marks
    for one in of_row(row, today):
        words = gettext("over since %(day)s") if one.past(today) else gettext("due by %(day)s")
        tone = "invalid" if one.past(today) else "warning"
        marks.append((tone, f"{_sort(one.id)}: {words % {'day': one.day}}"))
    return marks


def _sort(id: str) -> str:
    """What is due, in words."""
    return {
        "calibration": gettext("calibration"),
        "booth_check": gettext("booth check"),
        "expiry": gettext("expiry"),
        "retest": gettext("retest"),
    }[id.partition(":")[0]]


def _today() -> Any:
    return clock.now().date()
