"""The one exception with which a transition refuses, in words for the person who asked."""

from __future__ import annotations

from typing import Any

from django.utils.functional import Promise


class Refusal(Exception):
    """An act that cannot be done now. Nothing was changed; `message` says what to do next.

    `id` is stable and for programs; `message` is for people; `field` names the form field, if one
    is to blame; `link` is the address and the words of the page on which it can be mended.
    """

    def __init__(
        self,
        id: str,
        message: str | Promise,
        *,
        field: str | None = None,
        link: tuple[str, str | Promise] | None = None,
        **params: Any,
    ):
        super().__init__(id)
        self.id = id
        self.message = message
        self.field = field
        self.link = link
        self.params = params

    def __str__(self) -> str:
        text = str(self.message)
        return text % self.params if self.params else text
