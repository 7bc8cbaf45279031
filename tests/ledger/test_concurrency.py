"""Many threads on one chain: no fork, no lost entry, no doubled act."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection, transaction

from ledger import chain
from ledger.kinds import Kind
from ledger.selfcheck import findings
from tests.ledger.small import CUSTOMER

THREADS, EACH = 6, 15


@pytest.fixture
def on_file(transactional_db, tmp_path):
    """A database that threads share: on SQLite a file, where tests otherwise use memory."""
    if connection.vendor != "sqlite":
        yield
        return
    # The connection to the memory is set aside unclosed: closing it would empty it.
    kept, connection.connection = connection.connection, None
    settings = connection.settings_dict
    before, settings["NAME"] = settings["NAME"], str(tmp_path / "threads.sqlite3")
    try:
        from django.core.management import call_command

        call_command("migrate", "ledger", verbosity=0)
        yield
    finally:
        connection.close()
        connection.connection, settings["NAME"] = kept, before


def work(thread: int) -> list[chain.EntryRef]:
    made = []
    try:
        for nth in range(EACH):
            # Each act is tried twice, as a job that is run again would.
            for _ in range(2):
                with transaction.atomic():
                    made.append(
                        chain.append(
                            "shared",
                            by=CUSTOMER,
                            kind=Kind.POST_MADE,
                            subject=f"post:{thread}-{nth}",
                            act=f"act-{thread}-{nth}",
                            payload={"text": "at the same time"},
                        )
                    )
    finally:
        connection.close()
    return made


def test_threads_appending_on_one_chain_make_no_fork(on_file):
    chain.open_chain("shared")
    with ThreadPoolExecutor(THREADS) as pool:
        made = [ref for refs in pool.map(work, range(THREADS)) for ref in refs]
    assert len(made) == 2 * THREADS * EACH
    assert len(set(made)) == THREADS * EACH == chain.head("shared").number
    rows = list(chain.entries("shared"))
    assert [row.number for row in rows] == list(range(1, THREADS * EACH + 1))
    assert len({row.previous for row in rows}) == len(rows)
    assert [one for one in findings() if "chain" in one] == []
