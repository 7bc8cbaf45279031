"""Databases of a test's own, for programs that run as processes: a file, or one on PostgreSQL."""

from __future__ import annotations

import os
import subprocess
import sys
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import psycopg
from django.conf import settings
from psycopg import sql

from tests import needs

VENDORS = ("sqlite", "postgresql")


@contextmanager
def own_database(vendor: str, var: Path) -> Iterator[dict[str, str]]:
    """The environment of a program whose files and migrated database are its own, and go after."""
    url = ""
    if vendor == "sqlite":
        with _migrated(var, url) as environment:
            yield environment
        return
    service = needs.postgresql_url()
    name = f"countershade_test_{uuid.uuid4().hex[:16]}"
    with psycopg.connect(service, autocommit=True) as server:
        server.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        try:
            with _migrated(var, urlunsplit(urlsplit(service)._replace(path=f"/{name}"))) as made:
                yield made
        finally:
            server.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))


@contextmanager
def _migrated(var: Path, url: str) -> Iterator[dict[str, str]]:
    kept = ("PATH", "HOME", "LANG", "LD_LIBRARY_PATH")
    environment = {name: os.environ[name] for name in kept if name in os.environ} | {
        "COUNTERSHADE_VAR_DIR": str(var),
        "DATABASE_URL": url,
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "PYTHONPATH": str(settings.BASE_DIR),
    }
    run(environment, "manage.py", "migrate", "ledger", "--verbosity", "0")
    yield environment


def start(environment: dict[str, str], *arguments: str) -> subprocess.Popen[str]:
    """Start a program of ours; its output is kept."""
    return subprocess.Popen(
        [sys.executable, *arguments],
        cwd=settings.BASE_DIR,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def output(process: subprocess.Popen[str], seconds: float = 120) -> str:
    """What it printed, once it has ended well."""
    try:
        printed, errors = process.communicate(timeout=seconds)
    except subprocess.TimeoutExpired:
        process.kill()
        raise
    assert process.returncode == 0, errors
    return printed


def run(environment: dict[str, str], *arguments: str) -> str:
    """Run a program of ours to its end."""
    return output(start(environment, *arguments))
