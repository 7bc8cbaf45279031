"""One line per act: the page with its form and the JSON call are made from the same declaration.

An act is a function of a `transitions` module, `do(obj, *, by, **values)`, which returns the object
to go to next (anything with `get_absolute_url`) or None for the object it was done to. The page
stands at `…/<noun>/<pk>/<act>/` (GET the form, POST the act), the JSON call under `/api/` (POST).

Sent twice, done once: a page's form carries a token, a JSON call may carry `Idempotency-Key`. The
key is kept together with what was done, so what was refused may be sent again under the same key.
"""

from __future__ import annotations

import hashlib
import json
import secrets
import uuid
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import URLPattern, path, reverse
from django.utils.crypto import salted_hmac
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from jobs.once import KeyReused, answered, once
from parties.access import STAFF, TWO_SIDES, Access, enter, for_seat
from parties.capacity import Capacity
from parties.forms import ActForm
from parties.forms.steps import Step, TwoStepForm
from parties.models import Dossier, DossierRow, Sitter
from parties.refusal import Refusal
from parties.whose_move import Move

ONCE = "once"  # the hidden field of a page's form
KEY = "Idempotency-Key"  # the header of a JSON call


@dataclass(frozen=True)
class Act:
    """What can be done to one kind of object, by whom, with which form."""

    name: str  # in the address and the URL name, words joined by "-"
    title: str | Promise
    do: Callable[..., Any]
    form: type[ActForm] = ActForm
    model: type[DossierRow] | None = None  # None: done to the dossier itself
    noun: str = ""  # in the address; empty for the dossier
    sides: Iterable[str] = TWO_SIDES
    roles: Iterable[str] = STAFF
    purpose: str | None = Dossier.Purpose.AGREEMENT
    states: Iterable[str] = ()  # in which pages offer it; () = in every state. `do` decides.
    moves: Collection[str] = ()  # the moves (whose_move.Move.id) that it makes: it stands out then
    button: str | Promise = ""
    explain: str | Promise = ""  # what the act does and what cannot be undone
    done: str | Promise = ""  # said on the next page
    # Said there where it depends on what came of it.
    tells: Callable[[Any, Capacity], str] | None = None
    back: str = ""  # the URL name of the dossier's page to go to; "" = where `do` leads
    template: str = "parties/act.html"
    context: Callable[[Any, Capacity], dict[str, Any]] | None = None
    signs: Callable[..., Any] | None = None  # of an act that signs: what (parties.signing.Wanted)
    # Of an act that signs: whether the terms that bind the object let the service's key do it.
    service_held: Callable[[Any], bool] | None = None
    extra: dict[str, Any] = field(default_factory=dict)

    @property
    def url_name(self) -> str:
        """The name under which both addresses are registered (`…-api` for the JSON call)."""
        return f"{self.noun}-{self.name}" if self.noun else self.name

    @property
    def two_steps(self) -> bool:
        """Whether the browser may have to do something between preparing and doing it."""
        return issubclass(self.form, TwoStepForm)

    def mark(self, methods: Iterable[str]) -> dict[str, Any]:
        """The arguments of the access mark of both views."""
        return {
            "sides": self.sides,
            "roles": self.roles,
            "methods": methods,
            "purpose": self.purpose,
        }

    def makes(self, move: Move | None, side: str) -> bool:
        """Whether it is the move that this side is asked for."""
        return move is not None and move.id in self.moves and move.awaits(side)

    def open_to(self, sitter: Sitter) -> bool:
        """Whether this sitter's side and role may do it at all; the state is asked by `do`."""
        return (
            sitter.seat.side in self.sides
            and sitter.role in self.roles
            and (self.purpose is None or sitter.dossier.purpose == self.purpose)
        )

    def fits(self, found: Any) -> bool:
        """Whether a page offers it in the object's present state."""
        return not self.states or found.status in self.states


@dataclass(frozen=True)
class Sending:
    """One sending of an act: under which key (None: no key), by whom, and a digest of what."""

    key: str | None
    owner: str
    digest: str

    def earlier(self) -> dict[str, Any] | None:
        """What the same sending answered before; Refusal where the key came with other content."""
        return None if self.key is None else self._once(answered)

    def do(self, act: Callable[[], dict[str, Any]]) -> dict[str, Any]:
        """Do it unless it was done under this key; a Refusal leaves the key free."""
        return act() if self.key is None else self._once(once, act)

    def _once(self, call: Callable[..., Any], *more: Any) -> Any:
        try:
            return call(self.key, self.owner, self.digest, *more)
        except KeyReused:
            raise Refusal(
                "sent_before",
                _(
                    "This form was sent before with other content, and that was done. What stands "
                    "here was not: look at both, then send it again if it is still wanted."
                ),
            ) from None
        except ValueError:
            raise Refusal(
                "idempotency_key", _("A key has 1 to 200 printable characters.")
            ) from None


def sending(key: str | None, by: Capacity, address: str, data: QueryDict, files: Any) -> Sending:
    """The digest is keyed: what was sent may hold a password, and its row must not tell of it."""
    said = [
        (name, [one for one in data.getlist(name) if isinstance(one, str)])
        for name in sorted(data)
        if name not in {ONCE, "csrfmiddlewaretoken"}
    ]
    for name in sorted(files):
        for upload in files.getlist(name):
            digest = hashlib.sha256()
            for chunk in upload.chunks():
                digest.update(chunk)
            upload.seek(0)
            said.append((name, [digest.hexdigest()]))
    whole = json.dumps([address, said])
    digest = salted_hmac("parties.acts", whole, algorithm="sha256").hexdigest()
    return Sending(key, f"person:{by.person.pk}", digest)


def perform(
    act: Act, found: Any, by: Capacity, form: ActForm, sent: Sending
) -> dict[str, Any] | None:
    """Do it and tell what came of it; a refusal becomes an error of the form and gives None."""

    def done() -> dict[str, Any]:
        state = state_of(act.do(found, by=by, **form.values()) or found)
        if act.back:
            state["url"] = reverse(act.back, kwargs={"dossier": by.dossier.pk})
        return state

    try:
        return sent.do(done)
    except Refusal as refusal:
        form.add_error(refusal.field if refusal.field in form.fields else None, str(refusal))
        form.refused = refusal.id  # type: ignore[attr-defined]
        return None


def page(act: Act) -> Callable[..., HttpResponse]:
    """The page of an act: works without any script."""

    @for_seat(act.model, **act.mark(("GET", "POST")))
    def view(request: HttpRequest, sitter: Sitter, found: Any) -> HttpResponse:
        by, posted = Capacity(sitter), request.method == "POST"
        typed = (request.POST, request.FILES) if posted else ()
        sent = sending(request.POST.get(ONCE), by, request.path, request.POST, request.FILES)
        # A link may fill the form in beforehand (which clause, which item); nothing is done by it.
        try:
            result = earlier(sent) if posted else None
            if result is None:
                form = act.form(
                    *typed, obj=found, by=by, request=request, act=act, initial=request.GET.dict()
                )
        except Refusal as refusal:
            return turned_away(request, act, found, sitter, refusal)
        if result is None and posted and form.is_valid():
            if form.needs_browser:
                step = first_step(form)
                if step is not None:
                    return second_page(request, act, found, sitter, step)
            else:
                result = perform(act, found, by, form, sent)
        if result is not None:
            said = act.tells(found, by) if act.tells else str(act.done)
            if said:
                messages.success(request, said)
            return redirect(result["url"])
        extra = act.context(found, by) if act.context else {}
        context = {"act": act, "form": form, "obj": found, "dossier": sitter.dossier, **extra}
        context["once"] = secrets.token_urlsafe(18)
        return render(request, act.template, context, status=422 if form.errors else 200)

    view.__name__ = f"{act.url_name.replace('-', '_')}_page"
    return view


def first_step(form: Any) -> Step | None:
    """What the browser is asked to do; a refusal becomes an error of the form and gives None."""
    try:
        step: Step = form.first_step()
        return step
    except Refusal as refusal:
        form.add_error(refusal.field if refusal.field in form.fields else None, str(refusal))
        form.refused = refusal.id
        return None


def second_page(
    request: HttpRequest, act: Act, found: Any, sitter: Sitter, step: Step
) -> HttpResponse:
    """The page on which the browser does its part; it sends the act's form once more."""
    extra = act.context(found, Capacity(sitter)) if act.context else {}
    context = {"act": act, "obj": found, "dossier": sitter.dossier, **extra, **step.context}
    context["once"] = secrets.token_urlsafe(18)
    return render(request, step.template, context)


def earlier(sent: Sending) -> dict[str, Any] | None:
    """What this very form did before. One sent again with other content is not lost: `perform`
    refuses it on the form, which then carries a fresh token."""
    try:
        return sent.earlier()
    except Refusal:
        return None


def turned_away(
    request: HttpRequest, act: Act, found: Any, sitter: Sitter, refusal: Refusal
) -> HttpResponse:
    """The page of an act whose form cannot even be made: why, and nothing to fill in."""
    context = {"act": act, "obj": found, "dossier": sitter.dossier, "refused": refusal}
    return render(request, "parties/act.html", context, status=409)


class ActCall(APIView):
    """The JSON call of an act: same mark, same form, same transition as the page."""

    act: Act

    def post(self, request: Request, dossier: uuid.UUID, pk: uuid.UUID | None = None) -> Response:
        """Do the act; 422 names the fields that are wrong, 409 the refusal."""
        access: Access = self.access  # type: ignore[attr-defined]
        sitter, found = enter(access, request, dossier, pk)  # type: ignore[arg-type]
        by = Capacity(sitter)
        data = form_data(request.data)
        sent = sending(request.headers.get(KEY), by, request.path, data, request.FILES)
        result = sent.earlier()
        if result is not None:
            return Response(result)
        form = self.act.form(data, request.FILES, obj=found, by=by, request=request, act=self.act)
        if not form.is_valid():
            return not_valid(form)
        if form.needs_browser:
            raise Refusal(
                "prepare_first",
                _("The browser has a part in this: call …/prepare/ first, then send its answer."),
            )
        result = perform(self.act, found, by, form, sent)
        return refused_answer(form) if result is None else Response(result)


class PrepareCall(APIView):
    """The first step of an act in two steps: answers with what the browser is to do."""

    act: Act

    def post(self, request: Request, dossier: uuid.UUID, pk: uuid.UUID | None = None) -> Response:
        """Prepare the act, without doing it; 422 and 409 as for the act itself."""
        access: Access = self.access  # type: ignore[attr-defined]
        sitter, found = enter(access, request, dossier, pk)  # type: ignore[arg-type]
        form = self.act.form(
            form_data(request.data), obj=found, by=Capacity(sitter), request=request, act=self.act
        )
        if not form.is_valid():
            return not_valid(form)
        if not form.needs_browser:
            raise Refusal("no_first_step", _("Nothing has to be prepared for this: send the act."))
        step = first_step(form)
        return refused_answer(form) if step is None else Response(step.answer)


def not_valid(form: ActForm) -> Response:
    """Which fields are wrong; a token that does not hold is a refusal."""
    if form.trouble is not None:
        raise form.trouble
    return Response({"id": "form", "fields": form.errors}, status=422)


def refused_answer(form: ActForm) -> Response:
    """The refusal that became an error of the form."""
    message = " ".join(str(e) for errors in form.errors.values() for e in errors)
    refused: str = form.refused  # type: ignore[attr-defined]
    return Response({"id": refused, "message": message}, status=409)


def form_data(data: Any) -> QueryDict:
    """What a JSON call sent, as a form expects it: text, or lists of text, by field name."""
    if isinstance(data, QueryDict):
        return data
    if not isinstance(data, dict):
        raise ParseError("an object with one member per field is expected")
    sent = QueryDict(mutable=True)
    for name, value in data.items():
        sent.setlist(
            name, [_plain(name, one) for one in (value if isinstance(value, list) else [value])]
        )
    return sent


def _plain(name: str, value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else ""
    if isinstance(value, str | int | float):
        return str(value)
    raise ParseError(f"{name}: text, a number, true, false, null or a list of these is expected")


def state_of(obj: Any) -> dict[str, Any]:
    """What a program learns about the object after an act."""
    return {
        "id": str(obj.pk),
        "kind": obj._meta.model_name,
        "status": getattr(obj, "status", None),
        "url": obj.get_absolute_url(),
    }


def call(act: Act, base: type[APIView] = ActCall) -> Callable[..., HttpResponse]:
    """The JSON view of an act, or of its first step, carrying the same mark as its page."""
    marked = for_seat(act.model, **act.mark(("POST",)))(lambda *a, **k: HttpResponse())
    access = marked.access  # type: ignore[attr-defined]
    made: Any = type(f"{act.url_name.title().replace('-', '')}{base.__name__}", (base,), {})
    made.act, made.access = act, access
    view = made.as_view()
    view.access = access
    return view


def place(act: Act) -> str:
    """The part of the address that names the object and the act."""
    return f"{act.noun}/<uuid:pk>/{act.name}/" if act.model else f"{act.name}/"


def act_pages(acts: Sequence[Act]) -> list[URLPattern]:
    """Pages, to be included under `d/<uuid:dossier>/`."""
    return [path(place(act), page(act), name=act.url_name) for act in acts]


def act_calls(acts: Sequence[Act]) -> list[URLPattern]:
    """JSON calls, to be included under `api/d/<uuid:dossier>/`."""
    whole = [path(place(act), call(act), name=f"{act.url_name}-api") for act in acts]
    first = [
        path(f"{place(act)}prepare/", call(act, PrepareCall), name=f"{act.url_name}-prepare-api")
        for act in acts
        if act.two_steps
    ]
    return [*whole, *first]
