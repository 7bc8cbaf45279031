"""What cannot be handed in is told in words: which file or sitting, which field, what to do."""

from __future__ import annotations

import logging
import re

import pytest

from evidence.models import MeasuredSet, Sitting
from evidence.transitions import Said, judge_specimens
from parties.refusal import Refusal
from shipments import transitions
from shipments.models import Submission
from tests.access.twins import twin
from tests.shipments.test_lots import fresh
from tests.world import curve

TECHNICAL = re.compile(r"[a-z]+_[a-z]+|\b[a-z]+\.\d|String|should|Input|type=|[0-9a-f]{16}")


@pytest.fixture
def lot(world):
    found = world.open_lot()
    world.gather(world.staff, found.subject)
    return found


def refused(world, lot) -> str:
    with pytest.raises(Refusal) as caught:
        transitions.submit_lot(lot, by=world.staff)
    assert caught.value.id == "unfit"
    assert fresh(lot).status == "open" and not Submission.objects.filter(lot=lot).exists()
    said = str(caught.value)
    assert not TECHNICAL.search(said), said
    return said


@pytest.mark.parametrize(
    ("condition", "field", "what"),
    [
        ({"orientation": "long " * 100}, "Orientation", "too long"),
        ({"aperture": "eight"}, "Aperture (mm)", "no plain number"),
        ({"temperature_c": "1E+3"}, "Temperature of the specimens (°C)", "no plain number"),
    ],
)
def test_a_condition_names_its_file_and_field(world, lot, caplog, condition, field, what):
    row = twin(MeasuredSet.objects.get(subject=lot.subject), condition=condition)
    with caplog.at_level(logging.WARNING):
        said = refused(world, lot)
    assert said.startswith(f"This evidence cannot be handed in yet. {row}: {field}: ")
    assert what in said
    assert "Condition." in caplog.text and next(iter(condition.values())) not in caplog.text


def test_a_sitting_names_its_booth_and_day(world, lot):
    first = Sitting.objects.get(subject=lot.subject)
    sitting = twin(first, booth_name="Booth X", illuminants=["D65", ""], specimens=first.specimens)
    judge_specimens(
        sitting, by=world.staff, observer=world.observers["supp"][0], said=[Said("1", "accept")]
    )
    said = refused(world, lot)
    assert str(sitting) in said and "Lights used: nothing is entered" in said


def test_readings_handed_in_twice_are_said_so(world):
    lot = world.open_lot()
    twin(world.measure(world.staff, lot.subject, [("1", curve())]), zone="UTC")
    assert "the same readings are there twice" in refused(world, lot)


def test_a_remark_of_the_whole_has_a_field(world, lot):
    with pytest.raises(Refusal) as caught:
        transitions.submit_lot(lot, by=world.staff, note="x" * 301)
    assert "Remark: the text is too long" in str(caught.value)
