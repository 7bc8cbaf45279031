"""One step of a state: a conditional UPDATE on the old state, and its entry, in one transaction."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from ledger import chain
from ledger.kinds import Kind
from parties.capacity import Capacity
from parties.refusal import Refusal


def move(row: Any, *, old: Iterable[str], new: str, **fields: Any) -> None:
    """Bring a row from one of the old states to the new one; Refusal where it has moved on."""
    manager: models.Manager[Any] = type(row).objects
    moved = manager.filter(pk=row.pk, status__in=list(old)).update(status=new, **fields)
    if moved != 1:
        row.refresh_from_db()
        raise Refusal(
            "wrong_state",
            _("This cannot be done now: the state is “%(state)s”. Nothing was changed."),
            state=row.get_status_display(),
        )
    row.refresh_from_db()


def record(
    row: Any, kind: Kind, by: Capacity, act: str, payload: dict[str, Any], blobs: Iterable[str] = ()
) -> None:
    """Append the entry of a move; empty values are left out of the payload."""
    chain.append(
        row.dossier.chain,
        by=by.actor(),
        kind=kind,
        subject=row.subject,
        act=act,
        payload={name: value for name, value in payload.items() if value not in (None, "")},
        blobs=list(blobs),
    )


def check_side(by: Capacity, side: str) -> None:
    """The act belongs to one side; the access mark says so too, and this holds for tasks."""
    if by.side != side:
        raise Refusal("wrong_side", _("This act belongs to the other side."))
