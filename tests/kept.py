"""What many tests begin with is played once per process and put back from its rows.

Playing a world through the transitions takes a thousand queries; putting its rows back takes one
per table. `kept` plays it in the first test that asks for it and notes what came of it: rows
written or changed, files, mails, and the object that describes it. In the next tests the same rows
go back by plain INSERT and UPDATE, through the same triggers, in the transaction of that test.

It is played again wherever the outcome could be another one: under other settings, another clock or
another day, on top of other rows, with real transactions, or with files in a bucket.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from django.apps import apps
from django.conf import UserSettingsHolder, settings
from django.core import mail
from django.db import connection

from ledger import clock
from tests.cast import Cast

Made = TypeVar("Made")
Row = tuple[Any, ...]
Rows = dict[str, dict[Any, Row]]
# Folders of the single test: where something lies is no part of what it is.
FOLDERS = {"BLOB_DIR", "VAR_DIR"}


@dataclass(frozen=True)
class _Table:
    """A table, its columns, and which of them is the key."""

    name: str
    columns: tuple[str, ...]
    key: int

    def quoted(self) -> str:
        """All columns, for a statement."""
        return ", ".join(connection.ops.quote_name(column) for column in self.columns)


@dataclass(frozen=True)
class _Kept:
    """What came of playing: `made` describes it, `cast` is the cast that it was played with."""

    made: Any
    cast: Cast | None
    new: list[tuple[_Table, list[Row]]]
    changed: list[tuple[_Table, list[Row]]]
    files: dict[Path, bytes]
    mails: list[Any]


_shelf: dict[tuple[Any, ...], _Kept] = {}


def kept(name: str, play: Callable[[], Made], cast: Cast | None = None) -> Made:
    """What `play` makes, with its rows, files and mails in place; played only where it must be.

    `cast`: the cast that `play` uses; what is given back refers to it, not to a copy.
    """
    if not connection.in_atomic_block or settings.BLOB_BUCKET or clock._fixed.get():
        return play()
    key = (name, connection.vendor, _today(), _settings(), _counts())
    if key in _shelf:
        return _put_back(_shelf[key], cast)
    rows, files, mails = _rows(), _files(), len(mail.outbox)
    made = play()
    found = _rows()
    if any(set(rows[table]) - set(found[table]) for table in rows):
        return made  # something was removed: rows alone do not tell that
    _shelf[key] = _Kept(
        copy.deepcopy(made, {id(cast): cast} | _same(cast, cast)),
        cast,
        list(_differing(rows, found, new=True)),
        list(_differing(rows, found, new=False)),
        {path: data for path, data in _files().items() if path not in files},
        copy.deepcopy(mail.outbox[mails:]),
    )
    return made


def _put_back(what: _Kept, cast: Cast | None) -> Any:
    """Rows, files and mails as they were, and a copy of what describes them."""
    with connection.cursor() as cursor:
        for table, rows in what.new:
            one = f"({', '.join(['%s'] * len(table.columns))})"
            insert = (
                f"INSERT INTO {connection.ops.quote_name(table.name)} ({table.quoted()}) VALUES "
            )
            values = [value for row in rows for value in row]
            cursor.execute(insert + ", ".join([one] * len(rows)), values)
        for table, rows in what.changed:
            name, key = map(connection.ops.quote_name, (table.name, table.columns[table.key]))
            columns = ", ".join(f"{connection.ops.quote_name(c)} = %s" for c in table.columns)
            for row in rows:
                update = f"UPDATE {name} SET {columns} WHERE {key} = %s"
                cursor.execute(update, [*row, row[table.key]])
    for path, data in what.files.items():
        target = settings.BLOB_DIR / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    mail.outbox.extend(copy.deepcopy(what.mails))
    return copy.deepcopy(what.made, _same(what.cast, cast))


def _same(old: Cast | None, new: Cast | None) -> dict[int, Any]:
    """For `deepcopy`: everything of the old cast is to become its like of the new one."""
    if old is None or new is None:
        return {}
    pairs: list[tuple[Any, Any]] = [(old, new), (old.agreement, new.agreement)]
    pairs.append((old.other, new.other))
    for before, after in zip(vars(old).values(), vars(new).values(), strict=True):
        if isinstance(before, dict):
            pairs += [(before, after), *((before[key], after[key]) for key in before)]
    return {id(before): after for before, after in pairs}


@lru_cache(maxsize=1)
def _tables() -> tuple[_Table, ...]:
    """Every table of the models but those that migrations fill."""
    models = apps.get_models(include_auto_created=True)
    kinds = {model._meta.db_table: model._meta for model in models if model._meta.managed}
    return tuple(
        _Table(name, tuple(field.column for field in meta.local_concrete_fields), _key(meta))
        for name, meta in kinds.items()
        if meta.app_label not in {"contenttypes", "auth"}
    )


def _key(meta: Any) -> int:
    return [field.primary_key for field in meta.local_concrete_fields].index(True)


def _rows() -> Rows:
    """All rows, table by table, by their key."""
    found: Rows = {}
    with connection.cursor() as cursor:
        for table in _tables():
            name = connection.ops.quote_name(table.name)
            cursor.execute(f"SELECT {table.quoted()} FROM {name}")
            rows = [tuple(_bare(value) for value in row) for row in cursor.fetchall()]
            found[table.name] = {row[table.key]: row for row in rows}
    return found


def _bare(value: Any) -> Any:
    """Bytes for a view on the answer's memory."""
    return bytes(value) if isinstance(value, memoryview) else value


def _differing(before: Rows, after: Rows, *, new: bool) -> Iterator[tuple[_Table, list[Row]]]:
    """Rows that were not there before (`new`), or were others."""
    for table in _tables():
        old = before[table.name]
        rows = [
            row
            for key, row in after[table.name].items()
            if (key not in old if new else key in old and old[key] != row)
        ]
        if rows:
            yield table, rows


def _counts() -> tuple[Row, ...]:
    """How many rows each table has: what is put back was played on top of as many."""
    name = connection.ops.quote_name
    ask = " UNION ALL ".join(
        f"SELECT {n}, COUNT(*) FROM {name(table.name)}" for n, table in enumerate(_tables())
    )
    with connection.cursor() as cursor:
        cursor.execute(ask)
        return tuple(sorted(cursor.fetchall()))


def _settings() -> tuple[str, ...]:
    """Settings that are not those of the installation, innermost first."""
    found: list[str] = []
    holder = settings._wrapped
    while isinstance(holder, UserSettingsHolder):
        own = {k: v for k, v in vars(holder).items() if k.isupper() and k not in FOLDERS}
        found += [f"{name}={value!r}" for name, value in sorted(own.items())]
        found += sorted(f"no {name}" for name in vars(holder)["_deleted"])
        holder = vars(holder)["default_settings"]
    return tuple(dict.fromkeys(found))


def _today() -> tuple[str, str]:
    """The day here and in the agreement's zone."""
    now = clock.now()
    return str(now.date()), str(now.astimezone(ZoneInfo("Europe/Berlin")).date())


def _files() -> dict[Path, bytes]:
    """All files of the test, by their place."""
    top = settings.BLOB_DIR
    return {p.relative_to(top): p.read_bytes() for p in sorted(top.rglob("*")) if p.is_file()}
