"""JSON answers to refusals, alike for every call."""

from __future__ import annotations

from typing import Any

from rest_framework import parsers
from rest_framework.exceptions import ParseError
from rest_framework.response import Response
from rest_framework.views import exception_handler

from parties.refusal import Refusal


class JSONParser(parsers.JSONParser):
    """JSON in which lists within lists without end are the caller's mistake, not ours."""

    def parse(self, stream: Any, media_type: Any = None, parser_context: Any = None) -> Any:
        """The value; ParseError (400) where it is nested too deeply."""
        try:
            return super().parse(stream, media_type, parser_context)
        except RecursionError:
            raise ParseError("JSON nested too deeply") from None


def refusals(problem: Exception, context: dict[str, Any]) -> Response | None:
    """Turn a transition's refusal into 409 with its id and words."""
    if isinstance(problem, Refusal):
        return Response({"id": problem.id, "message": str(problem)}, status=409)
    return exception_handler(problem, context)
