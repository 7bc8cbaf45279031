"""The SQL of the triggers behind `ledger.operations`, for SQLite and PostgreSQL."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from django.db.models import Model, UniqueConstraint


@dataclass(frozen=True)
class Rule:
    """What one table refuses. All names are columns.

    `uniques`: sets of columns that identify a row, primary key first (INSERT OR REPLACE).
    """

    table: str
    key: str
    columns: tuple[str, ...]
    all_columns: tuple[str, ...]
    uniques: tuple[tuple[str, ...], ...]
    once: tuple[str, ...] = ()
    unless: tuple[str, tuple[str, ...]] | None = None
    counter: str | None = None

    @classmethod
    def of(
        cls,
        model: type[Model],
        *,
        columns: Sequence[str],
        once: Sequence[str] = (),
        unless: tuple[str, tuple[str, ...]] | None = None,
        counter: str | None = None,
    ) -> Rule:
        """The rule for a model's table."""
        return cls(
            table=model._meta.db_table,
            key=str(model._meta.pk.column),
            columns=tuple(columns),
            all_columns=tuple(columns_of(model).values()),
            uniques=_unique_sets(model),
            once=tuple(once),
            unless=unless,
            counter=counter,
        )


@dataclass(frozen=True)
class Trigger:
    """One trigger: its name and table, the statements that drop and create it.

    `body`: what the database keeps of it word by word (SQLite: the whole statement; PostgreSQL:
    the body of its function), for the self-check.
    """

    name: str
    table: str
    create: tuple[str, ...]
    drop: tuple[str, ...]
    body: str
    needs: frozenset[str] = field(default_factory=frozenset)


def triggers_for(vendor: str, rule: Rule) -> list[Trigger]:
    """The triggers for one rule; none on databases that the project does not support."""
    if vendor == "sqlite":
        return _sqlite(rule)
    if vendor == "postgresql":
        return _postgresql(rule)
    return []


def columns_of(model: type[Model]) -> dict[str, str]:
    """Columns of a model's table by field name."""
    return {field.name: str(field.column) for field in model._meta.local_concrete_fields}


def _unique_sets(model: type[Model]) -> tuple[tuple[str, ...], ...]:
    """Column sets that identify a row. Conditional constraints are left out."""
    meta = model._meta
    column = columns_of(model)
    sets: list[tuple[str, ...]] = [(str(meta.pk.column),)]
    sets += [(column[f.name],) for f in meta.local_concrete_fields if f.unique]
    sets += [tuple(column[name] for name in names) for names in meta.unique_together]
    sets += [
        tuple(column[name] for name in constraint.fields)
        for constraint in meta.constraints
        if isinstance(constraint, UniqueConstraint)
        and constraint.fields
        and constraint.condition is None
    ]
    return tuple(dict.fromkeys(sets))


def _q(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _text(value: str) -> str:
    return "'" + value.replace("'", "''") + "'"


def _free(rule: Rule) -> str:
    """SQL that is true where the old row is still free to change; empty when never."""
    if rule.unless is None:
        return ""
    column, values = rule.unless
    return f"OLD.{_q(column)} IN ({', '.join(_text(value) for value in values)})"


def _changed(rule: Rule, differs: str) -> str:
    """SQL that is true where an UPDATE changes what is frozen; `differs`: IS NOT / IS DISTINCT."""
    parts = [f"NEW.{_q(name)} {differs} OLD.{_q(name)}" for name in rule.columns]
    parts += [
        f"(OLD.{_q(name)} IS NOT NULL AND NEW.{_q(name)} {differs} OLD.{_q(name)})"
        for name in rule.once
    ]
    if rule.counter:
        parts.append(f"NEW.{_q(rule.counter)} {differs} OLD.{_q(rule.counter)} + 1")
    changed = " OR ".join(parts)
    free = _free(rule)
    return f"NOT ({free}) AND ({changed})" if free else changed


def _sqlite(rule: Rule) -> list[Trigger]:
    table, free = _q(rule.table), _free(rule)
    gone = f" WHEN NOT ({free})" if free else ""
    everything = set(rule.columns) == set(rule.all_columns)
    # An append-only table refuses also the UPDATE that changes nothing.
    when = "" if everything and not free else f" WHEN {_changed(rule, 'IS NOT')}"
    return [
        _sqlite_trigger(rule, "update", f"BEFORE UPDATE ON {table}{when}"),
        _sqlite_trigger(rule, "delete", f"BEFORE DELETE ON {table}{gone}"),
        _sqlite_trigger(rule, "replace", f"BEFORE INSERT ON {table} WHEN {_taken(rule, False)}"),
        *(
            []
            if everything or len(rule.uniques) == 1
            else [
                _sqlite_trigger(rule, "oust", f"BEFORE UPDATE ON {table} WHEN {_taken(rule, True)}")
            ]
        ),
    ]


def _taken(rule: Rule, updating: bool) -> str:
    """SQL: a row that the new one would replace exists (another row, where one is updated)."""
    row = _q(rule.table)
    same = " OR ".join(
        "(" + " AND ".join(f"{row}.{_q(name)} = NEW.{_q(name)}" for name in names) + ")"
        for names in rule.uniques
    )
    other = f" AND {row}.{_q(rule.key)} IS NOT OLD.{_q(rule.key)}" if updating else ""
    return f"EXISTS (SELECT 1 FROM {row} WHERE ({same}){other})"  # noqa: S608 - names of columns only


def _sqlite_trigger(rule: Rule, what: str, head: str) -> Trigger:
    name = f"{rule.table}_frozen_{what}"
    body = f"SELECT RAISE(ABORT, '{rule.table} is append-only or frozen: {what} refused');"
    create = f"CREATE TRIGGER {_q(name)} {head} BEGIN {body} END"
    return Trigger(
        name=name,
        table=rule.table,
        create=(create,),
        drop=(f"DROP TRIGGER IF EXISTS {_q(name)}",),
        body=create,
        needs=_needs(rule),
    )


def _needs(rule: Rule) -> frozenset[str]:
    unless = [rule.unless[0]] if rule.unless else []
    counter = [rule.counter] if rule.counter else []
    uniques = [name for names in rule.uniques for name in names]
    return frozenset([rule.key, *rule.columns, *rule.once, *unless, *counter, *uniques])


def _postgresql(rule: Rule) -> list[Trigger]:
    table, free = _q(rule.table), _free(rule)
    gone = f" WHEN (NOT ({free}))" if free else ""
    everything = set(rule.columns) == set(rule.all_columns)
    when = "" if everything and not free else f" WHEN ({_changed(rule, 'IS DISTINCT FROM')})"
    return [
        _postgresql_trigger(rule, "update", f"BEFORE UPDATE ON {table} FOR EACH ROW{when}"),
        _postgresql_trigger(rule, "delete", f"BEFORE DELETE ON {table} FOR EACH ROW{gone}"),
        _postgresql_trigger(rule, "truncate", f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT"),
    ]


def _postgresql_trigger(rule: Rule, what: str, head: str) -> Trigger:
    name = f"{rule.table}_frozen_{what}"
    body = (
        f" BEGIN RAISE EXCEPTION '{rule.table} is append-only or frozen: {what} refused' "
        "USING ERRCODE = 'integrity_constraint_violation'; END "
    )
    function = (
        f"CREATE OR REPLACE FUNCTION {_q(name)}() RETURNS trigger LANGUAGE plpgsql "
        f"AS $frozen${body}$frozen$"
    )
    return Trigger(
        name=name,
        table=rule.table,
        create=(function, f"CREATE TRIGGER {_q(name)} {head} EXECUTE FUNCTION {_q(name)}()"),
        drop=(
            f"DROP TRIGGER IF EXISTS {_q(name)} ON {_q(rule.table)}",
            f"DROP FUNCTION IF EXISTS {_q(name)}()",
        ),
        body=body,
        needs=_needs(rule),
    )
