"""Forms in two steps: what is typed is settled by the server, then the browser answers.

What the first step settled travels in a token (`parties.prepared`); the second step is read from
that token and the browser's answers alone, whatever else is sent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from parties.forms.base import PasswordForm
from parties.prepared import FIELD, Prepared, opened, token
from parties.refusal import Refusal

NOT_KEPT = frozenset({"password", "once", "csrfmiddlewaretoken"})


class Unshown(forms.HiddenInput):
    """A field that a page of the first step leaves out, and a page of the second writes itself."""

    def render(self, *_args: Any, **_more: Any) -> str:
        """Nothing."""
        return ""


@dataclass(frozen=True)
class Step:
    """The second step: the page (template and context), and the same as a JSON answer."""

    template: str
    context: dict[str, Any]
    answer: dict[str, Any]


class TwoStepForm(PasswordForm):
    """The password or the choices at the first step, the browser's answers at the second."""

    ANSWERS: ClassVar[tuple[str, ...]] = ()
    FIRST_ONLY: ClassVar[tuple[str, ...]] = ("password",)

    prepared = forms.CharField(required=False, widget=Unshown, max_length=200_000)

    def __init__(
        self,
        data: Any = None,
        files: Any = None,
        *,
        obj: Any = None,
        by: Any = None,
        act: Any = None,
        **kwargs: Any,
    ):
        self.taken: Prepared | None = None
        self._bound_to = [
            str(getattr(getattr(by, "person", None), "pk", "")),
            act.url_name if act else "",
            str(getattr(obj, "pk", "")),
        ]
        if data and data.get(FIELD):
            data = self._second(data)
        super().__init__(data, files, obj=obj, by=by, act=act, **kwargs)
        for name in self.FIRST_ONLY:
            if self.taken is not None:
                self.fields.pop(name, None)
            elif self.trouble is not None and name in self.fields:
                self.fields[name].required = False

    def _second(self, data: Any) -> QueryDict:
        """The values of the first step with the answers of the second."""
        sent = QueryDict(mutable=True)
        try:
            found = opened(data.get(FIELD), self._bound_to)
        except Refusal as refusal:
            self.trouble = refusal
            return sent
        for name, values in found.values.items():
            sent.setlist(name, values)
        if found.expired:
            self.trouble = Refusal(
                "prepared.expired",
                _(
                    "Too much time has passed since this was prepared. Nothing was done; begin "
                    "again."
                ),
            )
            return sent
        self.taken = found
        for name in (FIELD, *self.ANSWERS):
            if data.get(name):
                sent[name] = data.get(name)
        return sent

    def clean(self) -> dict[str, Any]:
        """A token that does not hold is an error of the whole form."""
        cleaned = super().clean() or self.cleaned_data
        if self.trouble is not None:
            self.add_error(None, str(self.trouble))
        return cleaned

    def token(self, facts: dict[str, Any]) -> str:
        """What carries this first step to the second."""
        kept: dict[str, list[str]] = {}
        data: Mapping[str, Any] = self.data
        for name in data:
            if name in NOT_KEPT or name == FIELD or name in self.ANSWERS:
                continue
            values = data.getlist(name) if isinstance(data, QueryDict) else [data[name]]
            kept[name] = [str(one) for one in values]
        return token(self._bound_to, kept, facts)

    def first_step(self) -> Step:
        """What the second step needs; raises Refusal. Asked where `needs_browser`."""
        raise NotImplementedError

    def asks_password(self) -> bool:
        """At the first step only."""
        return self.taken is None and self.trouble is None

    def values(self) -> dict[str, Any]:
        """Without what only carries the two steps."""
        left_out = {FIELD, *self.ANSWERS, *self.FIRST_ONLY}
        return {name: one for name, one in self.cleaned_data.items() if name not in left_out}
