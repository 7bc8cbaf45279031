"""Pages and calls of evidence: who sees it, what the edge refuses, how downloads are sent."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from evidence.models import EvidenceFile, Judgement, MeasuredSet, Sitting
from ledger import blobs
from tests.world import csv as table
from tests.world import curve


def at(name: str, obj, **more) -> str:
    kwargs = {"dossier": obj.dossier_id, "pk": obj.pk, **more}
    return reverse(f"evidence:{name}", kwargs=kwargs)


def act(name: str, dossier) -> str:
    return reverse(f"evidence:{name}", kwargs={"dossier": dossier.pk})


@pytest.fixture
def gathered(world):
    """A lot for which the supplier has readings and a sitting."""
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    return lot


PAGES = ["file", "file-download", "set", "sitting", "files-confirm", "sets-set-aside",
         "sittings-judge"]  # fmt: skip


def row_of(name: str, lot):
    model = {"f": EvidenceFile, "si": Sitting}.get(name[0] if name[0] == "f" else name[:2])
    return (model or MeasuredSet).objects.get(subject=lot.subject)


@pytest.mark.parametrize("name", PAGES)
def test_evidence_is_its_own_sides_until_it_is_handed_in(world, gathered, sign_in, name):
    row = row_of(name, gathered)
    cast = world.cast
    assert sign_in(cast.supplier_staff).get(at(name, row)).status_code == 200
    for who in (cast.customer_lead, cast.customer_observer, cast.auditor, cast.stranger):
        assert sign_in(who).get(at(name, row)).status_code == 404, who


def test_an_observer_reaches_sittings_but_no_readings(world, gathered, sign_in):
    client = sign_in(world.cast.supplier_observer)
    for name, status in (
        ("file", 403), ("set", 403), ("sets-set-aside", 403), ("sitting", 200),
        ("sittings-judge", 200), ("sittings-set-aside", 403),
    ):  # fmt: skip
        assert client.get(at(name, row_of(name, gathered))).status_code == status, name
    index = client.get(act("index", world.cast.agreement)).content.decode()
    assert "Booth sittings" in index and "readings.csv" not in index


def test_an_observer_is_not_swayed_by_what_others_said(world, gathered, sign_in):
    sitting = row_of("sitting", gathered)
    codes = {row.observer_code for row in Judgement.objects.filter(sitting=sitting)}
    own = world.by(world.cast.supplier_observer).sitter.code
    others = codes - {own}
    page = sign_in(world.cast.supplier_observer).get(at("sitting", sitting)).content.decode()
    assert others and not any(code in page for code in others)
    staff = sign_in(world.cast.supplier_staff).get(at("sitting", sitting)).content.decode()
    assert all(code in staff for code in codes)


def test_an_observer_is_offered_their_own_name_only(world, gathered, sign_in):
    page = sign_in(world.cast.supplier_observer).get(
        at("sittings-judge", row_of("sitting", gathered))
    )
    offered = page.context["form"].fields["observer"].queryset
    assert [one.pk for one in offered] == [world.observers["supp"][0].pk]
    other = str(world.observers["supp"][1].pk)
    sent = page.client.post(
        at("sittings-judge", row_of("sitting", gathered)),
        {"observer": other, "outcome_0": "accept"},
    )
    assert sent.status_code == 422


@pytest.mark.parametrize("text", ["1\x002", "1\x1b2"])
def test_characters_that_cannot_be_stored_are_refused_and_typing_is_kept(world, sign_in, text):
    client, url = sign_in(world.cast.supplier_staff), act("open-sitting", world.cast.agreement)
    sent = {
        "day": world.today.isoformat(),
        "booth": world.booths["supp"].pk,
        "procedure": "release_check",
        "comparator": "master",
        "illuminants": ["D65"],
        "warm_up_minutes": 37,
        "adaptation_minutes": 5,
        "specimens": text,
    }
    before = Sitting.objects.count()
    page = client.post(url, sent)
    assert page.status_code == 422 and 'value="37"' in page.content.decode()
    call = client.post(f"/api{url}", sent, content_type="application/json")
    assert call.status_code == 422 and list(call.json()["fields"]) == ["specimens"]
    assert Sitting.objects.count() == before
    assert client.post(url, sent | {"specimens": "1"}).status_code == 302


def test_a_lone_surrogate_is_refused_in_a_call(world, gathered, sign_in):
    url = at("sittings-set-aside", row_of("sitting", gathered))
    body = '{"reason": "x\\ud800"}'
    client = sign_in(world.cast.supplier_staff)
    call = client.post(f"/api{url}", body, content_type="application/json")
    assert call.status_code == 422 and "reason" in call.json()["fields"]


def test_an_unreadable_file_says_where_on_its_page_and_when_confirmed(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    data = table([("1", curve())]).replace(b"0.38000", b"oops", 1)
    sent = {"upload": SimpleUploadedFile("bad.csv", data, "text/csv")}
    page = client.post(act("upload", world.cast.agreement), sent, follow=True)
    text = page.content.decode()
    assert page.status_code == 200 and "“oops” is not a number" in text
    file = EvidenceFile.objects.get(name="bad.csv")
    confirmed = {
        "instrument": world.instruments["supp"].pk,
        "measured_on": world.today.isoformat(),
        "zone": "Europe/Berlin",
    }
    answer = client.post(at("files-confirm", file), confirmed)
    assert answer.status_code == 422
    assert "bad.csv, line 2, column 2, 400 nm" in answer.content.decode()
    call = client.post(f"/api{at('files-confirm', file)}", confirmed, "application/json")
    assert (call.status_code, call.json()["id"]) == (409, "unreadable")


def test_a_file_beyond_20_mib_is_refused_on_the_page(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    big = SimpleUploadedFile("big.csv", b"x" * (20 * 2**20 + 1), "text/csv")
    before = EvidenceFile.objects.count()
    page = client.post(act("upload", world.cast.agreement), {"upload": big})
    assert page.status_code == 422 and "20 MiB" in page.content.decode()
    assert EvidenceFile.objects.count() == before


def test_a_file_is_downloaded_as_it_came_and_never_shown(world, gathered, sign_in):
    answer = sign_in(world.cast.supplier_staff).get(at("file-download", row_of("file", gathered)))
    assert answer.content.startswith(b"label,nm400")
    assert answer["Content-Disposition"] == 'attachment; filename="readings.csv"'
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_a_name_that_would_break_headers_or_folders_is_harmless(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    name = '../../x"\r\nSet-Cookie: a=b.csv'
    sent = {"upload": SimpleUploadedFile(name, table([("1", curve())]), "text/html")}
    client.post(act("upload", world.cast.agreement), sent)
    file = EvidenceFile.objects.order_by("-created_at")[0]
    answer = client.get(at("file-download", file))
    assert answer["Content-Disposition"].startswith("attachment")
    assert "Set-Cookie" not in answer.headers and "\n" not in answer["Content-Disposition"]
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_the_other_sides_register_is_not_offered(world, sign_in):
    page = sign_in(world.cast.supplier_staff).get(act("open-sitting", world.cast.agreement))
    booths = page.context["form"].fields["booth"].queryset
    assert [one.pk for one in booths] == [world.booths["supp"].pk]


def test_reading_a_page_writes_nothing(world, gathered, sign_in):
    client = sign_in(world.cast.supplier_staff)
    counted = (EvidenceFile, MeasuredSet, Sitting, Judgement)
    before = [model.objects.count() for model in counted]
    for name in PAGES:
        client.get(at(name, row_of(name, gathered)))
    assert [model.objects.count() for model in counted] == before


def test_an_unreadable_file_offers_to_be_set_aside_and_nothing_to_confirm(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    lot = world.open_lot()
    sent = {
        "upload": SimpleUploadedFile("photo.csv", b"\xff\xd8\xff\xe0JFIF"),
        "subject": lot.subject,
    }
    assert client.post(act("upload", world.cast.agreement), sent).status_code == 302
    file = EvidenceFile.objects.get(name="photo.csv")
    where = reverse("shipments:lot", kwargs={"dossier": lot.dossier_id, "pk": lot.pk})
    page = client.get(where).content.decode()
    assert "Files that do not count yet" in page and "photo.csv" in page
    for address in (at("file", file), at("files-confirm", file)):
        page = client.get(address).content.decode()
        assert at("files-set-aside", file) in page, address
    assert "Confirm how this file is read</button>" not in page and 'name="zone"' not in page
    answer = client.post(at("files-set-aside", file), {"reason": ""})
    assert answer.status_code == 422
    answer = client.post(at("files-set-aside", file), {"reason": "A photo"}, follow=True)
    page = answer.content.decode()
    assert "A photo" in page and at("files-set-aside", file) not in page
    assert at("files-confirm", file) not in page
    assert "photo.csv" not in client.get(where).content.decode()
    assert "photo.csv" in client.get(act("index", world.cast.agreement)).content.decode()


def test_a_photograph_among_the_documents_is_not_read_as_spectra(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    upload = SimpleUploadedFile("photo.png", b"\x89PNG")
    sent = {"upload": upload, "answers": "photograph"}
    assert client.post(act("add-document", world.cast.agreement), sent).status_code == 302
    page = client.get(at("file", EvidenceFile.objects.get(name="photo.png"))).content.decode()
    assert "This file belongs to:" in page and "cannot be read" not in page


def test_a_refused_form_keeps_what_was_typed_and_says_what_it_cannot_keep(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    sent = {"day": "never", "specimens": "7\n8", "illuminants": ["D65", "A"], "warm_up_minutes": 25}
    sent["scan"] = SimpleUploadedFile("sheet.png", b"\x89PNG")
    page = client.post(act("open-sitting", world.cast.agreement), sent)
    text = page.content.decode()
    assert page.status_code == 422 and "A file has to be chosen again" in text
    form = page.context["form"]
    for name in ("day", "specimens", "illuminants"):
        assert form[name].value() == sent[name], name
    retain = client.post(act("retain-piece", world.cast.agreement), {"note": "in the cabinet"})
    assert retain.status_code == 422 and "in the cabinet" in retain.content.decode()
    assert "has to be chosen again" not in retain.content.decode()


def test_a_set_shows_its_spectra_as_measured(world, sign_in):
    lot = world.open_lot()
    rows = [("1", curve()), ("1", curve(0.02)), ("2", curve(0.05))]
    measured = world.measure(world.staff, lot.subject, rows)
    drawing = sign_in(world.cast.supplier_staff).get(at("set", measured)).context["drawing"]
    columns = list(zip(*drawing.table.rows, strict=True))
    assert [column.head for column in drawing.table.columns] == ["nm", "1", "2"]
    for column, asked in zip(columns[1:], (curve(0.01), curve(0.05)), strict=True):
        assert [float(v) for v in column] == pytest.approx([100 * v for v in asked], abs=0.0051)
    assert "di:8" in drawing.description


def test_a_set_whose_file_is_gone_is_shown_without_its_figure(world, sign_in):
    lot = world.open_lot()
    measured = world.measure(world.staff, lot.subject, [("1", curve())])
    blobs.path_of(lot.dossier.chain, measured.packed).unlink()
    answer = sign_in(world.cast.supplier_staff).get(at("set", measured))
    assert answer.status_code == 200 and answer.context["drawing"] is None
