"""A program that appends to one chain from many threads: run by test_concurrency, several at once.

python -m tests.ledger.appender work NAME    append; print what `append` returned, as JSON
python -m tests.ledger.appender look         print the chain's rows and the self-check's words
"""

from __future__ import annotations

import json
import sys
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import django
from django.apps import apps

if not apps.ready:  # this is a program of its own
    django.setup()

from django.db import connection, transaction

from ledger import chain
from ledger.kinds import Kind
from ledger.models import Entry
from ledger.selfcheck import findings

CHAIN = "shared"
THREADS, EACH, COMMON = 8, 12, 6
BY = chain.Actor("C-1", "ORG-C", "customer", "quality_lead")


def append(act: str) -> list[Any]:
    """One entry in its own transaction, as a transition does it."""
    with transaction.atomic():
        made = chain.append(
            CHAIN,
            by=BY,
            kind=Kind.POST_MADE,
            subject=f"post:{act}",
            act=act,
            payload={"text": f"At the same time: {act}."},
        )
    return [act, made.number, made.hash]


def work(name: str, thread: int) -> list[list[Any]]:
    """Acts of this thread, each done twice as by a job that is run again; then acts that every
    thread of every process does."""
    try:
        own = [f"{name}-{thread}-{nth}" for nth in range(EACH) for _ in range(2)]
        return [append(act) for act in [*own, *(f"common-{nth}" for nth in range(COMMON))]]
    finally:
        connection.close()


def look() -> dict[str, Any]:
    """The chain as it stands."""
    rows = Entry.objects.filter(chain=CHAIN).order_by("number")
    return {
        "rows": list(rows.values_list("act", "number", "hash", "previous")),
        "head": list(vars(chain.head(CHAIN)).values()),
        "findings": findings(),
    }


def main(name: str) -> None:
    """Append, and print what came of it."""
    chain.open_chain(CHAIN)
    before = look()
    with ThreadPoolExecutor(THREADS) as pool:
        made = [one for some in pool.map(lambda n: work(name, n), range(THREADS)) for one in some]
    print(json.dumps({"before": before, "made": made, "after": look()}))


if __name__ == "__main__":
    main(*sys.argv[1:])
