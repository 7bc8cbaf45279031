"""Registers: rows are superseded, never edited; what held on a day as it was known at a moment."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest
from django.db import connection, transaction
from django.db.utils import DatabaseError

from ledger import blobs, chain, clock
from parties.due import due
from parties.facts import booth_facts, instrument_facts, observer_facts, reference_facts
from parties.models import Booth, Chip, Instrument, Observer, Reference
from parties.refusal import Refusal
from parties.transitions import add_chips, enter, open_dossier_chain, supersede, use_chip

JAN, FEB, MAR = (dt.datetime(2026, month, 10, 12, tzinfo=dt.UTC) for month in (1, 2, 3))


@pytest.fixture
def own(cast):
    """The supplier's lead in the register."""
    return cast.capacity(cast.supplier_lead, cast.registers["supp"])


def at(moment, act, *args, **kwargs):
    """An act done at a moment."""
    with clock.fixed(moment):
        return act(*args, **kwargs)


def test_as_of_takes_what_held_on_the_day_from_what_was_recorded_by_then(own):
    """A correction recorded in March for January counts only when looking from March."""
    one = at(JAN, enter, Booth, by=own, name="B", lamp_hours=100, valid_from=JAN.date())
    two = at(FEB, supersede, one, by=own, lamp_hours=200, valid_from=FEB.date())
    at(MAR, supersede, two, by=own, lamp_hours=150, valid_from=JAN.date())

    def hours(day, until):
        return [row.lamp_hours for row in Booth.objects.as_of(day.date(), until)]

    assert hours(JAN, JAN) == [100]
    assert hours(JAN, FEB) == [100]
    assert hours(FEB, FEB) == [200]
    assert hours(FEB, JAN) == [100]
    assert hours(JAN, MAR) == [150]
    assert hours(FEB, MAR) == [150]
    assert hours(dt.datetime(2025, 12, 31, tzinfo=dt.UTC), MAR) == []
    assert [row.lamp_hours for row in Booth.objects.current()] == [150]
    assert [row.version for row in Booth.objects.history(one.key)] == [3, 2, 1]


def test_a_row_is_superseded_once(own):
    """Two people write at the same time: the second is told, and nothing is lost."""
    one = enter(Booth, by=own, name="B", lamp_hours=1)
    supersede(one, by=own, lamp_hours=2)
    with pytest.raises(Refusal) as refused:
        supersede(one, by=own, lamp_hours=3)
    assert refused.value.id == "register.superseded"
    assert Booth.objects.count() == 2


@pytest.mark.parametrize("model", [Observer, Booth, Instrument, Reference, Chip])
@pytest.mark.parametrize("sql", ["UPDATE {} SET name = 'x'", "DELETE FROM {}"])
def test_rows_cannot_be_changed(own, model, sql):
    """By the trigger, whatever asks for it."""
    pack = enter(Reference, by=own, name="P", kind="chip_pack")
    extra = {Reference: {"kind": "master"}, Chip: {"reference_key": pack.key}}.get(model, {})
    row = enter(model, by=own, name="first", **extra)
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql.format(model._meta.db_table))
    assert model.objects.get(pk=row.pk).name == "first"


def test_wrong_facts_are_named(own):
    """A script gets the same checks as a form."""
    with pytest.raises(Refusal, match="lamp"):
        enter(Booth, by=own, name="B", lamp_hours="many")
    with pytest.raises(Refusal, match="kind"):
        enter(Reference, by=own, name="R", kind="card")


def test_a_reference_expires_after_twelve_months_unless_said(own):
    """From the day it was opened, else issued."""
    one = enter(Reference, by=own, name="R", kind="master", issued_on="2024-02-29")
    assert one.expires_on == dt.date(2025, 2, 28)
    two = enter(
        Reference, by=own, name="S", kind="master", issued_on="2024-01-01", opened_on="2024-03-01"
    )
    assert two.expires_on == dt.date(2025, 3, 1)
    three = enter(Reference, by=own, name="T", kind="master", expires_on="2024-06-01")
    assert three.expires_on == dt.date(2024, 6, 1)


def test_a_reference_in_an_agreement_is_shared_and_enters_the_chain(cast):
    """Both sides and the auditor see it; the chain begins with it where it is the first act."""
    by = cast.capacity(cast.customer_colleague)
    row = enter(Reference, by=by, name="Master 1", kind="master", thickness_mm="2.50")
    entry = chain.entries(cast.agreement.chain).get(kind="reference.entered")
    assert entry.payload["facts"]["thickness_mm"] == "2.5"
    for who in (cast.customer_lead, cast.auditor):
        sitter = cast.capacity(who).sitter
        assert list(Reference.objects.visible_to(sitter)) == [row]
    assert not Reference.objects.visible_to(cast.capacity(cast.supplier_lead, cast.other).sitter)


def test_an_agreement_holds_references_alone(cast):
    """A booth or an observer stays in its firm's register."""
    open_dossier_chain(cast.agreement, cast.capacity(cast.supplier_lead))
    for model in (Booth, Instrument, Observer):
        with pytest.raises(Refusal):
            enter(model, by=cast.capacity(cast.supplier_lead), name="x")


def test_a_stored_reading_is_among_the_files(cast):
    """A digest that nobody stored is refused; a stored one is among the entry's blobs."""
    by = cast.capacity(cast.customer_colleague)
    with pytest.raises(Refusal) as refused:
        enter(Reference, by=by, name="M", kind="master", reading="ab" * 32)
    assert refused.value.id == "reference.reading"
    open_dossier_chain(cast.agreement, by)
    digest = blobs.put(cast.agreement.chain, b"packed", "application/octet-stream")
    enter(Reference, by=by, name="M", kind="master", reading=digest)
    assert chain.entries(cast.agreement.chain).last().blobs == [digest]


def test_chips_of_a_shared_pack_are_entered_in_the_chain_and_those_of_a_register_are_not(cast, own):
    shared = cast.capacity(cast.customer_colleague)
    for by, kinds in ((own, []), (shared, ["chip.entered", "chip.used"])):
        pack = enter(Reference, by=by, name="Pack 7", kind="chip_pack")
        add_chips(pack, by=by, labels=["1", "2"])
        chip = Chip.objects.get(name="1", dossier=by.dossier)
        use_chip(chip, by=by, used_on=dt.date(2026, 3, 3), used_for="lot 7")
        made = chain.entries(by.dossier.chain).filter(kind__startswith="chip.")
        assert [one.kind for one in made] == kinds
    entered, used = made
    assert entered.payload == {"name": "Pack 7", "labels": ["1", "2"]}
    assert entered.subject == f"reference:{pack.key.hex}"
    assert used.payload == {"name": "1", "on": "2026-03-03", "note": "lot 7"}


def test_chips_are_used_once(own):
    """Labels are not repeated in a pack; only a pack has chips."""
    pack = enter(Reference, by=own, name="P", kind="chip_pack")
    add_chips(pack, by=own, labels=["1", "2"])
    for labels in (["2"], ["3", "3"]):
        with pytest.raises(Refusal):
            add_chips(pack, by=own, labels=labels)
    chip = Chip.objects.get(name="1")
    used = use_chip(chip, by=own, used_on=dt.date(2026, 3, 3), used_for="lot 7")
    for spent in (chip, used):
        with pytest.raises(Refusal):
            use_chip(spent, by=own, used_on=dt.date(2026, 3, 4))
    master = enter(Reference, by=own, name="M", kind="master")
    with pytest.raises(Refusal):
        add_chips(master, by=own, labels=["9"])


def test_rows_become_the_facts_of_the_day(own):
    """What is unknown is left out; decimals lose the column's zeros; private facts stay apart."""
    lights = [{"illuminant": "A", "technology": "tungsten", "lamp_hours": 12}]
    booth = enter(
        Booth, by=own, name="B", illuminance="1500", simulator_category="B", other_lights=lights
    )
    booth.refresh_from_db()
    said = booth_facts(booth).plain()
    assert [light["illuminant"] for light in said["lights"]] == ["A", "D65"]
    assert said["lights"][1] == {
        "illuminant": "D65",
        "illuminance_lux": "1500",
        "category": "B",
        "category_source": "declared",
    }
    assert "interior" not in said
    instrument = enter(Instrument, by=own, name="S", geometry="di:8", aperture_mm="8.0")
    instrument.refresh_from_db()
    assert instrument_facts(instrument).apertures_mm == (Decimal("8"),)
    pack = enter(Reference, by=own, name="P", kind="chip_pack", thickness_mm="0.30")
    add_chips(pack, by=own, labels=["1"])
    said = reference_facts(pack, chip=Chip.objects.get()).plain()
    assert (said["chip"], said["thickness_mm"], said["code"]) == ("1", "0.3", "P")
    person = enter(Observer, by=own, name="Ada", score=14, tested_on="2026-03-01")
    facts = observer_facts(person, "B-2345")
    assert [(test.score, test.on) for test in facts.tests] == [(14, dt.date(2026, 3, 1))]
    assert (facts.correction_prescribed, facts.correction_worn) == (None, None)


def test_due_things_are_listed_and_retests_only_for_the_lead(cast, own):
    """Within thirty days or overdue; words, address and day."""
    today = dt.date(2026, 3, 1)
    enter(Instrument, by=own, name="Sphere", calibration_due="2026-03-20")
    enter(Instrument, by=own, name="Later", calibration_due="2026-06-20")
    enter(Reference, by=own, name="Old", kind="master", expires_on="2026-02-01")
    enter(Booth, by=own, name="North", checked_on="2026-02-10")
    enter(Observer, by=own, name="Ada", score=14, tested_on="2024-03-05")
    found = due(own, today)
    assert [one.id.partition(":")[0] for one in found] == [
        "expiry",
        "retest",
        "booth_check",
        "calibration",
    ]
    assert found[0].past(today)
    assert not found[1].past(today)
    assert all(one.words and one.url.startswith("/d/") for one in found)
    staff = cast.capacity(cast.supplier_staff, cast.registers["supp"])
    assert "retest" not in {one.id.partition(":")[0] for one in due(staff, today)}
    assert due(cast.capacity(cast.supplier_lead), today) == []
