"""What the application's own role may do on PostgreSQL: add to history, never change it.

The role that migrates owns the tables; the one that serves gets only what is listed here. Frozen
columns are out of its reach even where a trigger is gone: it has no right to UPDATE them, no DELETE
and no TRUNCATE on their tables, and as it owns nothing it can alter, disable or drop nothing.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.apps import apps
from django.db.models import Model

from ledger.operations import guards
from ledger.triggers import Rule

ADD = ("SELECT", "INSERT")
WRITE = (*ADD, "UPDATE", "DELETE")
MIGRATIONS = "django_migrations"


def grants(role: str, database: str, schema: str = "public") -> Iterator[str]:
    """The statements that give a role, which exists and owns nothing, what the service needs.

    For the owner of the tables to run after every migration; running them again changes nothing.
    """
    to, where = _name(role), _name(schema)
    yield f"REVOKE ALL ON ALL TABLES IN SCHEMA {where} FROM {to};"
    yield f"REVOKE ALL ON ALL SEQUENCES IN SCHEMA {where} FROM {to};"
    yield f"REVOKE CREATE ON SCHEMA {where} FROM PUBLIC;"
    yield f"GRANT CONNECT ON DATABASE {_name(database)} TO {to};"
    yield f"GRANT USAGE ON SCHEMA {where} TO {to};"
    for table, rights in sorted(rights_by_table().items()):
        yield f"GRANT {', '.join(rights)} ON {_name(table)} TO {to};"
    yield f"GRANT SELECT ON {_name(MIGRATIONS)} TO {to};"
    yield f"GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA {where} TO {to};"


def rights_by_table() -> dict[str, tuple[str, ...]]:
    """Table → rights, those on single columns with their names."""
    rules = {
        model: guard.rule(model)
        for label, guard in guards()
        for model in [apps.get_model(label, guard.model)]
    }
    models: list[type[Model]] = list(apps.get_models(include_auto_created=True))
    return {
        model._meta.db_table: _rights(rules.get(model))
        for model in models
        if model._meta.managed and not model._meta.proxy
    }


def _rights(rule: Rule | None) -> tuple[str, ...]:
    if rule is None or rule.unless is not None:  # the latter stays free for a while: see triggers
        return WRITE
    free = [name for name in rule.all_columns if name not in rule.columns and name != rule.key]
    return (*ADD, f"UPDATE ({', '.join(_name(name) for name in free)})") if free else ADD


def _name(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'
