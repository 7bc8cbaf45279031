"""Answers that only read: the state of a job or object, as JSON, and as the piece of a page that
shows its progress."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from jobs.models import Job
from parties.access import ALL_SIDES, READING, Access, enter, for_seat
from parties.models import DossierRow


class StateCall(APIView):
    """GET what `describe` says of one object of the dossier. A page asks through htmx with `seen`,
    what it shows, and gets 204 while nothing is new."""

    describe: Callable[[Any], dict[str, Any]]

    def get(self, request: Request, dossier: uuid.UUID, pk: uuid.UUID) -> HttpResponse:
        """The description; a stranger gets 404 as everywhere."""
        access: Access = self.access  # type: ignore[attr-defined]
        _sitter, found = enter(access, request, dossier, pk)  # type: ignore[arg-type]
        state = type(self).describe(found)
        return piece(request, found, state) if request.htmx else Response(state)


def piece(request: Request, found: Any, job: dict[str, Any]) -> HttpResponse:
    """What the page shows of a job, where that is no longer what was seen."""
    if request.query_params.get("seen") == f"{job['state']}-{job['done']}":
        return HttpResponse(status=204)
    context = {
        "job": job,
        "arrived": job["finished"],
        "progress_url": request.path,
        "page_url": found.get_absolute_url(),
    }
    return render(request._request, "components/progress_state.html", context)


def state_call(
    model: type[DossierRow],
    describe: Callable[[Any], dict[str, Any]],
    *,
    sides: Iterable[str] = ALL_SIDES,
    roles: Iterable[str] = READING,
) -> Callable[..., HttpResponse]:
    """A marked JSON view that reads one object."""
    marked = for_seat(model, sides=sides, roles=roles)(lambda *a, **k: HttpResponse())
    access = marked.access  # type: ignore[attr-defined]
    made = type(f"{model.__name__}State", (StateCall,), {"describe": staticmethod(describe)})
    made.access = access  # type: ignore[attr-defined]
    view = made.as_view()
    view.access = access
    return view


def job_state(job: Job | None) -> dict[str, Any]:
    """What may be told of a job: never its parameters."""
    if job is None:
        return {"state": "none", "done": 0, "total": 0, "finished": True, "error": ""}
    return {
        "state": job.state,
        "done": job.done,
        "total": job.total,
        "finished": job.finished,
        "error": job.error_text,
    }
