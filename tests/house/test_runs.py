"""The programs around the tests: ports, the comparison of two runs, benchmark rows."""

from __future__ import annotations

import importlib
import json
import os
import re
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from benchmarks import run as bench
from benchmarks.row import Row, seconds
from tests import compare, needs
from tests.house.source import ROOT

PORT = [sys.executable, str(ROOT / ".ci" / "port.py")]


def outcome(word: str = "passed", **other: Any) -> dict[str, Any]:
    """One test's outcome."""
    return {"outcome": word, "reason": "", "database": True, "only_on": None} | other


def test_a_held_port_is_refused_and_its_holder_named() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
        done = subprocess.run([*PORT, str(port)], capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert f"Port {port} is held by" in done.stderr
    assert f"(process {os.getpid()})" in done.stderr
    again = subprocess.run([*PORT, str(port)], capture_output=True, text=True, check=False)
    assert (again.returncode, again.stderr) == (0, "")


@pytest.mark.parametrize("text", ["", "0", "65536", "80x", "-1", "８０"])
def test_what_is_not_a_port_is_refused_by_name(text: str) -> None:
    done = subprocess.run([*PORT, text], capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "PORT must be" in done.stderr


def test_the_documents_name_the_commands_that_there_are() -> None:
    done = subprocess.run(
        ["make", "--no-print-directory", "help"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    offered = {" ".join(line.split()[:2]) for line in done.stdout.splitlines()}
    told = set(re.findall(r"^\| `(make [a-z]+)`", (ROOT / "DEVELOPERS.md").read_text(), re.M))
    assert offered - {"make help"} == told
    readme = set(re.findall(r"`?(make [a-z]+)", (ROOT / "README.md").read_text()))
    assert {"make demo", "make serve"} <= readme <= offered


def test_two_equal_runs_compare_well() -> None:
    run = {"a": outcome(), "b": outcome(database=False)}
    lines, status = compare.report(run, {"a": outcome()}, ci=True)
    assert status == 0
    assert lines[-2:] == ["skipped: nothing", "3 passed, 0 failed, 0 skipped"]
    assert "database tests: SQLite 1 passed, PostgreSQL 1 passed" in lines


@pytest.mark.parametrize(
    ("sqlite", "postgresql", "ci", "fault"),
    [
        ({"a": outcome(), "b": outcome()}, {"a": outcome()}, False, "passed on SQLite only: b"),
        ({"a": outcome()}, {"a": outcome(), "b": outcome()}, False, "passed on PostgreSQL only: b"),
        ({"a": outcome()}, {"a": outcome("failed")}, False, "failed on PostgreSQL: a"),
        ({"a": outcome(), "b": outcome("failed")}, None, False, "failed on SQLite: b"),
        ({}, None, False, "no test passed on SQLite"),
        ({"a": outcome()}, {}, False, "no test passed on PostgreSQL"),
        ({"a": outcome()}, None, True, "CI=true and the database tests did not run on PostgreSQL"),
        (
            {"a": outcome(), "b": outcome("skipped", reason="no Redis", database=False)},
            {"a": outcome()},
            True,
            "skipped on SQLite: b (no Redis)",
        ),
    ],
)
def test_what_differs_fails_the_run(
    sqlite: compare.Outcomes, postgresql: compare.Outcomes | None, ci: bool, fault: str
) -> None:
    lines, status = compare.report(sqlite, postgresql, ci=ci)
    assert status == 1
    assert fault in lines


def test_a_skip_at_home_is_told_and_fails_nothing() -> None:
    run = {"a": outcome(), "b": outcome("skipped", reason="no Redis", database=False)}
    lines, status = compare.report(run, None, ci=False)
    assert status == 0
    assert lines[-2].startswith("skipped: 1 × no Redis; all database tests on PostgreSQL")
    assert lines[-1] == "1 passed, 0 failed, 1 skipped"


def test_a_test_of_one_database_only_is_listed_and_not_compared() -> None:
    run = {"a": outcome(), "b": outcome(only_on=["sqlite", "INSERT OR REPLACE"])}
    lines, status = compare.report(run, {"a": outcome()}, ci=True)
    assert status == 0
    assert "sqlite only: b" in lines


INNER = """
import pytest

@pytest.mark.django_db
def test_rows(): pass

def test_pure(): pass

@pytest.mark.only_on("postgresql", "roles")
def test_elsewhere(): raise AssertionError

@pytest.mark.only_on("sqlite", "INSERT OR REPLACE")
def test_here(): pass

def test_skips(): pytest.skip("no Redis")
"""


@pytest.mark.parametrize("chosen", [[], ["--database-tests"]])
def test_outcomes_are_written_as_they_were(tmp_path: Path, chosen: list[str]) -> None:
    inner = tmp_path / "test_inner.py"
    inner.write_text(INNER, encoding="utf-8")
    result = tmp_path / "outcomes.json"
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", str(inner)]
    environment = os.environ | {"DATABASE_URL": f"sqlite:///{tmp_path}/inner.sqlite3"}
    command += ["-c", str(ROOT / "pyproject.toml"), "--rootdir", str(ROOT), "-n", "0"]
    subprocess.run(
        [*command, "--outcomes", str(result), *chosen],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        check=True,
    )
    found = {k.rpartition("::")[2]: v for k, v in json.loads(result.read_text()).items()}
    rows = {"test_rows": outcome()}
    rest = {
        "test_pure": outcome(database=False),
        "test_here": outcome(database=False, only_on=["sqlite", "INSERT OR REPLACE"]),
        "test_skips": outcome("skipped", database=False, reason="no Redis"),
    }
    assert found == (rows if chosen else rows | rest)


def test_a_missing_service_skips_at_home_and_fails_under_ci(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("COUNTERSHADE_TEST_REDIS_URL", raising=False)
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="no Redis"):
        needs.redis_url()
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="CI=true and no Redis"):
        needs.redis_url()


def test_a_snap_stub_is_no_browser(tmp_path: Path) -> None:
    stub, browser = tmp_path / "stub", tmp_path / "browser"
    stub.write_text("#!/bin/sh\nexec /snap/bin/chromium\n")
    browser.write_text("#!/bin/sh\nexec /usr/lib/chromium/chromium\n")
    assert needs.only_a_stub(stub)
    assert not needs.only_a_stub(browser)


@pytest.mark.parametrize(
    ("figure", "reference", "budget", "holds"),
    [
        (1.5, None, "figure <= 1.5", True),
        (1.6, None, "figure <= 1.5", False),
        (20.0, 2.0, "ratio <= 10", True),
        (21.0, 2.0, "ratio <= 10", False),
        (7.0, 2.0, "ratio >= 3.5", True),
        (6.9, 2.0, "ratio >= 3.5", False),
        (float("nan"), 1.0, "ratio >= 0", False),
        (1.0, None, "", None),
    ],
)
def test_a_budget_is_kept_or_not(
    figure: float, reference: float | None, budget: str, holds: bool | None
) -> None:
    row = Row("x", figure, "s", reference, budget)
    assert row.holds is holds
    assert json.loads(json.dumps(row.as_json(), allow_nan=False))["holds"] is holds


@pytest.mark.parametrize(("budget", "reference"), [("about 3", 1.0), ("ratio <= 3", None)])
def test_a_budget_that_cannot_be_tested_is_refused(budget: str, reference: float | None) -> None:
    with pytest.raises(ValueError, match="budget"):
        Row("x", 1.0, "s", reference, budget)


def test_a_broken_budget_shows_in_the_table() -> None:
    lines = list(bench.table([Row("slow thing", 2.0, "s", 1.0, "figure <= 1.5")]))
    assert lines[1].endswith("figure <= 1.5  BROKEN")


def test_every_benchmark_module_has_rows() -> None:
    names = bench.modules()
    assert "start" in names
    for name in names:
        assert callable(importlib.import_module(f"benchmarks.{name}").rows), name


def test_the_least_disturbed_time_counts() -> None:
    calls = iter([0.05, 0.0, 0.05])
    assert seconds(lambda: time.sleep(next(calls)), repeat=3) < 0.05
