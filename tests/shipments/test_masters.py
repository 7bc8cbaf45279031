"""The approved first article keeps every reading that was handed in: one master a geometry."""

from __future__ import annotations

import json

import pytest

from jobs import queue
from ledger import blobs
from method import packed
from method.terms.edit import with_item, with_values
from parties.models import Reference
from parties.refusal import Refusal
from shipments import transitions
from shipments.models import FirstArticle
from tests.world import World, curve, terms

AT = {"geometry": "di:8", "uv": "included", "backing": "white", "aperture": "8",
      "temperature_c": "23", "age_hours": "48", "hours_since_white": "1"}  # fmt: skip


@pytest.fixture
def both(cast, quick_papers) -> World:
    """Terms with a tolerance at each of two geometries."""
    made = with_values(terms("spectral"), "measurement", {"geometries": ["di:8", "45:0"]})
    limit = {"compared_with": "target", "illuminant": "D65", "formula": "CIEDE2000", "limit": "1.5"}
    limit |= {"k_l": "1", "k_c": "1", "k_h": "1", "decimals": "2"}
    made = with_item(made, "tolerances", "items", limit | {"geometry": "45:0"})
    world = World(cast)
    world.fill_registers()
    world.sign_terms(made)
    world.enter_standard()
    return world


def prepared(world: World, *sets: tuple[str, list]) -> FirstArticle:
    """A first article with readings at these geometries, and a sitting."""
    article = transitions.prepare_article(
        world.cast.agreement, by=world.staff, number="FA-1", part=world.part(), quantity=3
    )
    for geometry, rows in sets:
        world.measure(world.staff, article.subject, rows, condition=AT | {"geometry": geometry})
    world.sit(world.staff, article.subject, dict.fromkeys("123", "accept"))
    transitions.submit_article(article, by=world.staff)
    queue.drain()
    article.refresh_from_db()
    return article


def masters(world: World) -> list[Reference]:
    return list(Reference.objects.filter(approval="FA-1").order_by("name"))


def test_readings_at_two_geometries_are_two_stored_readings_and_both_are_targets(both):
    rows = {"di:8": [(n, curve(0.01)) for n in "123"], "45:0": [(n, curve(-0.05)) for n in "123"]}
    article = prepared(both, *rows.items())
    transitions.approve_article(article, by=both.customer, seal="S-1")
    made = masters(both)
    assert [one.name for one in made] == ["H-1 Slate / FA-1 (45:0)", "H-1 Slate / FA-1 (di:8)"]
    assert len({one.reading for one in made}) == 2 and {one.seal for one in made} == {"S-1"}
    both.master = made[1]
    lot = both.open_lot()
    for geometry, read in rows.items():
        both.measure(both.staff, lot.subject, read, condition=AT | {"geometry": geometry})
    both.sit(both.staff, lot.subject, dict.fromkeys("123", "accept"))
    submission = transitions.submit_lot(lot, by=both.staff)
    queue.drain()
    targets = json.loads(bytes(submission.bytes))["conditions"]["targets"]
    assert [one["geometry"] for one in targets] == ["45:0", "di:8"]
    assert [one["packed"] for one in targets] == [one.reading for one in made]
    submission.refresh_from_db()
    verdict = json.loads(bytes(submission.verdict.bytes))
    assert verdict["outcome"] == "conforming"  # each geometry with its own: with the other's, not


def test_several_files_at_one_geometry_are_stored_as_one_reading(both):
    sets = [("di:8", [(n, curve(0.001 * int(n)))]) for n in "231"]
    article = prepared(both, *sets)
    transitions.approve_article(article, by=both.customer, seal="S-1")
    (master,) = masters(both)
    stored = packed.unpack(blobs.get(both.cast.agreement.chain, master.reading))
    assert sorted(stored.labels) == ["1", "2", "3"]
    for label, values in zip(stored.labels, stored.values, strict=True):
        assert values.tolist() == curve(0.001 * int(label))
    assert stored.condition["geometry"] == "di:8"


def test_readings_of_unsaid_geometry_beside_others_are_not_stored(both):
    rows = [(n, curve()) for n in "123"]
    article = prepared(both, ("di:8", rows), ("", [(n, curve(0.01)) for n in "123"]))
    with pytest.raises(Refusal) as refused:
        transitions.approve_article(article, by=both.customer, seal="S-1")
    assert refused.value.id == "geometry_unsaid" and not masters(both)
    article.refresh_from_db()
    assert article.status == "submitted"
