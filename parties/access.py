"""Who may open what. Every view carries one of the marks made here, or it is refused.

`for_seat` loads the object and authorises in one step: a stranger gets 404 (whether the thing
exists is not told), a sitter on another side or without the role 403, another method 405.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import wraps
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import NoReverseMatch, resolve, reverse

from parties import logged
from parties.models import Dossier, DossierRow, Role, Side, Sitter
from parties.sides import TWO_SIDES as TWO_SIDES

View = Callable[..., HttpResponse]

ALL_SIDES = frozenset(Side.values)
ALL_ROLES = frozenset(Role.values)
LEADS = frozenset({Role.QUALITY_LEAD})
SIGNERS = frozenset({Role.QUALITY_LEAD, Role.DEPUTY})
STAFF = frozenset({Role.QUALITY_LEAD, Role.DEPUTY, Role.QUALITY_STAFF})
READING = frozenset({*STAFF, Role.READER})
KEEPERS = frozenset({Role.QUALITY_LEAD, Role.ADMINISTRATOR})  # of a firm's people, keys and seal


@dataclass(frozen=True)
class Access:
    """The mark on a view: who may come in and with which methods."""

    kind: str  # "seat", "person" or "all"
    methods: frozenset[str]
    model: type[DossierRow] | None = None
    sides: frozenset[str] = ALL_SIDES
    roles: frozenset[str] = ALL_ROLES
    reason: str = ""
    purposes: frozenset[str] = field(default_factory=lambda: frozenset(Dossier.Purpose.values))

    def allows(self, method: str | None) -> bool:
        """Whether the method is one of this view's; HEAD goes with GET."""
        return ("GET" if method == "HEAD" else method) in self.methods

    def admits(self, sitter: Sitter) -> bool:
        """Whether the sitter's side and role may come in (which objects they see apart)."""
        return sitter.seat.side in self.sides and sitter.role in self.roles


def way_to(sitter: Sitter | None, name: str, **kwargs: Any) -> str:
    """The address of a page by its URL name, or nothing where there is no such page or its mark
    does not admit the sitter: nobody is led to a closed door."""
    try:
        address = reverse(name, kwargs=kwargs)
    except NoReverseMatch:
        return ""
    access = getattr(resolve(address).func, "access", None)
    closed = sitter is not None and access is not None and not access.admits(sitter)
    return "" if closed else address


def enter(
    access: Access, request: HttpRequest, dossier: uuid.UUID, pk: uuid.UUID | None
) -> tuple[Sitter, Any]:
    """The sitter and the object they asked for; Http404 or PermissionDenied otherwise."""
    try:
        sitter = Sitter.objects.sitting(request.user, dossier)  # type: ignore[arg-type]
    except Sitter.DoesNotExist:
        raise Http404 from None
    if sitter.dossier.purpose not in access.purposes:
        raise Http404
    found: Any = sitter.dossier
    if access.model is not None:
        found = access.model.objects.visible_to(sitter).filter(pk=pk).first()
        if found is None:
            raise Http404
    if not access.admits(sitter):
        raise PermissionDenied
    return sitter, found


def for_seat(
    model: type[DossierRow] | None = None,
    *,
    sides: Iterable[str] = ALL_SIDES,
    roles: Iterable[str] = READING,
    methods: Iterable[str] = ("GET",),
    purpose: str | None = None,
    logs_itself: bool = False,
) -> Callable[[View], View]:
    """Open a view to sitters of the URL's dossier: `view(request, sitter, obj, …)`.

    The URL gives `dossier` and, with a model, `pk`; the view receives the row, never the key.
    Without a model it receives the dossier. `purpose` limits it to agreements or registers.

    What a guest of an agreement reads is logged here, so that no page can forget it. A view that
    `logs_itself` says what was taken, for whomever.
    """
    access = Access(
        "seat",
        frozenset(methods),
        model,
        frozenset(sides),
        frozenset(roles),
        purposes=frozenset([purpose] if purpose else Dossier.Purpose.values),
    )

    def mark(view: View) -> View:
        @wraps(view)
        def inner(request: HttpRequest, dossier: uuid.UUID, **rest: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            pk = rest.pop("pk", None) if access.model else None
            sitter, found = enter(access, request, dossier, pk)
            request.sitter = sitter  # type: ignore[attr-defined]
            answer = view(request, sitter, found, **rest)
            return answer if logs_itself else logged.shown(request, sitter, found, rest, answer)

        inner.access = access  # type: ignore[attr-defined]
        return inner

    return mark


def for_person(*, methods: Iterable[str] = ("GET",)) -> Callable[[View], View]:
    """Open a view to anybody signed in: pages about oneself and one's own list of dossiers."""
    access = Access("person", frozenset(methods))

    def mark(view: View) -> View:
        @wraps(view)
        def inner(request: HttpRequest, **rest: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            return view(request, **rest)

        inner.access = access  # type: ignore[attr-defined]
        return inner

    return mark


def open_to_all(reason: str, *, methods: Iterable[str] = ("GET",)) -> Callable[[View], View]:
    """Open a view to everybody, for a written reason."""
    access = Access("all", frozenset(methods), reason=reason)

    def mark(view: View) -> View:
        @wraps(view)
        def inner(request: HttpRequest, **rest: Any) -> HttpResponse:
            return view(request, **rest)

        inner.access = access  # type: ignore[attr-defined]
        return inner

    return mark
