"""The self-checks of this installation and the alarms that concern the reader."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from ledger import clock
from ledger.models import SelfCheck
from parties.access import for_person
from parties.alarms import Shown, visible_to

CHECKS = 30
LATE = timedelta(days=2)


@for_person()
def checks(request: HttpRequest) -> HttpResponse:
    """When it looked, and what it found in the reader's dossiers and in the installation."""
    last = SelfCheck.objects.filter(finished_at__isnull=False).order_by("-started_at").first()
    alarms = visible_to(request.user)  # type: ignore[arg-type]
    rows = [_row(check, alarms) for check in SelfCheck.objects.order_by("-pk")[:CHECKS]]
    late = last is None or last.started_at < clock.now() - LATE
    context = {
        "standing": [one for one in alarms if one.ended_at is None],
        "ended": [one for one in alarms if one.ended_at is not None],
        "checks": rows,
        "late": late,
    }
    return render(request, "parties/checks.html", context)


def _row(check: SelfCheck, alarms: list[Shown]) -> dict[str, Any]:
    """A check and how many alarms of the reader's stood when it ended."""
    stood = sum(one.times for one in alarms if one.stood_after(check.pk))
    return {"check": check, "stood": stood}
