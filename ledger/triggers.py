"""The SQL of the triggers behind `ledger.operations`, for SQLite and PostgreSQL.

SQLite takes a row away without a DELETE trigger where another takes its place (INSERT OR REPLACE,
UPDATE OR REPLACE): by a unique set of columns, by a unique set under a condition, or by the hidden
rowid that a table has beside a key of text. All three are looked for before the row is written.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Model, UniqueConstraint

# pg_trigger.tgtype: for each row 1, before 2, delete 8, update 16, truncate 32.
_TGTYPE = {"update": 1 + 2 + 16, "delete": 1 + 2 + 8, "truncate": 2 + 32}
_ROWID_NAMES = ("rowid", "_rowid_", "oid")


@dataclass(frozen=True)
class Rule:
    """What one table refuses. All names are columns.

    `emptied`: columns that may lose their value and get no other.
    `uniques`: sets of columns that identify a row, primary key first (INSERT OR REPLACE).
    `conditional`: sets that do so among the rows of a condition.
    """

    model: type[Model]

    table: str
    key: str
    columns: tuple[str, ...]
    all_columns: tuple[str, ...]
    uniques: tuple[tuple[str, ...], ...]
    conditional: tuple[UniqueConstraint, ...]
    once: tuple[str, ...] = ()
    emptied: tuple[str, ...] = ()
    unless: tuple[str, tuple[str, ...]] | None = None
    counter: str | None = None

    @classmethod
    def of(
        cls,
        model: type[Model],
        *,
        columns: Sequence[str],
        once: Sequence[str] = (),
        emptied: Sequence[str] = (),
        unless: tuple[str, tuple[str, ...]] | None = None,
        counter: str | None = None,
    ) -> Rule:
        """The rule for a model's table."""
        return cls(
            model=model,
            table=model._meta.db_table,
            key=str(model._meta.pk.column),
            columns=tuple(columns),
            all_columns=tuple(columns_of(model).values()),
            uniques=_unique_sets(model),
            conditional=_conditional(model),
            once=tuple(once),
            emptied=tuple(emptied),
            unless=unless,
            counter=counter,
        )


@dataclass(frozen=True)
class Trigger:
    """One trigger: its name and table, the statements that drop and create it.

    `body`: what the database keeps of it word by word (SQLite: the whole statement; PostgreSQL:
    when it fires, as a number, and the body of its function), for the self-check.
    """

    name: str
    table: str
    create: tuple[str, ...]
    drop: tuple[str, ...]
    body: str
    needs: frozenset[str] = field(default_factory=frozenset)


def triggers_for(connection: BaseDatabaseWrapper, rule: Rule) -> list[Trigger]:
    """The triggers for one rule; none on databases that the project does not support."""
    if connection.vendor == "sqlite":
        return _sqlite(connection, rule)
    if connection.vendor == "postgresql":
        return _postgresql(rule)
    return []


def columns_of(model: type[Model]) -> dict[str, str]:
    """Columns of a model's table by field name."""
    return {field.name: str(field.column) for field in model._meta.local_concrete_fields}


def _unique_sets(model: type[Model]) -> tuple[tuple[str, ...], ...]:
    """Column sets that identify a row, whatever its state."""
    meta = model._meta
    column = columns_of(model)
    sets: list[tuple[str, ...]] = [(str(meta.pk.column),)]
    sets += [(column[f.name],) for f in meta.local_concrete_fields if f.unique]
    sets += [tuple(column[name] for name in names) for names in meta.unique_together]
    sets += [
        tuple(column[name] for name in constraint.fields)
        for constraint in _constraints(model)
        if constraint.condition is None
    ]
    return tuple(dict.fromkeys(sets))


def _conditional(model: type[Model]) -> tuple[UniqueConstraint, ...]:
    """Constraints whose columns identify a row among those of a condition."""
    return tuple(one for one in _constraints(model) if one.condition is not None)


def _constraints(model: type[Model]) -> list[UniqueConstraint]:
    """The unique constraints; one over expressions is refused, no trigger could watch it."""
    found = [one for one in model._meta.constraints if isinstance(one, UniqueConstraint)]
    for one in found:
        if not one.fields:
            raise ValueError(f"{one.name}: a guarded table takes unique constraints of fields only")
    return found


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


def _changed(rule: Rule, differs: Callable[[str], str], counter: str) -> str:
    """SQL that is true where an UPDATE changes what is frozen; `differs`: of one column."""
    parts = [differs(_q(name)) for name in rule.columns]
    parts += [f"(OLD.{_q(name)} IS NOT NULL AND {differs(_q(name))})" for name in rule.once]
    parts += [f"(NEW.{_q(name)} IS NOT NULL AND {differs(_q(name))})" for name in rule.emptied]
    if rule.counter:
        parts.append(f"NEW.{_q(rule.counter)} {counter} OLD.{_q(rule.counter)} + 1")
    changed = " OR ".join(parts)
    free = _free(rule)
    return f"NOT ({free}) AND ({changed})" if free else changed


def _appends_only(rule: Rule) -> bool:
    """Whether also the UPDATE that changes nothing is refused."""
    return set(rule.columns) == set(rule.all_columns) and rule.unless is None


def _sqlite(connection: BaseDatabaseWrapper, rule: Rule) -> list[Trigger]:
    table, free, rowid = _q(rule.table), _free(rule), _rowid(rule)
    gone = f" WHEN NOT ({free})" if free else ""
    changed = _changed(rule, lambda name: f"NEW.{name} IS NOT OLD.{name}", "IS NOT")
    when = "" if _appends_only(rule) else f" WHEN {changed}"
    moved = f"NEW.{rowid} IS NOT OLD.{rowid}"
    taken, ousted = _taken(connection, rule, ""), _taken(connection, rule, f"OLD.{rowid}")
    heads = {
        "update": f"BEFORE UPDATE ON {table}{when}",
        "delete": f"BEFORE DELETE ON {table}{gone}",
        "replace": f"BEFORE INSERT ON {table} WHEN {taken}",
        "oust": f"BEFORE UPDATE ON {table} WHEN {moved} OR {ousted}",
        # Before an INSERT without a rowid NEW.rowid is -1: no row may stand there.
        "rowid": f"AFTER INSERT ON {table} WHEN NEW.{rowid} < 1",
    }
    return [_sqlite_trigger(rule, what, head) for what, head in heads.items()]


def _rowid(rule: Rule) -> str:
    """A name of the hidden rowid that no column bears (an integer primary key is the rowid)."""
    taken = {name.lower() for name in rule.all_columns}
    return next(name for name in _ROWID_NAMES if name not in taken)


def _taken(connection: BaseDatabaseWrapper, rule: Rule, but: str) -> str:
    """SQL: a row that the new one would replace exists; `but`: the rowid of the one updated.

    One EXISTS per set, so that each finds its index.
    """
    row, rowid = _q(rule.table), _rowid(rule)
    other = f" AND {row}.{rowid} IS NOT {but}" if but else ""

    def stands(names: Sequence[str], condition: str = "") -> str:
        same = " AND ".join(f"{row}.{name} = NEW.{name}" for name in names)
        return f"EXISTS (SELECT 1 FROM {row} WHERE {same}{condition}{other})"  # noqa: S608 - names

    found = [stands([rowid])] if not but else []  # a rowid never moves, see "oust"
    found += [stands([_q(name) for name in names]) for names in rule.uniques]
    column = columns_of(rule.model)
    for constraint in rule.conditional:
        # Django's own words for the condition, those of the index that it makes.
        editor = connection.schema_editor()
        holds = constraint._get_condition_sql(rule.model, editor)  # type: ignore[attr-defined]
        new = ", ".join(
            f"NEW.{_q(name)} AS {_q(name)}" for name in _of_condition(constraint, column)
        )
        there = stands([_q(column[name]) for name in constraint.fields], f" AND ({holds})")
        found.append(f"(EXISTS (SELECT 1 FROM (SELECT {new}) WHERE {holds}) AND {there})")  # noqa: S608
    return " OR ".join(found)


def _of_condition(constraint: UniqueConstraint, column: dict[str, str]) -> list[str]:
    """The columns that a constraint's condition speaks of."""
    condition = constraint.condition
    return (
        sorted(column.get(name, name) for name in condition.referenced_base_fields)
        if condition
        else []
    )


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
    column = columns_of(rule.model)
    for constraint in rule.conditional:
        uniques += [column[name] for name in constraint.fields]
        uniques += _of_condition(constraint, column)
    return frozenset(
        [rule.key, *rule.columns, *rule.once, *rule.emptied, *unless, *counter, *uniques]
    )


def _postgresql(rule: Rule) -> list[Trigger]:
    free = _free(rule)
    # Images are compared: a number in JSON may be equal and yet be written otherwise.
    changed = _changed(
        rule,
        lambda name: f"ROW(NEW.{name})::record *<> ROW(OLD.{name})::record",
        "IS DISTINCT FROM",
    )
    return [
        _postgresql_trigger(rule, "update", "" if _appends_only(rule) else changed),
        _postgresql_trigger(rule, "delete", f"NOT ({free})" if free else ""),
        _postgresql_trigger(rule, "truncate", ""),
    ]


def _postgresql_trigger(rule: Rule, what: str, when: str) -> Trigger:
    """The condition stands in the function, whose body the self-check reads, not in a WHEN.

    ALWAYS: it fires also where session_replication_role is "replica".
    """
    name, table = _q(f"{rule.table}_frozen_{what}"), _q(rule.table)
    refuse = (
        f"RAISE EXCEPTION '{rule.table} is append-only or frozen: {what} refused' "
        "USING ERRCODE = 'integrity_constraint_violation';"
    )
    row = {"update": "NEW", "delete": "OLD"}.get(what, "NULL")
    body = f" BEGIN IF {when or 'TRUE'} THEN {refuse} END IF; RETURN {row}; END "
    function = (
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql "
        f"AS $frozen${body}$frozen$"
    )
    each = "STATEMENT" if what == "truncate" else "ROW"
    trigger = (
        f"CREATE TRIGGER {name} BEFORE {what.upper()} ON {table} FOR EACH {each} "
        f"EXECUTE FUNCTION {name}()"
    )
    return Trigger(
        name=f"{rule.table}_frozen_{what}",
        table=rule.table,
        create=(function, trigger, f"ALTER TABLE {table} ENABLE ALWAYS TRIGGER {name}"),
        drop=(
            f"DROP TRIGGER IF EXISTS {name} ON {table}",
            f"DROP FUNCTION IF EXISTS {name}()",
        ),
        body=f"{_TGTYPE[what]}{body}",
        needs=_needs(rule),
    )
