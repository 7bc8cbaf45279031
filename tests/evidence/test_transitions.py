"""Every step by which evidence comes in, and every refusal on the way."""

from __future__ import annotations

import datetime as dt
from typing import get_args

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from evidence import transitions
from evidence.forms import SittingForm
from evidence.models import EvidenceFile, Judgement, MeasuredSet, Sitting
from evidence.subjects import address
from evidence.transitions import Said
from ledger import blobs, chain
from ledger.models import Entry
from method.terms.models.viewing import BoothLight
from parties.models import Observer, Reference
from parties.refusal import Refusal
from parties.transitions import enter
from tests.world import csv as table
from tests.world import curve

SUBJECT = "lot/6a0c7c52-6f0e-4a52-9f4e-0d3c1b9a7e11"


def upload(data: bytes, name: str = "readings.csv") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, "text/csv")


def take(world, data: bytes, **more) -> EvidenceFile:
    values = {"by": world.staff, "upload": upload(data), "subject": SUBJECT}
    return transitions.take_file(world.cast.agreement, **values | more)


def confirm(world, file: EvidenceFile, **more) -> MeasuredSet:
    values = {
        "by": world.staff,
        "answers": {"scale": "factor"},
        "instrument": world.instruments["supp"],
        "measured_on": world.today,
        "zone": "Europe/Berlin",
        "condition": {"geometry": "di:8", "backing": ""},
    }
    return transitions.confirm_reading(file, **values | more)


def sitting_of(world, **more) -> Sitting:
    values = {
        "by": world.staff,
        "subject": SUBJECT,
        "day": world.today,
        "booth": world.booths["supp"],
        "procedure": "release_check",
        "comparator": "master",
        "reference": world.master,
        "illuminants": ["D65", "A", "D65"],
        "specimens": [" 1 ", "2", ""],
        "warm_up_minutes": 30,
        "adaptation_minutes": 5,
    }
    return transitions.open_sitting(world.cast.agreement, **values | more)


def refused(call, *args, **kwargs) -> Refusal:
    with pytest.raises(Refusal) as caught:
        call(*args, **kwargs)
    assert str(caught.value)
    return caught.value


def test_a_file_is_kept_byte_for_byte_and_stays_out_of_the_chain(world):
    before = chain.head(world.cast.agreement.chain)
    data = table([("1", curve())])
    file = take(world, data)
    assert (file.side_only, file.made_by) == ("supplier", world.staff.sitter.code)
    assert blobs.get(world.cast.agreement.chain, file.digest) == data
    assert file.size == len(data)
    assert chain.head(world.cast.agreement.chain) == before


@pytest.mark.parametrize(
    ("data", "id"), [(b"", "file_empty"), (b"x" * (20 * 2**20 + 1), "file_large")]
)
def test_an_empty_or_large_file_is_refused_and_nothing_is_stored(world, data, id):
    before = EvidenceFile.objects.count()
    assert refused(take, world, data).id == id
    assert EvidenceFile.objects.count() == before


def test_a_file_of_exactly_20_mib_is_taken(world):
    assert take(world, b"x" * (20 * 2**20)).size == 20 * 2**20


@pytest.mark.parametrize("subject", ["lot", "lot/1", "order/" + SUBJECT[4:], SUBJECT + "x", "x"])
def test_evidence_is_about_something_that_can_be(world, subject):
    assert refused(take, world, b"x", subject=subject).id == "bad_subject"
    assert refused(sitting_of, world, subject=subject).id == "bad_subject"


def test_a_subject_leads_to_its_page(world):
    lot = world.open_lot()
    assert address(world.staff.sitter, lot.subject) == lot.get_absolute_url()
    assert address(world.staff.sitter, "") == ""
    observer = world.cast.capacity(world.cast.supplier_observer).sitter
    assert address(observer, lot.subject) == ""  # a page that would not open for them


def test_a_confirmed_reading_freezes_mapping_and_values(world):
    made = confirm(world, take(world, table([("1", curve()), ("2", curve(0.01)), ("1", curve())])))
    assert (made.rows, made.specimens) == (3, ["1", "2"])
    assert made.condition == {"geometry": "di:8"}  # silence is no value
    assert made.wavelengths == "400–700 nm, 10 nm"
    for digest in (made.mapping, made.packed):
        assert blobs.get(world.cast.agreement.chain, digest)


def test_an_unreadable_file_is_named_with_line_column_and_field(world):
    data = table([("1", curve()), ("2", curve())])
    lines = data.decode().splitlines()
    cells = lines[2].split(",")
    cells[3] = "abc"
    lines[2] = ",".join(cells)
    refusal = refused(confirm, world, take(world, "\n".join(lines).encode()))
    assert refusal.id == "unreadable"
    text = str(refusal)
    for part in ("readings.csv", "line 3", "column 4", "420 nm", "“abc” is not a number", "0.123"):
        assert part in text, text
    assert not MeasuredSet.objects.filter(subject=SUBJECT).exists()
    assert EvidenceFile.objects.filter(subject=SUBJECT).exists()  # what was uploaded is not lost


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\x89PNG\r\n\x1a\n" + bytes(100), "not a text file"),
        (b"label,nm400\n1,2\n", "wavelengths"),
        (table([]), "no readings"),
    ],
)
def test_a_file_that_is_no_table_of_spectra_is_refused(world, data, words):
    refusal = refused(confirm, world, take(world, data))
    assert refusal.id == "unreadable" and words in str(refusal)


def test_an_open_question_must_be_answered_with_one_of_its_answers(world):
    file = take(world, table([("1", [0.5] * 31)]))
    open_question = refused(confirm, world, file, answers={})
    assert open_question.id == "unreadable" and "scale" in str(open_question)
    assert refused(confirm, world, file, answers={"scale": "furlongs"}).id == "unreadable"


@pytest.mark.parametrize("zone", ["Mars/Base", "", "Europe", "../etc/passwd", "x" * 300])
def test_an_unknown_zone_is_refused(world, zone):
    file = take(world, table([("1", curve())]))
    refusal = refused(confirm, world, file, zone=zone)
    assert (refusal.id, refusal.field) == ("zone", "zone")


def test_nothing_was_measured_or_judged_tomorrow(world):
    file = take(world, table([("1", curve())]))
    tomorrow = world.today + dt.timedelta(days=1)
    refusal = refused(confirm, world, file, measured_on=tomorrow)
    assert (refusal.id, refusal.field) == ("future", "measured_on")
    assert refused(sitting_of, world, day=tomorrow).field == "day"


def test_the_other_side_cannot_touch_evidence_even_past_the_pages(world):
    file, sitting = take(world, table([("1", curve())])), sitting_of(world)
    assert refused(confirm, world, file, by=world.customer).id == "wrong_side"
    said = {"observer": world.observers["cust"][0], "said": [Said("1", "accept")]}
    judging = transitions.judge_specimens
    assert refused(judging, sitting, by=world.customer, **said).id == "wrong_side"
    aside = refused(transitions.set_aside, sitting, by=world.customer, reason="x")
    assert aside.id == "wrong_side"


def test_what_is_set_aside_stays_with_its_reason_once(world):
    made = confirm(world, take(world, table([("1", curve())])))
    transitions.set_aside(made, by=world.staff, reason="r" * 400)
    made.refresh_from_db()
    assert made.set_aside_at and made.set_aside_reason == "r" * 300
    assert refused(transitions.set_aside, made, by=world.staff, reason="again").id == "set_aside"
    assert made not in MeasuredSet.objects.about(SUBJECT, "supplier")


def test_a_stored_reading_is_a_new_row_of_a_shared_reference(world):
    duplicate = enter(Reference, by=world.staff, name="Duplicate", kind="duplicate")
    made = confirm(world, take(world, table([("1", curve())])))
    before = Entry.objects.filter(chain=world.cast.agreement.chain).count()
    transitions.store_reading(made, by=world.staff, reference=duplicate)
    last = Reference.objects.history(duplicate.key)[0]
    assert (last.reading, last.version) == (made.packed, 2)
    assert Entry.objects.filter(chain=world.cast.agreement.chain).count() == before + 1


def test_a_stored_reading_of_a_shared_reference_stays(world):
    shared = enter(Reference, by=world.customer, name="Limit, dark", kind="limit_sample")
    colleague = world.by(world.cast.customer_colleague)
    made = confirm(world, take(world, table([("1", curve())]), by=colleague), by=colleague)
    transitions.store_reading(made, by=world.customer, reference=shared)
    last = Reference.objects.history(shared.key)[0]
    other = confirm(world, take(world, table([("1", curve(0.1))]), by=colleague), by=colleague)
    refused(transitions.store_reading, other, by=world.customer, reference=last)
    assert Reference.objects.history(shared.key)[0].reading == made.packed


def test_a_stored_reading_of_an_own_reference_stays_in_the_register(world):
    by = world.by(world.cast.supplier_lead, "supp")
    chain.open_chain(by.dossier.chain)
    duplicate = enter(Reference, by=by, name="Duplicate", kind="duplicate")
    before = chain.head(world.cast.agreement.chain)
    made = confirm(world, take(world, table([("1", curve())])))
    transitions.store_reading(made, by=world.supplier, reference=duplicate)
    assert Reference.objects.history(duplicate.key)[0].reading == made.packed
    assert blobs.get(by.dossier.chain, made.packed)
    assert chain.head(world.cast.agreement.chain) == before


def test_a_sitting_keeps_what_was_said_of_it(world):
    sitting = sitting_of(world, scan=SimpleUploadedFile("sheet.pdf", b"%PDF-", "application/pdf"))
    assert (sitting.specimens, sitting.illuminants) == (["1", "2"], ["A", "D65"])
    assert sitting.zone == world.booths["supp"].zone
    assert blobs.get(world.cast.agreement.chain, sitting.scan.digest) == b"%PDF-"


@pytest.mark.parametrize(
    ("specimens", "id"),
    [([], "specimens"), (["", " "], "specimens"), (["1", "1 "], "specimens"),
     (["x" * 81], "label_long")],
)  # fmt: skip
def test_specimens_are_named_once_and_shortly(world, specimens, id):
    refusal = refused(sitting_of, world, specimens=specimens)
    assert (refusal.id, refusal.field) == (id, "specimens")


def test_a_label_of_80_characters_can_be_judged(world):
    sitting = sitting_of(world, specimens=["ü" * 80])
    said = [Said("ü" * 80, "reject", ["darker", "darker", "bluer"], "4")]
    observer = world.observers["supp"][1]
    transitions.judge_specimens(sitting, by=world.staff, observer=observer, said=said)
    row = Judgement.objects.get(sitting=sitting)
    assert (row.directions, row.grade) == (["bluer", "darker"], "4")


def test_a_sheet_too_large_opens_no_sitting(world):
    big = SimpleUploadedFile("sheet.pdf", b"x" * (20 * 2**20 + 1))
    before = Sitting.objects.count()
    assert refused(sitting_of, world, scan=big).id == "file_large"
    assert Sitting.objects.count() == before


def test_an_observer_judges_under_their_own_login(world):
    sitting, observer = sitting_of(world), world.observers["supp"][0]
    own = world.by(world.cast.supplier_observer)
    transitions.judge_specimens(sitting, by=own, observer=observer, said=[Said("1", "accept")])
    row = Judgement.objects.get(sitting=sitting)
    assert row.entered_by_observer and row.entered_by == own.sitter.code == row.observer_code


def test_staff_enter_from_a_sheet_and_it_is_said(world):
    sitting, observer = sitting_of(world), world.observers["supp"][0]
    transitions.judge_specimens(
        sitting, by=world.staff, observer=observer, said=[Said("1", "accept")]
    )
    row = Judgement.objects.get(sitting=sitting)
    assert not row.entered_by_observer
    assert row.observer_code == world.by(world.cast.supplier_observer).sitter.code


def test_an_observer_does_not_judge_for_others(world):
    sitting, other = sitting_of(world), world.observers["supp"][1]
    own = world.by(world.cast.supplier_observer)
    refusal = refused(
        transitions.judge_specimens, sitting, by=own, observer=other, said=[Said("1", "accept")]
    )
    assert refusal.id == "not_yours"


@pytest.mark.parametrize(
    ("said", "light"), [([Said("9", "accept")], ""), ([Said("1", "accept")], "F11")]
)
def test_only_what_is_part_of_the_sitting_is_judged(world, said, light):
    sitting = sitting_of(world)
    refusal = refused(
        transitions.judge_specimens,
        sitting,
        by=world.staff,
        observer=world.observers["supp"][0],
        said=said,
        illuminant=light,
    )
    assert refusal.id == "not_in_sitting"


def test_what_was_said_is_not_said_again(world):
    sitting = sitting_of(world)
    judge = transitions.judge_specimens
    values = {"by": world.staff, "observer": world.observers["supp"][0]}
    judge(sitting, said=[Said("1", "accept")], **values)
    both = [Said("2", "accept"), Said("1", "reject")]
    assert refused(judge, sitting, said=both, **values).id == "judged"
    assert [row.outcome for row in Judgement.objects.filter(sitting=sitting)] == ["accept"]
    judge(sitting, said=[Said("1", "reject")], illuminant="A", **values)  # another light is not it


def test_a_sitting_set_aside_is_not_judged(world):
    sitting = sitting_of(world)
    transitions.set_aside(sitting, by=world.staff, reason="lamp failed")
    refusal = refused(
        transitions.judge_specimens,
        sitting,
        by=world.staff,
        observer=world.observers["supp"][0],
        said=[Said("1", "accept")],
    )
    assert refusal.id == "set_aside"


def test_whoever_is_not_qualified_may_judge_it_is_counted_later(world):
    by = world.by(world.cast.supplier_lead, "supp")
    weak = world.observer(by, "Somebody untested", score=None, tested_on=None)
    sitting = sitting_of(world)
    transitions.judge_specimens(sitting, by=world.staff, observer=weak, said=[Said("1", "accept")])
    assert Judgement.objects.filter(sitting=sitting).count() == 1
    assert Observer.objects.get(pk=weak.pk).score is None


def test_a_sitting_offers_every_light_that_terms_may_ask_for():
    """Found by a review: terms asked for F12, and no sitting could be held under it."""
    offered = {value for value, _words in SittingForm.base_fields["illuminants"].choices}
    assert offered == set(get_args(BoothLight))


def test_a_wrong_file_is_set_aside_with_what_was_read_of_it(world):
    file = take(world, table([("1", curve())]))
    assert list(EvidenceFile.objects.about(SUBJECT, "supplier").waiting()) == [file]
    measured = confirm(world, file)
    assert not EvidenceFile.objects.about(SUBJECT, "supplier").waiting()
    transitions.set_file_aside(file, by=world.staff, reason="Of another lot")
    measured.refresh_from_db()
    assert measured.set_aside_at and measured.set_aside_reason == "Of another lot"
    assert file.set_aside_reason == "Of another lot"
    for again in (
        lambda: transitions.set_file_aside(file, by=world.staff, reason="x"),
        lambda: confirm(world, file),
        lambda: confirm(world, EvidenceFile.objects.get(pk=file.pk)),
    ):
        with pytest.raises(Refusal) as refused:
            again()
        assert refused.value.id == "set_aside"
    assert blobs.get(file.dossier.chain, file.digest)  # kept as it was sent


def test_readings_set_aside_before_keep_their_own_reason(world):
    file = take(world, table([("1", curve())]))
    first = transitions.set_aside(confirm(world, file), by=world.staff, reason="Read wrongly")
    transitions.set_file_aside(file, by=world.staff, reason="Of another lot")
    first.refresh_from_db()
    assert first.set_aside_reason == "Read wrongly"


def test_a_file_is_not_confirmed_that_was_set_aside_meanwhile(world):
    file = take(world, table([("1", curve())]))
    stale = EvidenceFile.objects.get(pk=file.pk)
    transitions.set_file_aside(file, by=world.staff, reason="Of another lot")
    with pytest.raises(Refusal, match="set aside"):
        confirm(world, stale)
    assert not MeasuredSet.objects.filter(file=file).exists()


def test_a_file_held_by_other_evidence_goes_with_that(world):
    document = transitions.add_document(
        world.cast.agreement,
        by=world.staff,
        upload=upload(b"not looked into", "photo.png"),
        subject=SUBJECT,
        answers="photograph",
    )
    sheet = sitting_of(world, scan=upload(b"a sheet", "sheet.png")).scan
    assert not EvidenceFile.objects.about(SUBJECT, "supplier").waiting()
    for file in (document.file, sheet):
        with pytest.raises(Refusal) as refused:
            transitions.set_file_aside(file, by=world.staff, reason="x")
        assert refused.value.id == "held"
