"""Two processes of eight threads on one chain: no fork, no lost entry, no doubled act."""

from __future__ import annotations

import json
from itertools import pairwise

import pytest

from tests.databases import VENDORS, output, own_database, run, start
from tests.ledger import appender

PROCESSES = ("one", "other")
START = "0" * 64


@pytest.mark.slow
@pytest.mark.parametrize("vendor", VENDORS)
def test_processes_and_threads_appending_on_one_chain_make_no_fork(vendor, tmp_path):
    program = ("-m", "tests.ledger.appender")
    with own_database(vendor, tmp_path) as environment:
        at_work = [start(environment, *program, name) for name in PROCESSES]
        said = [json.loads(output(process)) for process in at_work]
        again = json.loads(run(environment, *program, PROCESSES[0]))

    made = [tuple(one) for process in said for one in process["made"]]
    rows = [tuple(row) for row in again["before"]["rows"]]
    own = len(PROCESSES) * appender.THREADS * appender.EACH
    assert len(made) == 2 * own + len(PROCESSES) * appender.THREADS * appender.COMMON
    # Every append that returned is there, and nothing else is.
    assert set(made) == {row[:3] for row in rows}
    # Each act once, however often it was done and by whom.
    assert len({row[0] for row in rows}) == len(rows) == own + appender.COMMON
    # No gap, no fork.
    assert [row[1] for row in rows] == list(range(1, len(rows) + 1))
    assert rows[0][3] == START
    assert all(after[3] == before[2] for before, after in pairwise(rows))
    assert again["before"]["head"] == [rows[-1][1], rows[-1][2]]
    assert again["before"]["findings"] == []
    # They did append in turn, not one process after the other.
    order = [row[0].split("-")[0] for row in rows if not row[0].startswith("common")]
    assert sum(one != other for one, other in pairwise(order)) > 1
    # The program that was run again got the same entries and added none.
    assert sorted(again["made"]) == sorted(said[0]["made"])
    assert again["after"] == again["before"]
