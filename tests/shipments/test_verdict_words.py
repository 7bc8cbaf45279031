"""One lot per verdict word, through the pages, with and without an instrument."""

from __future__ import annotations

import json

import pytest
from django.urls import reverse

from jobs import queue
from shipments.models import Verdict
from tests.shipments.pages import Desk
from tests.world import make_world

# outcome → (shift of the readings, each observer's word, the ids of the reasons in order)
SPECTRAL = {
    "conforming": (
        0.0,
        ["accept", "accept"],
        ["visual_conforming", "instrument_conforming", "combined"],
    ),
    "nonconforming": (
        0.08,
        ["reject", "reject"],
        [
            "visual_nonconforming",
            *["panel_rejects"] * 3,
            "instrument_nonconforming",
            *["value_beyond"] * 3,
            "combined",
        ],
    ),
    "inconclusive": (
        0.0145,
        ["accept", "accept"],
        ["visual_conforming", "instrument_inconclusive", *["value_between"] * 3, "combined"],
    ),
    "incomplete": (0.0, [], ["sitting_missing", "instrument_conforming", "combined"]),
}
VISUAL = {
    "conforming": (None, ["accept", "accept"], ["visual_conforming", "combined"]),
    "nonconforming": (
        None,
        ["reject", "reject"],
        ["visual_nonconforming", *["panel_rejects"] * 3, "combined"],
    ),
    "inconclusive": (
        None,
        ["accept", "reject"],
        ["visual_inconclusive", *["panel_undecided"] * 3, "combined"],
    ),
    "incomplete": (
        None,
        ["accept"],
        [*["panel_too_small"] * 3, "visual_inconclusive", "combined"],
    ),
}  # fmt: skip


def judged(world, sign_in, shift, words) -> dict:
    """A lot from opening to its verdict; gives the verdict as the auditor downloads it."""
    desk = Desk(world, sign_in(world.cast.supplier_staff))
    lot = desk.open_lot()
    if shift is not None:
        desk.measure(lot, shift)
    if words:
        sitting = desk.open_sitting(lot)
        for observer, word in zip(world.observers["supp"], words, strict=False):
            desk.judge(sitting, observer, word)
    desk.hand_in(lot)
    queue.drain()
    verdict = Verdict.objects.get(submission__lot=lot)
    kwargs = desk.kwargs | {"pk": verdict.pk}
    auditor = sign_in(world.cast.auditor)
    answer = auditor.get(reverse("shipments:verdict-document", kwargs=kwargs))
    assert answer.content == bytes(verdict.bytes)
    page = auditor.get(verdict.submission.get_absolute_url()).content.decode()
    assert verdict.get_outcome_display() in page
    return json.loads(answer.content)


@pytest.mark.parametrize(
    ("kind", "outcome"),
    [("spectral", word) for word in SPECTRAL] + [("visual", word) for word in VISUAL],
)
def test_a_lot_for_every_word(cast, quick_papers, sign_in, kind, outcome):
    shift, words, reasons = {"spectral": SPECTRAL, "visual": VISUAL}[kind][outcome]
    verdict = judged(make_world(cast, kind), sign_in, shift, words)
    found = [reason["id"] for reason in verdict["reasons"]]
    assert (verdict["outcome"], found) == (outcome, reasons)
