"""Set the outcomes of the two databases side by side and say what was skipped, and why.

    python -m tests.compare SQLITE.json [POSTGRESQL.json]

Exit status 1 when a test failed, when a database test that passed on SQLite did not pass on
PostgreSQL (or the other way round), and, where CI=true, when anything was skipped or PostgreSQL was
not tested. The last line has the form that test counters read.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from pathlib import Path
from typing import Any

from tests.needs import under_ci

Outcomes = dict[str, dict[str, Any]]


def load(file: str) -> Outcomes:
    """One run's outcomes; a run that left no file is an empty run."""
    path = Path(file)
    return json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}


def passed(run: Outcomes, *, shared: bool = False) -> set[str]:
    """Ids of tests that passed; `shared`: only database tests that mean something on both."""
    return {
        test
        for test, row in run.items()
        if row["outcome"] == "passed" and (not shared or (row["database"] and not row["only_on"]))
    }


def with_outcome(run: Outcomes, outcome: str) -> list[str]:
    """Ids of tests with this outcome, in order."""
    return sorted(test for test, row in run.items() if row["outcome"] == outcome)


def differences(sqlite: Outcomes, postgresql: Outcomes) -> list[str]:
    """What passed on one database only."""
    here, there = passed(sqlite, shared=True), passed(postgresql, shared=True)
    return [f"passed on SQLite only: {test}" for test in sorted(here - there)] + [
        f"passed on PostgreSQL only: {test}" for test in sorted(there - here)
    ]


def faults(sqlite: Outcomes, postgresql: Outcomes | None, *, ci: bool) -> list[str]:
    """Everything that makes the whole run fail; empty when it is good."""
    runs = {"SQLite": sqlite} | ({} if postgresql is None else {"PostgreSQL": postgresql})
    found = [
        f"failed on {name}: {test}"
        for name, run in runs.items()
        for test in with_outcome(run, "failed")
    ]
    found += [f"no test passed on {name}" for name, run in runs.items() if not passed(run)]
    if postgresql is not None:
        found += differences(sqlite, postgresql)
    if ci:
        found += [
            f"skipped on {name}: {test} ({run[test]['reason']})"
            for name, run in runs.items()
            for test in with_outcome(run, "skipped")
        ]
        if postgresql is None:
            found.append("CI=true and the database tests did not run on PostgreSQL")
    return found


def skip_line(runs: list[Outcomes], postgresql_ran: bool) -> str:
    """One line: how many skipped and why."""
    reasons = Counter(run[test]["reason"] for run in runs for test in with_outcome(run, "skipped"))
    parts = [f"{count} × {reason}" for reason, count in sorted(reasons.items())]
    if not postgresql_ran:
        parts.append("all database tests on PostgreSQL: COUNTERSHADE_TEST_DATABASE_URL is not set")
    return "skipped: " + ("; ".join(parts) if parts else "nothing")


def report(sqlite: Outcomes, postgresql: Outcomes | None, *, ci: bool) -> tuple[list[str], int]:
    """The lines to print and the exit status."""
    bad = faults(sqlite, postgresql, ci=ci)
    runs = [sqlite] + ([] if postgresql is None else [postgresql])
    lines = list(bad)
    for run in runs:
        lines += [
            f"{row['only_on'][0]} only: {test}" for test, row in run.items() if row["only_on"]
        ]
    if postgresql is not None:
        here, there = len(passed(sqlite, shared=True)), len(passed(postgresql, shared=True))
        lines.append(f"database tests: SQLite {here} passed, PostgreSQL {there} passed")
    lines.append(skip_line(runs, postgresql is not None))
    totals = [sum(len(with_outcome(run, word)) for run in runs) for word in ("failed", "skipped")]
    lines.append(
        f"{sum(len(passed(run)) for run in runs)} passed, {totals[0]} failed, {totals[1]} skipped"
    )
    return lines, 1 if bad else 0


def main(arguments: list[str]) -> int:
    """Print the comparison of one or two runs."""
    if len(arguments) not in {1, 2}:
        sys.stderr.write("usage: python -m tests.compare SQLITE.json [POSTGRESQL.json]\n")
        return 2
    second = load(arguments[1]) if len(arguments) == 2 else None
    lines, status = report(load(arguments[0]), second, ci=under_ci())
    print("\n".join(lines))
    return status


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
