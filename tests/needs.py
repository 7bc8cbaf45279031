"""What a test needs from its surroundings: PostgreSQL, Redis, Chromium.

Missing on a developer's machine: the test skips and says why. Missing where CI=true: it fails,
since `.ci/run` brings all three and a skip there would hide a broken set-up.
"""

from __future__ import annotations

import os
import shutil
import socket
from pathlib import Path
from typing import NoReturn
from urllib.parse import urlsplit

import pytest


def under_ci() -> bool:
    """Whether a missing service is a failure."""
    return os.environ.get("CI", "").lower() in {"1", "true", "yes", "on"}


def missing(what: str) -> NoReturn:
    """Skip, or fail where CI=true."""
    if under_ci():
        pytest.fail(f"CI=true and {what}", pytrace=False)
    pytest.skip(what)


def reachable(url: str, default_port: int) -> bool:
    """Whether something answers at the address within two seconds."""
    parts = urlsplit(url)
    try:
        place = (parts.hostname or "127.0.0.1", parts.port or default_port)
        socket.create_connection(place, timeout=2).close()
    except OSError:
        return False
    return True


def service(name: str, variable: str, default_port: int) -> str:
    """The address in `variable`, where it answers."""
    url = os.environ.get(variable, "")
    if not url:
        missing(f"no {name}: {variable} is not set")
    if not reachable(url, default_port):
        missing(f"no {name}: nothing answers at {urlsplit(url).hostname} ({variable})")
    return url


def redis_url() -> str:
    """Redis for tests; keys belong under `redis_prefix()`."""
    return service("Redis", "COUNTERSHADE_TEST_REDIS_URL", 6379)


def redis_prefix() -> str:
    """The prefix of every key that tests write."""
    return os.environ.get("COUNTERSHADE_TEST_REDIS_PREFIX", f"countershade-test-{os.getpid()}")


def postgresql_url() -> str:
    """PostgreSQL for tests whose server and worker run as processes of their own."""
    return service("PostgreSQL", "COUNTERSHADE_TEST_DATABASE_URL", 5432)


def chromium() -> str:
    """The path of Debian's Chromium."""
    for name in ("chromium", "chromium-browser"):
        path = shutil.which(name)
        if path and not only_a_stub(Path(path)):
            return path
    missing("no Chromium: neither chromium nor chromium-browser is installed")


def only_a_stub(path: Path) -> bool:
    """Ubuntu's package holds no browser, only a script or link that asks for a snap."""
    real = path.resolve()
    if "snap" in real.parts or real.name == "snap":
        return True
    head = real.read_bytes()[:4096]
    return head.startswith(b"#!") and b"/snap/bin/" in head


def program(name: str, package: str) -> str:
    """The path of a helper program, such as pdftoppm from poppler-utils."""
    return shutil.which(name) or missing(f"no {name}: install {package}")
