"""Words that a side keeps to itself, or that stand in another dossier, planted through the
transitions and looked for in every page, answer and download that somebody can read."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from agreements import transitions as agreeing
from agreements.models import Draft
from disputes import transitions as disputing
from evidence import transitions as evidencing
from method.terms.document import terms_bytes
from method.terms.edit import with_heading
from parties.capacity import Capacity
from parties.models import Booth
from parties.transitions import enter
from shipments import transitions as shipping
from tests.access.builders import Case
from tests.access.reading import cases, read
from tests.access.stage import Stage, undone
from tests.access.table import RULES
from tests.access.test_canaries import AUDITORS, CUSTOMERS, SUPPLIERS
from tests.world import csv, curve, terms

pytestmark = pytest.mark.django_db

PLACES = ("agreement", "register", "all")
SCORE = 1877  # of an observer
AS_NUMBER = re.compile(rf"(?<![0-9a-f.-]){SCORE}(?![0-9a-f-])")  # not within a digest or an id
Found = list[tuple[str, Any]]


def file_of(stage: Stage, by: Capacity, word: str) -> Any:
    """Readings with a telling name and a telling label, not handed in."""
    upload = SimpleUploadedFile(f"{word}file.csv", csv([(f"{word}label", curve())]), "text/csv")
    return evidencing.take_file(by.dossier, by=by, upload=upload, subject="")


def draft_of(by: Capacity, word: str) -> Draft:
    """The side's draft with a telling title."""
    draft = Draft.objects.filter(dossier=by.dossier, side_only=by.side).first()
    made = with_heading(terms("visual"), {"title": f"{word}draft"})
    if draft is None:
        data = terms_bytes(made)
        return Draft.objects.create(dossier=by.dossier, side_only=by.side, terms=data)
    return agreeing.rewrite(draft, by=by, terms=made, version=draft.version)


def plant_side(stage: Stage, side: str) -> Found:
    """What a side has for itself: a draft, a note, readings, a sitting; the supplier also a first
    article that is not handed in and an observer's record."""
    world, word = stage.world, f"zq{side}"
    by = world.customer if side == "customer" else world.supplier
    draft_of(by, word)
    draft = Draft.objects.get(dossier=by.dossier, side_only=side)
    disputing.keep_note(stage.get("dispute"), by=by, text=f"{word}note")
    sitting = world.sit(by, "", {f"{word}specimen": "accept"})
    found = [
        ("agreements:draft", draft),
        ("evidence:file", file_of(stage, by, word)),
        ("evidence:sitting", sitting),
    ]
    if side == "supplier":
        facts = {"number": f"{word}article", "part": world.part(), "quantity": 3}
        article = shipping.prepare_article(stage.agreement, by=world.staff, **facts)
        lead = world.by(stage.cast.supplier_lead, "supp")
        record = world.observer(lead, "Observer with a score", score=SCORE)
        found += [("shipments:article", article), ("parties:observer", record)]
    return found


def plant_elsewhere(stage: Stage) -> None:
    """What the third firm has in its agreement with the same supplier, and in its register."""
    cast, word = stage.cast, "zqother"
    stranger = cast.capacity(cast.stranger, cast.other)
    draft_of(stranger, word)
    revision = agreeing.propose(
        Draft.objects.get(dossier=cast.other), by=stranger, note=f"{word}proposal"
    )
    agreeing.make_remark(revision, by=stranger, clause="scope", item="", text=f"{word}remark")
    file_of(stage, cast.capacity(cast.supplier_staff, cast.other), word)
    register = cast.capacity(cast.stranger, cast.registers["third"])
    enter(Booth, by=register, name=f"{word}booth", valid_from=stage.world.today, zone="UTC")


def texts_of(stage: Stage, whom: tuple[str, ...], more: Found) -> dict[str, str]:
    """All that each of them can read."""
    rules = {rule.name: rule for rule in RULES}
    found = cases(stage) + [(rules[name], Case(obj)) for name, obj in more]
    texts = read(stage, whom, found, PLACES)
    return {
        who: "\n".join(
            text.decode(errors="replace") for (reader, _url), text in texts.items() if reader == who
        )
        for who in whom
    }


def words(side: str, *names: str) -> list[str]:
    """Planted words."""
    return [f"zq{side}{name}" for name in names]


def test_planted_words_are_read_by_their_own_side_alone(stage: Stage):
    """The own side finds them; the other side, the auditor and the stranger never do."""
    with undone():
        more = plant_side(stage, "customer") + plant_side(stage, "supplier")
        plant_elsewhere(stage)
        read_by = texts_of(stage, (*CUSTOMERS, *SUPPLIERS, *AUDITORS, "stranger"), more)
    private = words("customer", "draft", "note", "file", "specimen")
    theirs = words("supplier", "draft", "note", "file", "specimen", "article")
    assert [word for word in private if word not in read_by["customer_lead"]] == []
    assert [word for word in theirs if word not in read_by["supplier_lead"]] == []
    assert "zqsupplierlabel" in read_by["supplier_staff"]
    for who, text in read_by.items():
        side = who.partition("_")[0]
        hidden = {"zqcustomer", "zqsupplier", "zqother"} - {f"zq{side}"}
        assert [word for word in sorted(hidden) if word in text] == [], who
    # An observer of the own side sees sittings, and nothing else of the evidence.
    assert "zqsupplierfile" not in read_by["supplier_observer"]


def test_a_score_is_read_by_the_own_lead_alone(stage: Stage):
    """Other staff of the same firm read the name; nobody else reads anything."""
    with undone():
        more = plant_side(stage, "supplier")
        read_by = texts_of(stage, (*CUSTOMERS, *SUPPLIERS, *AUDITORS, "stranger"), more)
    assert [who for who, text in read_by.items() if AS_NUMBER.search(text)] == ["supplier_lead"]
    assert "Observer with a score" in read_by["supplier_staff"]
    assert "Observer with a score" not in read_by["customer_lead"] + read_by["auditor"]
