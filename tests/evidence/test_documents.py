"""Documents, retained pieces and tear-off chips: taken in, set aside, used once."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import resolve, reverse

from evidence import transitions
from evidence.models import Document, RetainedPiece, Sitting
from ledger import blobs, chain
from parties.models import Chip, Reference
from parties.refusal import Refusal
from parties.transitions import add_chips, enter
from tests.world import World

SUBJECT = "lot/6a0c7c52-6f0e-4a52-9f4e-0d3c1b9a7e11"


def refused(call, *args, **kwargs) -> Refusal:
    with pytest.raises(Refusal) as caught:
        call(*args, **kwargs)
    assert str(caught.value)
    return caught.value


def report(world: World, **more) -> Document:
    upload = SimpleUploadedFile("report.pdf", b"%PDF-1.4 invented", "application/pdf")
    values = {"by": world.staff, "upload": upload, "subject": SUBJECT, "answers": "booth_report"}
    return transitions.add_document(world.cast.agreement, **values | more)


def retain(world: World, seal: str = "S-1", **more) -> RetainedPiece:
    values = {"by": world.staff, "subject": SUBJECT, "seal": seal}
    return transitions.retain_piece(world.cast.agreement, **values | more)


def pack(world: World, by=None, name: str = "Pack 1") -> Reference:
    by = by or world.supplier
    made = enter(Reference, by=by, name=name, kind="chip_pack", issued_on=world.today)
    return add_chips(made, by=by, labels=["1", "2"])


def chips(made: Reference) -> list[Chip]:
    return list(Chip.objects.filter(reference_key=made.key).current().order_by("name"))


def sit(world: World, **more) -> Sitting:
    values = {
        "by": world.staff,
        "subject": SUBJECT,
        "day": world.today,
        "booth": world.booths["supp"],
        "procedure": "release_check",
        "comparator": "chip",
        "reference": None,
        "illuminants": ["D65"],
        "specimens": ["1"],
        "warm_up_minutes": 30,
        "adaptation_minutes": 5,
    }
    return transitions.open_sitting(world.cast.agreement, **values | more)


def test_a_document_is_kept_byte_for_byte_and_stays_out_of_the_chain(world):
    before = chain.head(world.cast.agreement.chain)
    made = report(world, note="After relamping")
    assert (made.side_only, made.answers, made.note) == (
        "supplier", "booth_report", "After relamping",
    )  # fmt: skip
    assert blobs.get(world.cast.agreement.chain, made.file.digest) == b"%PDF-1.4 invented"
    assert chain.head(world.cast.agreement.chain) == before


def test_an_empty_document_leaves_nothing(world):
    empty = SimpleUploadedFile("report.pdf", b"", "application/pdf")
    assert refused(report, world, upload=empty).field == "upload"
    assert not Document.objects.exists()


def test_a_seal_stands_for_one_piece_until_it_is_set_aside(world):
    made = retain(world, specimen="1")
    refusal = refused(retain, world)
    assert (refusal.id, refusal.field) == ("seal_taken", "seal")
    retain(world, by=world.customer)  # the other side numbers its own seals
    transitions.set_aside(made, by=world.staff, reason="Broken")
    assert retain(world).pk != made.pk


@pytest.mark.parametrize("make", [report, retain])
def test_only_the_own_side_sets_it_aside_or_sees_it(world, sign_in, make):
    made = make(world)
    assert refused(transitions.set_aside, made, by=world.customer, reason="x").id == "wrong_side"
    url = made.get_absolute_url()
    assert sign_in(world.cast.supplier_staff).get(url).status_code == 200
    for who in (world.cast.customer_lead, world.cast.auditor):
        assert sign_in(who).get(url).status_code == 404
    transitions.set_aside(made, by=world.staff, reason="Of another lot")
    assert "Of another lot" in sign_in(world.cast.supplier_staff).get(url).content.decode()


def test_the_pages_take_them_in_and_the_lot_shows_them(world, sign_in):
    lot, client = world.open_lot(), sign_in(world.cast.supplier_staff)
    here = {"dossier": lot.dossier_id}
    upload = SimpleUploadedFile("shift 2.txt", b"oven at 180", "text/plain")
    sent = {"subject": lot.subject, "upload": upload, "answers": "process_record"}
    answer = client.post(reverse("evidence:add-document", kwargs=here), sent)
    assert answer.status_code == 302 and client.get(answer["Location"]).status_code == 200
    sent = {"subject": lot.subject, "seal": "S-5"}
    answer = client.post(reverse("evidence:retain-piece", kwargs=here), sent)
    assert client.get(answer["Location"]).status_code == 200
    page = client.get(lot.get_absolute_url()).content.decode()
    assert "The record of the process: shift 2.txt" in page and "seal S-5" in page
    index = client.get(reverse("evidence:index", kwargs=here)).content.decode()
    assert "shift 2.txt" in index and "S-5" in index
    made = Document.objects.get()
    away = client.post(
        reverse("evidence:documents-set-aside", kwargs=here | {"pk": made.pk}), {"reason": "x"}
    )
    assert away.status_code == 302
    assert "shift 2.txt" not in client.get(lot.get_absolute_url()).content.decode()


def test_a_kind_that_no_file_can_answer_is_not_taken(world, sign_in):
    sent = {"upload": SimpleUploadedFile("x.png", b"x", "image/png"), "answers": "physical_piece"}
    url = reverse("evidence:add-document", kwargs={"dossier": world.cast.agreement.pk})
    assert sign_in(world.cast.supplier_staff).post(url, sent).status_code == 422
    assert not Document.objects.exists()


def test_a_sitting_uses_its_chip_once(world):
    made = pack(world)
    first, _second = chips(made)
    sitting = sit(world, chip=first)
    assert (sitting.reference, sitting.chip, sitting.chip_name) == (made.key, first.key, "1")
    assert [chip.used_on for chip in chips(made)] == [world.today, None]
    again = refused(sit, world, chip=chips(made)[0])
    assert again.id == "chip.used"
    assert refused(sit, world, chip=first).id  # as it stood on a page opened before
    assert Sitting.objects.filter(chip=first.key).count() == 1


def test_a_refused_sitting_uses_no_chip(world):
    made, other = pack(world), pack(world, name="Pack 2")
    chip = chips(made)[0]
    assert refused(sit, world, chip=chip, comparator="master").field == "comparator"
    assert refused(sit, world, chip=chip, reference=other).id == "chip_other_pack"
    big = SimpleUploadedFile("sheet.pdf", b"", "application/pdf")
    refused(sit, world, chip=chip, scan=big)
    assert chips(made)[0].used_on is None


def test_a_chip_of_the_own_register_is_used_there(world, sign_in):
    by = world.by(world.cast.supplier_lead, "supp")
    made = pack(world, by)
    client = sign_in(world.cast.supplier_staff)
    url = reverse("evidence:open-sitting", kwargs={"dossier": world.cast.agreement.pk})
    offered = client.get(url).context["form"].fields["chip"]
    assert [str(label) for _key, label in offered.choices][1:] == ["Pack 1: 1", "Pack 1: 2"]
    sent = {
        "day": world.today.isoformat(),
        "booth": world.booths["supp"].pk,
        "procedure": "release_check",
        "comparator": "chip",
        "chip": chips(made)[0].pk,
        "illuminants": ["D65"],
        "specimens": "1",
        "warm_up_minutes": "30",
        "adaptation_minutes": "5",
    }
    answer = client.post(url, sent)
    assert answer.status_code == 302, answer.context["form"].errors
    sitting = Sitting.objects.get(pk=resolve(answer["Location"]).kwargs["pk"])
    assert sitting.chip_name == "1" and chips(made)[0].used_on == world.today
    left = client.get(url).context["form"].fields["chip"]
    assert [str(label) for _key, label in left.choices][1:] == ["Pack 1: 2"]
