"""Twins of rows: the same row again in another dossier, or seen by another side only.

Most tables are never private, or never shared, by any transition. Their views must keep to
`side_only` and `dossier` all the same: a twin is such a row as no transition makes.
"""

from __future__ import annotations

import itertools
import uuid
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, nullcontext
from typing import Any

from django.apps import apps
from django.conf.locale import LANG_INFO
from django.db import connection
from django.db.models import CheckConstraint

from agreements.models import Draft
from ledger import clock
from parties.models import Dossier, DossierRow, RegisterRow
from shipments.models import Submission


def models() -> list[type[DossierRow]]:
    """Every table of dossier rows; those that others point to one to one come first."""
    found = [model for model in apps.get_models() if issubclass(model, DossierRow)]
    return sorted(found, key=lambda model: model is not Submission)


FRESH = itertools.count(1000)  # numbers that nothing else has


def _later(row: Any) -> dict[str, Any]:
    return {"number": next(FRESH)}


def _closed(status: str) -> Callable[[Any], dict[str, Any]]:
    return lambda row: {**_later(row), "status": status}


def _unused(row: Any) -> str:
    """A language in which there is no paper of this verdict, or of these terms, yet."""
    papers = (row.verdict if hasattr(row, "verdict") else row.revision).papers
    used = set(papers.values_list("language", flat=True))
    return next(code for code in LANG_INFO if code not in used)


# What must differ because it may stand only once, or would not be seen to be another's.
DIFFERENT: dict[str, Callable[[Any], dict[str, Any]]] = {
    "revision": lambda row: {
        **_later(row),
        "status": row.status if row.status == "signed" else "withdrawn",
    },
    "standing": _later,
    "offer": _closed("declined"),
    "submission": lambda row: {"nth": next(FRESH), "digest": uuid.uuid4().hex * 2},
    "verdictpaper": lambda row: {"language": _unused(row)},
    "termspaper": lambda row: {"language": _unused(row)},
    "documentseal": lambda row: {"place": next(FRESH)},
    "lot": lambda row: {"number": f"{row.number}-{uuid.uuid4().hex[:6]}"},
    "firstarticle": lambda row: {"number": f"{row.number}-{uuid.uuid4().hex[:6]}"},
    "booth": lambda row: {"zone": "Pacific/Auckland"},
    "measuredset": lambda row: {"labels": [f"{label} of another" for label in row.labels]},
    "sitting": lambda row: {"specimens": [f"{label} of another" for label in row.specimens]},
    "retainedpiece": lambda row: {"seal": uuid.uuid4().hex},
    "judgement": lambda row: {"observer": uuid.uuid4()},
    "dispute": _later,
    "signature": lambda row: {"act": uuid.uuid4().hex, "name": f"{row.name} of another"},
    "invitation": lambda row: {"token_hash": uuid.uuid4().hex},
}


# What belongs to one other row alone: that row gets a twin too, in the same place.
BESIDE = {"dispute": "rejection", "verdict": "submission", "naming": "revision"}


def twin(row: DossierRow, **changes: Any) -> Any:
    """The row once more, with `changes`; written past all transitions."""
    values = {
        column.name: getattr(row, column.name)
        for column in row._meta.concrete_fields
        if column.name != "id"
    }
    values |= DIFFERENT.get(row._meta.model_name or "", lambda _row: {})(row)
    # Before all real rows: where a page takes the first of several, it would take the twin.
    values["id"] = uuid.UUID(int=uuid.uuid4().int >> 32)
    beside = BESIDE.get(row._meta.model_name or "")
    if beside and beside not in changes:
        values[beside] = twin(getattr(row, beside), **changes)
    if isinstance(row, RegisterRow):
        values |= {"key": uuid.uuid4(), "supersedes": None}
    with unchecked(type(row)) if changes.get("released_at") else nullcontext():
        return type(row).objects.create(**values | changes)


def private_twins(row: DossierRow, sides: set[str]) -> list[dict[str, Any]]:
    """What makes a twin that only another side sees, for each of the other sides."""
    if isinstance(row, Draft):  # a side has one draft, and only two sides have any
        return [{"side_only": other_side(row)}]
    return [{"side_only": side} for side in sorted(sides - {row.side_only})]


def shared_twins(row: DossierRow) -> list[dict[str, Any]]:
    """What makes a private row one that everybody sees."""
    if not row.side_only:
        return []
    side = other_side(row) if isinstance(row, Draft) else row.side_only
    return [{"side_only": side, "released_at": clock.now()}]


@contextmanager
def unchecked(model: type[DossierRow]) -> Iterator[None]:
    """Without the check constraints of a table: marks must hold where they are not the only wall.

    On PostgreSQL the constraints come back when the surrounding savepoint is rolled back.
    """
    names = [one.name for one in model._meta.constraints if isinstance(one, CheckConstraint)]
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA ignore_check_constraints = ON")
        else:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            for name in names:
                cursor.execute(
                    f'ALTER TABLE {model._meta.db_table} DROP CONSTRAINT IF EXISTS "{name}"'
                )
        try:
            yield
        finally:
            if connection.vendor == "sqlite":
                cursor.execute("PRAGMA ignore_check_constraints = OFF")


def other_side(row: DossierRow) -> str:
    """The other one of the two that negotiate."""
    return "supplier" if row.side_only == "customer" else "customer"


def plant(rows: Iterable[DossierRow], **changes: Any) -> None:
    """Twins of all rows that may stand beside each other. In another dossier a thing of a register
    also gets a twin of the same key, as if among its earlier rows."""
    for row in rows:
        if isinstance(row, Draft) and "dossier" not in changes:
            continue  # a side has one draft, which is there already
        twin(row, **changes)
        if isinstance(row, RegisterRow) and "dossier" in changes:
            twin(row, key=row.key, version=0, **changes)


def all_rows(dossier: Dossier) -> list[DossierRow]:
    """Every row of a dossier, but superseded rows of registers (their things have newer ones)."""
    found: list[DossierRow] = []
    for model in models():
        rows = model.objects.filter(dossier=dossier)
        if issubclass(model, RegisterRow):
            rows = rows.filter(superseded_by=None)
        found += rows
    return found
