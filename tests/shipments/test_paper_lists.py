"""Long lists on paper: alike is gathered, nothing is left out, the gravest comes first."""

from __future__ import annotations

import re
from typing import Any

import pytest

from shipments import paper_lists
from shipments.colour_figures import out_of, telling
from shipments.paper import context_of
from shipments.paper_lists import gathered

STATES = ("conforming", "inconclusive", "nonconforming")


def rows(count: int) -> list[dict[str, Any]]:
    """As a verdict lists them: by label, a label being text."""
    found = [
        {"specimen": f"A {n}", "state": STATES[n % 3], "value": f"{n / 100:.2f}"}
        for n in range(count)
    ]
    return sorted(found, key=lambda row: row["specimen"])


def gather(given: list[dict[str, Any]]) -> Any:
    return gathered(
        given,
        lambda row: row["state"],
        lambda row: f"{row['specimen']} ({row['value']})",
        paper_lists.gravity("state"),
    )


def test_a_short_list_stays_as_it_is():
    assert gather(rows(40)) is None and len(gather(rows(41))) == 3


def test_every_specimen_stands_once_with_its_value_in_the_order_of_counting():
    found = gather(rows(200))
    assert [one.said["state"] for one in found] == ["nonconforming", "inconclusive", "conforming"]
    assert [one.count for one in found] == [66, 67, 67]
    named = [text.replace("\N{NO-BREAK SPACE}", " ") for one in found for text in
             one.specimens.split(", ")]  # fmt: skip
    assert sorted(named) == sorted(f"A {n} ({n / 100:.2f})" for n in range(200))
    order = [int(number) for number in re.findall(r"A\s(\d+)", found[0].specimens)]
    assert order == sorted(order) and order[:3] == [2, 5, 8]


def test_a_figure_takes_those_that_differ_most_in_their_order():
    few = telling(rows(200))
    assert [row["specimen"] for row in few] == sorted(f"A {n}" for n in range(188, 200))
    assert telling(rows(12)) == rows(12) and out_of(rows(12)) == ""
    assert out_of(rows(200)) == "of 200 specimens the 12 that differ most"


@pytest.fixture
def large(world):
    """A lot of 45 specimens, one of them rejected."""
    lot = world.open_lot()
    labels = [str(n) for n in range(1, 46)]
    world.gather_many(world.staff, lot.subject, labels, rejected={"7"})
    world.judge(lot)
    return world.last_submission(lot).verdict


def test_the_paper_of_a_large_lot_says_of_each_what_the_verdict_says(large):
    view = context_of(large, "", "en")["view"]
    for item in view["instrument"]["items"]:
        assert {one.count for one in item["gathered"]} == {45}
        listed = item["gathered"][0].specimens.replace("\N{NO-BREAK SPACE}", " ").split(", ")
        assert set(listed) == {f"{row['specimen']} ({row['value']})" for row in item["rows"]}
    bad, good = view["visual"]["specimens_gathered"]
    assert bad.specimens == "7" and bad.said["outcome"] == "nonconforming" and good.count == 44
    told = {
        (one.said["observer"], one.said["outcome"]): one.specimens
        for one in view["visual"]["judgements_gathered"]
    }
    assert len(told) == 4  # two observers, each accepting and rejecting
    assert {text for (_who, said), text in told.items() if said == "reject"} == {"7"}
