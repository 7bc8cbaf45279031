"""A row of any table, filled with values that mean nothing: for attacks on frozen columns."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from django.db import models

from ledger.operations import AppendOnly, Freeze, guards

_numbers = count(1)

# Where constraints ask for more than types tell: table → field → value.
MOMENT = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
SPECIAL: dict[str, dict[str, Any]] = {
    "agreements_naming": {"side": "customer"},
    "agreements_remark": {"side": "customer", "struck_at": MOMENT, "struck_reason": "twice"},
    "agreements_revision": {
        "proposed_by": "customer",
        "status": "signed",
        "first_signer": "customer",
        "signed_at": MOMENT,
    },
    "agreements_standing": {"side": "customer"},
    "disputes_note": {"side_only": "customer", "released_at": None},
    "disputes_offer": {"side": "customer"},
    "disputes_post": {"side": "customer", "struck_at": MOMENT, "struck_reason": "twice"},
    "ledger_personal_key": {"sealed": None, "destroyed_at": MOMENT},
    "agreements_termspaper": {"place": 2},
    "parties_installation": {"id": 1},
    "parties_sealkey": {"issuer": "installation"},
    "parties_key": {"assurance": "service-held", "cose": None, "wrapped": None},
    "parties_signature": {"jws": "header..signature", "passkey": None},
    "shipments_submission": {"article": None},
}
# Nullable fields that a constraint wants filled.
FILLED = {
    ("parties_sealkey", "organisation"),
    ("parties_sealkey", "entered_by"),
    ("shipments_submission", "lot"),
}


def guarded() -> dict[str, tuple[type[models.Model], Any]]:
    """Tables with frozen columns: name → (model, the guard in the migrations)."""
    from django.apps import apps

    found = {}
    for label, guard in guards():
        model = apps.get_model(label, guard.model)
        found[model._meta.db_table] = (model, guard)
    return found


def value_for(field: models.Field, unlike: Any = None) -> Any:
    """A fresh value of the field's type, never `unlike`; a new row for a relation."""
    number = next(_numbers)
    if field.is_relation:
        return make_row(field.related_model)
    if field.choices:
        options = [key for key, _ in field.flatchoices if key not in ("", unlike)]
        return options[number % len(options)] if options else "other"
    if isinstance(field, models.EmailField):
        return f"row{number}@example.org"
    if isinstance(field, models.CharField | models.TextField):
        return uuid.uuid4().hex[: field.max_length or 32]
    simple: list[tuple[type[models.Field], Any]] = [
        (models.BooleanField, not unlike),
        (models.DecimalField, Decimal(number)),
        (models.IntegerField, number),
        (models.DateTimeField, datetime(2026, 3, 3, tzinfo=UTC) + timedelta(minutes=number)),
        (models.DateField, date(2026, 3, 3) + timedelta(days=number)),
        (models.BinaryField, b"bytes %d" % number),
        (models.JSONField, {"number": number}),
        (models.UUIDField, uuid.uuid4()),
    ]
    return next(value for kind, value in simple if isinstance(field, kind))


def make_row(
    model: type[models.Model], *, full: frozenset[str] = frozenset(), **given: Any
) -> models.Model:
    """A stored row; nullable columns in `full` (names of columns) get a value as well.

    `given`: values of fields that the caller wants.
    """
    table = model._meta.db_table
    _, guard = guarded().get(table, (model, None))
    values = {**SPECIAL.get(table, {}), **given}
    if isinstance(guard, Freeze) and guard.unless:
        name, free = guard.unless
        field = model._meta.get_field(name)
        values.setdefault(name, next(key for key, _ in field.flatchoices if key not in free))
    for field in model._meta.local_concrete_fields:
        if field.name in values or isinstance(field, models.AutoField):
            continue
        if field.null and field.column not in full and (table, field.name) not in FILLED:
            continue
        if field.has_default() and field.column not in full:
            continue
        values[field.name] = value_for(field)
    row = model(**values)
    models.Model.save_base(row, force_insert=True)
    return row


def is_append_only(guard: Any) -> bool:
    """Whether every change of a row is refused, also one that changes nothing."""
    return isinstance(guard, AppendOnly)
