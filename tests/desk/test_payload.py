"""The content of entries in words: nothing left to a program's names, nothing a program needs."""

from __future__ import annotations

import re

import pytest

from agreements import transitions as agreeing
from desk.payload import LABELS, MACHINE, SPECIAL, facts_of
from ledger import chain
from ledger.kinds import SCHEMAS, Kind
from ledger.models import Entry
from ledger.payloads import Ground, SeatFacts
from parties.models import Reference
from parties.statement_words import WHAT
from parties.transitions import enter
from shipments.parts import part_of, part_words
from shipments.transitions.listing import draw_up_list, sign_list

IDENTIFIER = re.compile(r"\b[a-z]+_[a-z_]+\b|[\[{]'|prt-")


def shown(entry: Entry) -> dict[str, list[str]]:
    return {str(fact.label): fact.lines for fact in facts_of(entry)}


def only(kind: str, **more) -> Entry:
    return Entry.objects.filter(kind=kind, **more).order_by("-time")[0]


@pytest.mark.parametrize("kind", sorted(Kind))
def test_every_field_of_every_kind_has_a_label(kind):
    for name in SCHEMAS[kind].model_fields:
        assert name in MACHINE or str(LABELS[name]), f"{kind}: {name}"
        assert (name in MACHINE) != (name in LABELS)


def test_every_label_is_of_a_field():
    fields = {name for schema in SCHEMAS.values() for name in schema.model_fields}
    inner = set(Ground.model_fields) | set(SeatFacts.model_fields)
    assert set(LABELS) | MACHINE == fields | inner
    assert set(SPECIAL) <= fields


def test_everything_of_a_story_is_in_words(world):
    world.settled()
    for entry in chain.entries(world.cast.agreement.chain):
        for fact in facts_of(entry):
            assert fact.lines and all(fact.lines)
            if not fact.code:
                assert not IDENTIFIER.search(" ".join(fact.lines)), (entry.kind, fact)
            assert not re.search(r"[0-9a-f]{17}", " ".join(fact.lines)), (entry.kind, fact)


def test_seats_parts_sides_and_outcomes(world):
    world.rejected_lot()
    seats = shown(only("dossier.opened"))["Seats"]
    assert len(seats) == 3 and any(line.endswith("), customer") for line in seats)
    lot = only("lot.opened")
    part = part_of(revision(world), lot.payload["part"])
    assert shown(lot)["Part and colour"] == [part_words(part)]
    assert shown(lot)["Order accepted on"] == [lot.payload["accepted_on"]]
    assert shown(only("verdict.given"))["Outcome"] == ["nonconforming"]
    assert shown(only("submission.made"))["Purpose"] == ["rejection"]
    assert shown(only("revision.agreed"))["Side"] == ["supplier"]
    raised = shown(only("dispute.raised"))
    assert raised["Held back"] == ["pieces held in stock: 100"]
    against = r"6\. [A-Z][a-z ]+; compared with [a-z ]+; specimens 1, 2, 3"
    assert re.fullmatch(against, raised["Grounds"][0])


def revision(world):
    return world.open_lot("L-part").revision


def test_a_signature_says_what_it_means_and_keeps_the_programs_part_back(world):
    world.released_lot()
    entry = only("signature.made")
    said = shown(entry)
    assert said["What is signed"] == [str(WHAT["submission"])]
    assert said["What it means"] == ["I hand in this evidence for my organisation."]
    assert said["Assurance"] == ["key held by this service: whoever runs it could sign with it"]
    assert world.cast.supplier_lead.name in said["Signed by"][0]
    whole = str(said)
    assert entry.payload["jws"] not in whole and "nonce" not in whole and "{" not in whole[1:]
    certified = shown(only("key.certified"))
    assert "MII" not in str(certified) and certified["Side"] == ["supplier"]
    assert certified["Fingerprint of the key"][0].endswith("…")


def test_every_sort_of_signature_has_words(world):
    world.settled()
    lot = world.judged_lot("L-9")
    listed = [world.last_submission(lot)]
    drawn = draw_up_list(world.cast.agreement, by=world.staff, submissions=listed)
    sign_list(drawn, by=world.supplier)
    sorts = {
        shown(entry)["What is signed"][0] for entry in Entry.objects.filter(kind="signature.made")
    }
    assert sorts == {str(words) for words in WHAT.values()}


def test_a_reference_by_the_labels_of_its_form(world):
    enter(
        Reference, by=world.customer, name="Panel 7", kind="limit_sample",
        made_as="painted_panel", like_part=["substrate", "finish"], part="H-1", colour="Slate",
        issued_on=world.today,
    )  # fmt: skip
    entry = only("reference.entered")
    said = shown(entry)
    assert said["Kind"] == ["limit sample"] and said["Name"] == ["Panel 7"]
    facts = " | ".join(said["Facts"])
    assert "what it is: " in facts and "part number: H-1" in facts and "issued on: " in facts
    assert not IDENTIFIER.search(facts)


def test_a_remark_names_its_item_in_words(world):
    signed = revision(world)
    item = signed.document.shared.changes.signatories[0].id
    agreeing.make_remark(signed, by=world.staff, clause="changes", item=item, text="Who else?")
    said = shown(only("remark.made"))
    assert item not in str(said) and "customer" in said["Item"][0]
    assert said["Clause"][0].startswith("10")
