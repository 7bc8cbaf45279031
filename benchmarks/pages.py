"""Pages with a million lots behind them, on PostgreSQL, beside a trivial page.

The invented world of the pictures is played, then its first agreement is given a million closed
lots, each with a submission, a verdict and an entry of the chain: written by SQL, older than what
was played. Each list and detail page is asked for in turn with the trivial page (the frame of all
pages of somebody signed in, with one sentence), through Django's test client: middleware, access,
queries, template. Left out where COUNTERSHADE_TEST_DATABASE_URL names no server.

    python -m benchmarks.pages COUNT     tells every page with COUNT lots
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING, Any

from benchmarks import apart
from benchmarks.row import Row

if TYPE_CHECKING:
    from django.db.models import Model
    from django.test import Client

LOTS = 1_000_000
FEW = 1_000
TIMES = 30
JUDGED = 100  # multiplied verdicts that have their bytes: more than any page reads
TRIVIAL = "password_change_done"
LISTS = (
    "desk:home",
    "desk:timeline",
    "agreements:overview",
    "shipments:lots",
    "shipments:lists",
    "disputes:disputes",
    "evidence:index",
    "parties:observers",
    "parties:booths",
    "parties:instruments",
    "parties:references",
)
DETAILS = (
    "agreements:revision",
    "agreements:draft",
    "desk:entry",
    "desk:record",
    "disputes:dispute",
    "disputes:beside",
    "disputes:offer",
    "evidence:file",
    "evidence:set",
    "evidence:sitting",
    "parties:observer",
    "parties:booth",
    "parties:instrument",
    "parties:reference",
    "shipments:lot",
    "shipments:article",
    "shipments:submission",
    "shipments:list",
)


def rows() -> Iterator[Row]:
    """The slowest list and the slowest detail page."""
    server = os.environ.get(apart.SERVER, "")
    if not server:
        return
    with apart.database(server) as url:
        found = apart.measured("benchmarks.pages", str(LOTS), url=url)
    for kind, names in (("list", LISTS), ("detail", DETAILS)):
        worst = max(names, key=lambda name: found["p95"][name] / found["trivial"][name])
        yield Row(
            f"p95 of the slowest {kind} page ({worst}), {LOTS:,} lots, PostgreSQL",
            found["p95"][worst],
            "ms",
            found["trivial"][worst],
            "ratio <= 3",
        )


def within(count: int) -> dict[str, Any]:
    """Milliseconds of each page and of the trivial one beside it, and its queries."""
    import django

    django.setup()
    from django.core.management import call_command

    from tests.access.stage import html_for_pdf
    from tests.browser.pages import pages
    from tests.browser.played import play
    from tests.cast import make_cast

    call_command("migrate", verbosity=0)
    with html_for_pdf():
        played = play(make_cast())
    paths = {page.name: page for page in pages(played)}
    people = played.cast.people
    few = {name: queries(signed_in(people[paths[name].who]), paths[name].path) for name in KINDS}
    multiply(played.cast.agreement, count)
    found: dict[str, Any] = {"p95": {}, "trivial": {}, "queries": {}}
    for name in KINDS:
        client = signed_in(people[paths[name].who])
        trivial, path = paths[TRIVIAL].path, paths[name].path
        taken: dict[str, list[float]] = {"trivial": [], "p95": []}
        for turn in range(-3, TIMES):  # the first ones warm the caches
            for kind, address in (("trivial", trivial), ("p95", path)):
                spent = milliseconds(partial(answered, client, address))
                if turn >= 0:
                    taken[kind].append(spent)
        for kind, times in taken.items():
            found[kind][name] = sorted(times)[int(0.95 * len(times))]
        found["queries"][name] = [few[name], queries(client, path)]
    return found


KINDS = (*LISTS, *DETAILS)


def signed_in(person: Any) -> Client:
    """A client of somebody's."""
    from django.test import Client

    client = Client(SERVER_NAME="localhost")
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def answered(client: Client, path: str) -> None:
    """Ask for a page; anything but the page stops the benchmark."""
    answer = client.get(path)
    if answer.status_code != 200:
        raise RuntimeError(f"{path} answered {answer.status_code}")


def queries(client: Client, path: str) -> int:
    """How many queries the page takes when its caches are warm."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    answered(client, path)
    with CaptureQueriesContext(connection) as seen:
        answered(client, path)
    return len(seen)


def milliseconds(function: Callable[[], None]) -> float:
    """Wall-clock time of one call."""
    start = time.perf_counter()
    function()
    return (time.perf_counter() - start) * 1e3


def multiply(dossier: Any, count: int) -> None:
    """Give an agreement `count` closed lots with submission, verdict and entry."""
    from django.db import connection

    from ledger.models import Entry
    from shipments.models import Lot, Verdict

    verdict = Verdict.objects.filter(dossier=dossier, submission__purpose="lot").first()
    lot = Lot.objects.get(pk=verdict.submission.lot_id)
    entry = Entry.objects.filter(chain=dossier.chain).order_by("-number")[0]
    older = "created_at - n * interval '1 minute'"
    plan: list[tuple[Model, dict[str, str]]] = [
        (lot, {"id": key("lot"), "number": "'B-' || n", "status": "'closed'"}),
        (
            verdict.submission,
            {"id": key("submission"), "lot_id": key("lot"), "digest": digest("s"), "nth": "1"},
        ),
        (
            verdict,
            {"id": key("verdict"), "submission_id": key("submission"), "digest": digest("v")},
        ),
    ]
    with connection.cursor() as cursor:
        # The guards of the tables are for what people do.
        cursor.execute("SET session_replication_role = replica")
        for row, said in plan:
            if row is not lot:
                said["bytes"] = f"CASE WHEN n <= {JUDGED} THEN bytes ELSE '\\x7b7d'::bytea END"
            insert(cursor, row, {**said, "created_at": older}, count)
        insert(
            cursor,
            entry,
            {
                "number": "number + n",
                "hash": digest("e"),
                "previous": digest("p"),
                "act": "md5('a' || n)",
            },
            count,
        )
        cursor.execute("SET session_replication_role = DEFAULT")
        cursor.execute("ANALYZE")


def key(noun: str) -> str:
    """The id of the n-th of its kind."""
    return f"md5('{noun}' || n)::uuid"


def digest(noun: str) -> str:
    """A text like a digest, another one for each."""
    return f"md5('{noun}' || n) || md5('{noun}.' || n)"


def insert(cursor: Any, row: Model, said: dict[str, str], count: int) -> None:
    """Write a row `count` times over; `said`: SQL for the columns that differ."""
    meta = row._meta
    columns = [field.column for field in meta.concrete_fields]
    if meta.pk is not None and meta.pk.column not in said:
        columns.remove(meta.pk.column)  # the database counts it itself
    values = ", ".join(said.get(column, f'"{column}"') for column in columns)
    names = ", ".join(f'"{column}"' for column in columns)
    cursor.execute(
        f'INSERT INTO "{meta.db_table}" ({names}) SELECT {values} '  # noqa: S608  (own names)
        f'FROM "{meta.db_table}", generate_series(1, %s) AS n WHERE "{meta.pk.column}" = %s',
        [count, row.pk],
    )


def main(arguments: list[str]) -> None:
    """Within the process that is measured, or the table of all pages."""
    if arguments[0] == "--within":
        print(json.dumps(within(int(arguments[1]))))
        return
    with apart.database(os.environ[apart.SERVER]) as url:
        found = apart.measured("benchmarks.pages", arguments[0], url=url)
    for name in KINDS:
        own, trivial = found["p95"][name], found["trivial"][name]
        few, many = found["queries"][name]
        print(f"{name:24} {own:8.1f} ms {own / trivial:6.2f} x  {few:3} -> {many:3} queries")


if __name__ == "__main__":
    main(sys.argv[1:])
