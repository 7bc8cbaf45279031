"""Every kind of evidence that clause 8 can make due can be handed in, and then counts."""

from __future__ import annotations

import datetime as dt
import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from evidence import transitions as evidencing
from evidence.models import FILED, MeasuredSet
from jobs import queue
from ledger.models import Entry
from method.submission import parse_submission
from method.terms import Terms
from method.terms.edit import with_item, with_values
from method.terms.models.evidence import EVIDENCE_WORDS
from parties.models import Chip, Reference
from parties.refusal import Refusal
from parties.transitions import add_chips, enter
from shipments import transitions
from shipments.models import Lot
from tests.world import World, curve, terms


def bound(cast, made: Terms) -> World:
    """A world under these terms, the first article approved."""
    world = World(cast, "spectral")
    world.fill_registers()
    world.sign_terms(made)
    world.enter_standard()
    world.approved_article()
    return world


def due(kind: str, **values: str) -> Terms:
    """Terms under which one more kind of evidence is required for release."""
    asked = {"what": kind, "supplied_by": "supplier", "occasion": "release", "required": "yes"}
    asked["due"] = "with_submission"
    return with_item(terms("spectral"), "evidence", "items", asked | values)


def judged(world: World, lot: Lot) -> tuple[dict, dict]:
    """The submission and the verdict of what was handed in for a lot."""
    made = transitions.submit_lot(lot, by=world.staff)
    queue.drain()
    made.refresh_from_db()
    return json.loads(bytes(made.bytes)), json.loads(bytes(made.verdict.bytes))


def answer(world: World, lot: Lot, kind: str) -> None:
    """Bring one kind of evidence as the pages do."""
    if kind in FILED:
        upload = SimpleUploadedFile(f"{kind}.pdf", kind.encode(), "application/pdf")
        evidencing.add_document(
            lot.dossier, by=world.staff, subject=lot.subject, upload=upload, answers=kind
        )
    elif kind == "physical_piece":
        for seal in ("S-2", "S-1"):
            evidencing.retain_piece(lot.dossier, by=world.staff, subject=lot.subject, seal=seal)
    elif kind == "limit_samples":
        sit(world, lot, comparator="limit_sample", reference=limit_sample(world))
    elif kind == "reference_chip":
        pack = enter(Reference, by=world.supplier, name="Pack", kind="chip_pack",
                     issued_on=world.today)  # fmt: skip
        add_chips(pack, by=world.supplier, labels=["17"])
        sit(world, lot, comparator="chip", chip=Chip.objects.get(), reference=None)


def limit_sample(world: World) -> Reference:
    return enter(
        Reference, by=world.customer, name="Darkest", kind="limit_sample", issued_on=world.today
    )


def sit(world: World, lot: Lot, **more) -> None:
    """One more sitting, of the observers one after the other."""
    values = {
        "subject": lot.subject,
        "day": world.today,
        "booth": world.booths["supp"],
        "procedure": "release_check",
        "illuminants": ["D65", "A", "F11"],
        "specimens": ["1", "2", "3"],
        "warm_up_minutes": 30,
        "adaptation_minutes": 5,
    }
    sitting = evidencing.open_sitting(lot.dossier, by=world.staff, **values | more)
    said = [evidencing.Said(label, "accept") for label in sitting.specimens]
    for observer in world.observers["supp"]:
        evidencing.judge_specimens(sitting, by=world.staff, observer=observer, said=said)


@pytest.mark.parametrize(
    "kind", [one for one in EVIDENCE_WORDS if one not in ("spectral", "visual")]
)
def test_what_is_due_is_missing_until_it_is_brought(cast, quick_papers, kind):
    world = bound(cast, due(kind, pieces="2") if kind == "physical_piece" else due(kind))
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    _document, verdict = judged(world, lot)
    assert verdict["outcome"] == "incomplete"
    item = next(one for one in verdict["evidence"] if one["what"] == kind)
    assert item["state"] != "met"
    answer(world, lot, kind)
    lot.refresh_from_db()
    _document, verdict = judged(world, lot)
    again = next(one for one in verdict["evidence"] if one["what"] == kind)
    assert again["state"] == "met" and again["item"] == item["item"]
    assert verdict["outcome"] == "conforming"


def test_an_attachment_names_its_item_and_its_bytes_go_into_the_record(cast, quick_papers, sign_in):
    world = bound(cast, due("photograph"))
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    for kind in ("photograph", "process_record"):  # nobody asked for the second
        answer(world, lot, kind)
    document, verdict = judged(world, lot)
    items = {one["name"]: one["item"] for one in document["attachments"]}
    wanted = next(one["item"] for one in verdict["evidence"] if one["what"] == "photograph")
    assert items == {"photograph.pdf": wanted, "process_record.pdf": "process_record"}
    submission = world.last_submission(lot)
    entry = Entry.objects.get(kind="submission.made", subject=submission.subject)
    assert {one["file"] for one in document["attachments"]} <= set(entry.blobs)
    page = sign_in(world.cast.customer_lead).get(submission.get_absolute_url()).content.decode()
    assert "photograph.pdf" in page and "process_record.pdf" in page


def test_the_order_of_bringing_does_not_reach_the_digest(cast, quick_papers, monkeypatch):
    world = bound(cast, due("photograph"))
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    for kind in ("physical_piece", "photograph", "booth_report"):
        answer(world, lot, kind)
    document, _verdict = judged(world, lot)
    assert [one["seal"] for one in document["retained"]] == ["S-1", "S-2"]
    assert parse_submission(bytes(world.last_submission(lot).bytes))


def test_what_was_set_aside_is_not_handed_in(cast, quick_papers):
    world = bound(cast, due("photograph"))
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    upload = SimpleUploadedFile("a.png", b"a", "image/png")
    made = evidencing.add_document(
        lot.dossier, by=world.staff, subject=lot.subject, upload=upload, answers="photograph"
    )
    evidencing.set_aside(made, by=world.staff, reason="Blurred")
    document, verdict = judged(world, lot)
    assert document.get("attachments", []) == [] and verdict["outcome"] == "incomplete"


def test_a_retained_specimen_need_not_have_been_read(world):
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    evidencing.retain_piece(
        lot.dossier, by=world.staff, subject=lot.subject, seal="S-1", specimen="kept only"
    )
    document, verdict = judged(world, lot)
    assert "kept only" in {one["label"] for one in document["specimens"]}
    assert verdict["outcome"] == "conforming"


@pytest.mark.parametrize(
    ("admitted", "days", "reason"),
    [
        ("yes", (-10, 10), None),
        ("yes", (-10, -1), "observer_grant_missing"),
        ("yes", (-10, None), None),
        ("no", (-10, 10), "observer_not_borrowable"),
    ],
)
def test_a_borrowed_observer_counts_under_clause_2_and_the_grant(
    cast, quick_papers, admitted, days, reason
):
    world = bound(cast, with_values(terms("spectral"), "observers", {"borrowed": admitted}))
    first, last = (None if n is None else world.today + dt.timedelta(days=n) for n in days)
    lent = world.observer(
        world.by(world.cast.supplier_lead, "supp"),
        "Lent one",
        borrowed_from="Third Works (invented)",
        grant_from=first,
        grant_until=last,
    )
    world.observers["supp"][1] = lent
    document, verdict = judged_lot(world)
    said = [one for sitting in document["sittings"] for one in sitting["judgements"]]
    borrowed = [one for one in said if one.get("borrowed")]
    assert len(borrowed) == 3 and len(said) == 6
    assert {one["qualified"] for one in borrowed} == {reason is None}
    assert {why["id"] for one in borrowed for why in one["reasons"]} == ({reason} - {None})
    assert verdict["outcome"] == ("conforming" if reason is None else "incomplete")
    assert "Third Works" not in json.dumps([document, verdict])


def judged_lot(world: World) -> tuple[dict, dict]:
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    return judged(world, lot)


def placed(world: World, lot: Lot, place: str) -> MeasuredSet:
    """Readings of three specimens at a place."""
    rows = [(label, curve(0.0001 * len(place))) for label in "123"]
    return world.measure(world.staff, lot.subject, rows, place=place)


def test_readings_say_their_place_by_a_name_of_clause_5(cast, quick_papers):
    made = terms("spectral")
    for name in ("edge", "centre"):
        made = with_item(made, "measurement", "places", {"name": name, "where": "as drawn"})
    world = bound(cast, made)
    lot = world.open_lot()
    for place in ("edge", "centre"):
        placed(world, lot, place)
    world.sit(world.staff, lot.subject, dict.fromkeys("123", "accept"))
    wrong = placed(world, lot, "Edge ")
    with pytest.raises(Refusal) as refused:
        transitions.submit_lot(lot, by=world.staff)
    assert refused.value.id == "place_unknown" and "edge, centre" in str(refused.value)
    evidencing.set_aside(wrong, by=world.staff, reason="misspelt")
    document, verdict = judged(world, lot)
    places = [{r["place"] for r in one["readings"]} for one in document["measured"]]
    assert sorted(map(sorted, places)) == [["centre"], ["edge"]]
    assert verdict["outcome"] == "conforming"
