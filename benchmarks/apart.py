"""Measuring in a process of its own, whose settings name a database and a folder of its own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit

ROOT = Path(__file__).resolve().parents[1]
SERVER = "COUNTERSHADE_TEST_DATABASE_URL"  # where PostgreSQL is measured, too


@contextmanager
def database(server: str) -> Iterator[str]:
    """The address of a new database on a PostgreSQL server; it goes afterwards."""
    import psycopg

    name = f"countershade_bench_{uuid.uuid4().hex[:12]}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
        try:
            yield urlunsplit(urlsplit(server)._replace(path=f"/{name}"))
        finally:
            connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def measured(module: str, *arguments: str, url: str = "") -> dict[str, Any]:
    """The JSON that `python -m module --within ARGUMENT ...` prints; SQLite without `url`."""
    with tempfile.TemporaryDirectory() as folder:
        surroundings = {
            **os.environ,
            "COUNTERSHADE_VAR_DIR": folder,
            "DATABASE_URL": url,
            "DJANGO_SETTINGS_MODULE": "config.settings",
        }
        shown = subprocess.run(
            [sys.executable, "-m", module, "--within", *arguments],
            cwd=ROOT,
            env=surroundings,
            check=True,
            stdout=subprocess.PIPE,
            text=True,
        ).stdout
    found: dict[str, Any] = json.loads(shown)
    return found
