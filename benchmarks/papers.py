"""Making the PDF of a verdict: a small lot, and one of 200 specimens read three times each.

The invented world of the tests, judged by eye and instrument under D65, A and F11, with all
figures.
What is timed is `shipments.paper.set_pages` once the typesetter is loaded; beside it stands setting
a page with one line. The first document of a process, which loads it, is told as well.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from benchmarks import apart
from benchmarks.row import Row, seconds

if TYPE_CHECKING:
    from tests.world import World

SPECIMENS, READINGS = 200, 3
LINE = "<!doctype html><html lang='en'><body><p>One line.</p></body></html>"
LOTS = {
    "small": "a lot of 3",
    "large": f"a lot of {SPECIMENS} × {READINGS} readings and {2 * SPECIMENS} judgements",
}


def rows() -> Iterator[Row]:
    """Seconds a document."""
    for lot, words in LOTS.items():
        found = apart.measured("benchmarks.papers", lot)
        if lot == "small":
            name = f"PDF of a verdict, {words}, first of a process"
            yield Row(name, found["first"], "s", found["line"])
        name = f"PDF of a verdict, {words}, 3 illuminants, warm"
        yield Row(name, found["warm"], "s", found["line"], "figure <= 1.5")


def within(lot: str) -> dict[str, float]:
    """The figures, in the process whose settings name the database."""
    import django

    django.setup()
    from django.core.management import call_command

    from jobs import fonts, pdf
    from shipments.paper import set_pages
    from tests.access.stage import html_for_pdf

    fonts.set_up()
    call_command("migrate", verbosity=0)
    with html_for_pdf():
        world = _world(large=lot == "large")
        verdict = world.last_submission(world.judged_lot()).verdict
    if verdict.outcome != "conforming":
        raise RuntimeError(f"the lot was to conform, and is {verdict.outcome}")
    start = time.perf_counter()
    set_pages(verdict, "en")
    first = time.perf_counter() - start
    moment = datetime(2026, 3, 4, tzinfo=UTC)
    return {
        "first": first,
        "warm": seconds(lambda: set_pages(verdict, "en")),
        "line": seconds(lambda: pdf.render(LINE, created=moment, title="One line")),
    }


def _world(*, large: bool) -> World:
    """The tests' world; `large`: with many specimens in each lot and first article."""
    from method.terms.edit import with_values
    from parties.capacity import Capacity
    from tests.cast import make_cast
    from tests.world import World, make_world, terms

    if not large:
        return make_world(make_cast())

    class Large(World):
        def gather(
            self, by: Capacity, subject: str, shift: float = 0.0, outcome: str = "accept"
        ) -> None:
            labels = [str(n) for n in range(1, SPECIMENS + 1)]
            self.gather_many(by, subject, labels, readings=READINGS)

    made = with_values(terms("spectral"), "decision", {"sample_size": str(SPECIMENS)})
    made = with_values(made, "measurement", {"readings": str(READINGS)})
    world = Large(make_cast())
    world.fill_registers()
    world.sign_terms(made)
    world.enter_standard()
    world.approved_article()
    return world


if __name__ == "__main__":
    print(json.dumps(within(sys.argv[2])))
