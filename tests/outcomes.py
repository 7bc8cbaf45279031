"""Pytest plugin: what became of each test, as JSON, and which tests use the database.

`--outcomes FILE` writes `{test id: {"outcome", "reason", "database", "only_on"}}`; `tests.compare`
sets one such file beside another. `--database-tests` keeps only tests that use the database and
need no browser: the ones that run on both databases. A test marked `only_on(vendor, reason)` is
deselected (never skipped) on the other database and listed by the comparison.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

DATABASE_FIXTURES = frozenset({"db", "transactional_db", "django_db_setup"})
MARK = "uses-database"


def pytest_addoption(parser: pytest.Parser) -> None:
    """The two options of this plugin."""
    group = parser.getgroup("countershade")
    group.addoption("--outcomes", metavar="FILE", help="write what became of each test as JSON")
    group.addoption(
        "--database-tests", action="store_true", help="only tests that use the database"
    )


def pytest_configure(config: pytest.Config) -> None:
    """Collect outcomes in the controlling process only: workers send their reports to it."""
    if config.getoption("--outcomes") and not hasattr(config, "workerinput"):
        config.pluginmanager.register(Outcomes(Path(config.getoption("--outcomes"))))


def uses_database(item: pytest.Item) -> bool:
    """Whether the test reaches the database by mark or by fixture, directly or not."""
    if item.get_closest_marker("django_db"):
        return True
    return not DATABASE_FIXTURES.isdisjoint(getattr(item, "fixturenames", ()))


def belongs(item: pytest.Item, vendor: str, database_only: bool) -> bool:
    """Whether the test has something to say in this run."""
    only = item.get_closest_marker("only_on")
    if only and only.args[0] != vendor:
        return False
    if not database_only:
        return True
    return uses_database(item) and not item.get_closest_marker("browser")


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark database tests for the report; leave out what belongs to the other database."""
    from django.db import connection

    database_only = bool(config.getoption("--database-tests"))
    kept = [item for item in items if belongs(item, connection.vendor, database_only)]
    for item in kept:
        if uses_database(item) and not item.get_closest_marker("browser"):
            item.user_properties.append((MARK, True))
        if only := item.get_closest_marker("only_on"):
            item.user_properties.append(("only-on", list(only.args)))
    if len(kept) < len(items):
        chosen = set(kept)
        config.hook.pytest_deselected(items=[item for item in items if item not in chosen])
        items[:] = kept


class Outcomes:
    """Gathers reports (also those of xdist's workers) and writes them when the run ends."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.tests: dict[str, dict[str, Any]] = {}

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """A test's outcome is its call's, unless setup or teardown went wrong or skipped it."""
        if report.when != "call" and report.passed:
            return
        properties = dict(report.user_properties)
        self.tests[report.nodeid] = {
            "outcome": report.outcome,
            "reason": reason(report),
            "database": bool(properties.get(MARK)),
            "only_on": properties.get("only-on"),
        }

    def pytest_sessionfinish(self) -> None:
        """Write the file, also when tests failed."""
        self.file.parent.mkdir(parents=True, exist_ok=True)
        text = json.dumps(dict(sorted(self.tests.items())), indent=1, ensure_ascii=False)
        self.file.write_text(text, encoding="utf-8")


def reason(report: pytest.TestReport) -> str:
    """Why a test was skipped (or expected to fail); empty otherwise."""
    if hasattr(report, "wasxfail"):
        return f"expected to fail: {report.wasxfail}"
    if report.skipped and isinstance(report.longrepr, tuple):
        return str(report.longrepr[2]).removeprefix("Skipped: ")
    return ""
