"""JSON answers to refusals, alike for every call."""

from __future__ import annotations

from typing import Any

from rest_framework.response import Response
from rest_framework.views import exception_handler

from parties.refusal import Refusal


def refusals(problem: Exception, context: dict[str, Any]) -> Response | None:
    """Turn a transition's refusal into 409 with its id and words."""
    if isinstance(problem, Refusal):
        return Response({"id": problem.id, "message": str(problem)}, status=409)
    return exception_handler(problem, context)
