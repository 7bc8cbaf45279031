"""Migration operations that make tables append-only or columns frozen, by database triggers.

`AppendOnly` refuses every change and removal; `Freeze` refuses changes to named columns and removal
of rows; `ForwardOnly` lets a counter only grow by one. SQLite has no protection against OR REPLACE,
which removes the old row without firing a DELETE trigger: triggers before INSERT and UPDATE stand
against it, and none relies on a setting of the connection. SQLite also loses triggers whenever
Django rebuilds a table, so they are re-created after every migrate (`restore_triggers`) and looked
for by the self-check.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from django.apps import apps as installed_apps
from django.db import connections
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.operations.base import Operation, OperationCategory
from django.db.migrations.state import ProjectState
from django.db.models import Model

from ledger.triggers import Rule, Trigger, columns_of, triggers_for

CHECKED_VENDORS = ("sqlite", "postgresql")


class _Guard(Operation):
    """Common part: create the triggers forwards, drop them backwards."""

    reversible = True
    reduces_to_sql = True
    category = OperationCategory.SQL

    def __init__(self, model: str) -> None:
        self.model = model

    def rule(self, model: type[Model]) -> Rule:
        """What is refused on this table."""
        raise NotImplementedError

    def columns(self, model: type[Model]) -> list[str]:
        """The columns that can never change, as the registry lists them."""
        return sorted(self.rule(model).columns)

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        """Triggers are no part of the model state."""

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        """Create the triggers."""
        model = to_state.apps.get_model(app_label, self.model)
        for trigger in triggers_for(schema_editor.connection, self.rule(model)):
            for statement in (*trigger.drop, *trigger.create):
                schema_editor.execute(statement, params=None)

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        """Drop the triggers."""
        model = from_state.apps.get_model(app_label, self.model)
        for trigger in triggers_for(schema_editor.connection, self.rule(model)):
            for statement in trigger.drop:
                schema_editor.execute(statement, params=None)

    def describe(self) -> str:
        """One line for `migrate`."""
        return f"{type(self).__name__} {self.model}"


class AppendOnly(_Guard):
    """Rows of the model are inserted and never changed or removed."""

    def rule(self, model: type[Model]) -> Rule:
        """Every column is frozen."""
        return Rule.of(model, columns=list(columns_of(model).values()))


class Freeze(_Guard):
    """Named fields never change once written, and rows are never removed.

    `once` fields may go from NULL to a value one time, `emptied` ones from a value to NULL, for
    good. `unless=("state", ["drafting"])` leaves a
    row free (also to be removed) as long as its old state is one of these.
    """

    def __init__(
        self,
        model: str,
        columns: Sequence[str],
        once: Sequence[str] = (),
        unless: tuple[str, Sequence[str]] | None = None,
        emptied: Sequence[str] = (),
    ) -> None:
        super().__init__(model)
        self.fields = list(columns)
        self.once = list(once)
        self.emptied = list(emptied)
        self.unless = unless

    def rule(self, model: type[Model]) -> Rule:
        """The named columns and the primary key are frozen."""
        column = columns_of(model)
        key = str(model._meta.pk.column)
        frozen = [column[name] for name in self.fields]
        return Rule.of(
            model,
            columns=[key, *(name for name in frozen if name != key)],
            once=[column[name] for name in self.once],
            emptied=[column[name] for name in self.emptied],
            unless=(column[self.unless[0]], tuple(self.unless[1])) if self.unless else None,
        )

    def columns(self, model: type[Model]) -> list[str]:
        """The fields named in the migration in any way, without the primary key."""
        rule = self.rule(model)
        key = model._meta.pk.column
        named = key in self.fields or model._meta.pk.name in self.fields
        return sorted(
            name for name in (*rule.columns, *rule.once, *rule.emptied) if name != key or named
        )


class ForwardOnly(_Guard):
    """`counter` grows by exactly one at each change, `columns` never change, rows stay."""

    def __init__(self, model: str, counter: str, columns: Sequence[str]) -> None:
        super().__init__(model)
        self.counter = counter
        self.fields = list(columns)

    def rule(self, model: type[Model]) -> Rule:
        """The named columns are frozen and the counter moves by one."""
        return Rule.of(model, columns=self.fields, counter=self.counter)


@lru_cache(maxsize=1)
def guards() -> tuple[tuple[str, _Guard], ...]:
    """Every guard in the migrations on disk as (app label, operation); the last one per model."""
    loader = MigrationLoader(None, ignore_no_migrations=True)
    found: dict[tuple[str, str], _Guard] = {}
    for (app_label, _), migration in sorted(loader.disk_migrations.items()):
        for operation in migration.operations:
            if isinstance(operation, _Guard):
                found[app_label, operation.model.lower()] = operation
    return tuple((app_label, guard) for (app_label, _), guard in found.items())


def frozen() -> list[tuple[str, str]]:
    """The registry: every frozen (table, column), sorted."""
    pairs: set[tuple[str, str]] = set()
    for app_label, guard in guards():
        model = installed_apps.get_model(app_label, guard.model)
        pairs.update((model._meta.db_table, column) for column in guard.columns(model))
    return sorted(pairs)


def expected_triggers(using: str, app_label: str | None = None) -> Iterator[Trigger]:
    """The triggers that should stand on the tables that exist in this database."""
    connection = connections[using]
    if connection.vendor not in CHECKED_VENDORS:
        return
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor))
    for label, guard in guards():
        model = installed_apps.get_model(label, guard.model)
        if app_label in (None, label) and model._meta.db_table in tables:
            yield from triggers_for(connection, guard.rule(model))


def restore_triggers(using: str, app_label: str | None = None) -> None:
    """Create again every trigger whose migration has run; harmless when they stand."""
    connection = connections[using]
    with connection.cursor() as cursor:
        for trigger in expected_triggers(using, app_label):
            if not _has_columns(using, trigger):
                continue  # migrated to an earlier state, before these columns
            for statement in (*trigger.drop, *trigger.create):
                cursor.execute(statement)


def _has_columns(using: str, trigger: Trigger) -> bool:
    connection = connections[using]
    with connection.cursor() as cursor:
        # Not the introspection's description: on SQLite it reads the table's SQL, and stumbles over
        # a list in a check constraint.
        cursor.execute(f"SELECT * FROM {connection.ops.quote_name(trigger.table)} LIMIT 0")  # noqa: S608
        return trigger.needs <= {column[0] for column in cursor.description}
