"""Pages on which a file's reading is shown and confirmed: tables, condition, stated colours."""

from __future__ import annotations

from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from evidence.models import EvidenceFile, MeasuredSet
from ledger import blobs
from ledger.canonical import parse
from method.packed import unpack
from method.readers import replay
from tests.method import odd_files

FILES = odd_files.odd_files()


def uploaded(world, client, name: str, data: bytes | None = None) -> EvidenceFile:
    """One of the odd files, or another, taken in through the page."""
    address = reverse("evidence:upload", kwargs={"dossier": world.cast.agreement.pk})
    sent = {"upload": SimpleUploadedFile(f"{name}.txt", data or FILES[name], "text/plain")}
    assert client.post(address, sent, follow=True).status_code == 200
    return EvidenceFile.objects.get(name=f"{name}.txt")


def at(name: str, file: EvidenceFile) -> str:
    return reverse(f"evidence:{name}", kwargs={"dossier": file.dossier_id, "pk": file.pk})


def sent(world, **answers: str) -> dict[str, str]:
    return {
        "instrument": world.instruments["supp"].pk,
        "measured_on": world.today.isoformat(),
        "zone": "Europe/Berlin",
        **{f"answer_{question}": value for question, value in answers.items()},
    }


def confirmed(world, client, file, page, **answers: str):
    """What comes of confirming from a page, with what it says that it showed."""
    shown = page.context["form"]["shown"].value()
    return client.post(at("files-confirm", file), {**sent(world, **answers), "shown": shown})


def test_the_page_shows_the_condition_found_and_what_is_unknown(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    file = uploaded(world, client, "the standard's weighting function")
    text = client.get(at("file", file)).content.decode()
    for words in ("CGATS.17 text", "45:0 (“MEASUREMENT_GEOMETRY 45/0”)", "unknown"):
        assert words in text, words
    form = client.get(at("files-confirm", file)).context["form"]
    suggested = {name: form[name].value() for name in ("geometry", "backing", "aperture", "uv")}
    assert suggested["geometry"] == "45:0" and suggested["backing"] == "black"
    assert suggested["aperture"] == "4" and not suggested["uv"]  # M1 is no answer to that


def test_the_page_shows_stated_against_computed_colours(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    file = uploaded(world, client, "stated colours of another light")
    text = client.get(at("file", file)).content.decode()
    assert "LAB_L, LAB_A, LAB_B" in text and "D65/10°" in text
    assert "unlike those of the file&#x27;s own spectra" in text


def test_of_several_tables_one_is_chosen_and_its_own_questions_are_asked_next(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    file = uploaded(world, client, "two tables, the second one open")
    page = client.get(at("files-confirm", file))
    assert page.context["form"].questions == ["answer_table"]
    assert "Tables found" in page.content.decode()
    answer = client.post(at("files-confirm", file), sent(world, table="2"))
    assert answer.status_code == 422
    assert answer.context["form"].questions == ["answer_table", "answer_scale"]
    done = confirmed(world, client, file, answer, table="2", scale="factor")
    assert done.status_code == 302
    made = MeasuredSet.objects.get(file=file)
    chain = file.dossier.chain
    mapping, packed = blobs.get(chain, made.mapping), blobs.get(chain, made.packed)
    assert parse(mapping)["answers"] == {"scale": "factor", "table": "2"}
    assert replay(FILES[file.name.removesuffix(".txt")], mapping) == unpack(packed)
    assert made.labels == ["D", "E"]


NM = range(400, 701, 10)


def two_tables(second: list[float]) -> bytes:
    """Two tables of like names; the second's first specimen has values of its own."""
    plain = [nm / 1000 - 0.35 for nm in NM]
    tables = [("A B C", plain), ("x y z", second)]
    lines = []
    for labels, first in tables:
        lines += [f"Measurement of {labels}", "\t".join(["SAMPLE_ID", *(f"nm{nm}" for nm in NM)])]
        for label, values in zip(labels.split(), (first, plain, plain), strict=True):
            lines.append("\t".join([label, *(f"{one:.4f}" for one in values)]))
        lines.append("")
    return "\n".join(lines).encode()


ODD = [0.0] * 10 + [1.4] * 2 + [nm / 1000 - 0.35 for nm in NM][12:]


def test_a_table_is_confirmed_only_from_a_page_that_showed_it(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    file = uploaded(world, client, "two of them", two_tables(ODD))
    first = client.get(at("files-confirm", file))
    assert "A, B, C" in first.content.decode() and "x, y, z" not in first.content.decode()
    for seen in ({}, {"shown": first.context["form"]["shown"].value()}, {"shown": "0" * 32}):
        page = client.post(at("files-confirm", file), {**sent(world, table="2"), **seen})
        text = page.content.decode()
        assert page.status_code == 422 and "Your answers change what is read" in text
        assert "x, y, z" in text and "A, B, C" not in text
        assert "runs of zeros" in text and "exceed the perfect diffuser" in text
    assert not MeasuredSet.objects.filter(file=file).exists()
    back = confirmed(world, client, file, page, table="1")  # another one than the page showed
    assert back.status_code == 422 and "A, B, C" in back.content.decode()
    assert confirmed(world, client, file, page, table="2").status_code == 302
    assert MeasuredSet.objects.get(file=file).labels == ["x", "y", "z"]


def test_the_table_that_was_shown_at_once_is_confirmed_at_once(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    file = uploaded(world, client, "two more", two_tables(ODD))
    page = client.get(at("files-confirm", file))
    assert confirmed(world, client, file, page, table="1").status_code == 302
    assert MeasuredSet.objects.get(file=file).labels == ["A", "B", "C"]


def test_a_call_is_told_what_it_must_send_for_a_table_it_has_not_seen(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    file = uploaded(world, client, "two by call", two_tables(ODD))
    address, said = f"/api{at('files-confirm', file)}", sent(world, table="2")
    call = client.post(address, said, "application/json")
    assert call.status_code == 422 and list(call.json()["fields"]) == ["shown"]
    told = call.json()["fields"]["shown"][1]
    assert client.post(address, {**said, "shown": told}, "application/json").status_code == 200
    assert MeasuredSet.objects.get(file=file).labels == ["x", "y", "z"]


def test_what_the_answered_scale_brings_to_light_is_shown_before_it_counts(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    values = [0.0] * 3 + [0.2 + nm / 2000 for nm in NM][3:]
    lines = ["\t".join(["SAMPLE_ID", *(f"nm{nm}" for nm in NM)])]
    lines.append("\t".join(["A", *(f"{one:.4f}" for one in values)]))
    file = uploaded(world, client, "open scale", "\n".join(lines).encode())
    page = client.get(at("files-confirm", file))
    assert page.context["form"].questions == ["answer_scale"]
    page = confirmed(world, client, file, page, scale="factor")
    assert page.status_code == 422 and "runs of zeros" in page.content.decode()
    assert confirmed(world, client, file, page, scale="factor").status_code == 302


def test_light_is_refused_without_asking_for_its_scale(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    lines = ["Quantity\tirradiance", "CCT\t5000"]
    lines += [f"{nm}nm\t{0.1 + nm / 10_000:.5f}" for nm in range(380, 781, 5)]
    file = uploaded(world, client, "a lamp", "\n".join(lines).encode())
    page = client.get(at("files-confirm", file))
    assert "answer_surface" in page.context["form"].questions
    answer = confirmed(world, client, file, page, surface="emission")
    text = answer.content.decode()
    assert answer.status_code == 422 and "these are not reflectances of a surface" in text
    assert "This field is required" not in text
    assert not MeasuredSet.objects.filter(file=file).exists()


def test_colours_without_spectra_are_shown_and_not_taken(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    file = uploaded(world, client, "colours only")
    text = client.get(at("file", file)).content.decode()
    assert "The file holds no spectra: it states colours (LAB_L, LAB_A, LAB_B)" in text
    answer = client.post(at("files-confirm", file), sent(world))
    assert answer.status_code == 422 and "no spectra" in answer.content.decode()
    assert not MeasuredSet.objects.filter(file=file).exists()


def test_the_page_shows_how_the_first_readings_look_and_counts_the_others(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    rows = ["\t".join(["SAMPLE_ID", *(f"nm{nm}" for nm in NM)])]
    rows += ["\t".join([f"s{at}", *["50.00"] * len(NM)]) for at in range(25)]
    file = uploaded(world, client, "many", "\n".join(rows).encode())
    for page in (client.get(at("file", file)), client.get(at("files-confirm", file))):
        text = page.content.decode()
        assert "s19 and 5 more" in text and "s20" not in text
        # L* of the perfect grey of 50 % is 116 * 0.5 ** (1/3) - 16 (ISO/CIE 11664-4)
        assert "76.07" in text and "The first readings" in text


def test_a_table_that_cannot_be_taken_says_why(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    broken = two_tables(ODD).replace(b"y\t", b"y\tOVER", 1)
    file = uploaded(world, client, "one broken", broken)
    text = client.get(at("file", file)).content.decode()
    assert "is not a number" in text and "Tables found" in text
