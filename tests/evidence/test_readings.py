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


def uploaded(world, client, name: str) -> EvidenceFile:
    """One of the odd files, taken in through the page."""
    address = reverse("evidence:upload", kwargs={"dossier": world.cast.agreement.pk})
    sent = {"upload": SimpleUploadedFile(f"{name}.txt", FILES[name], "text/plain")}
    assert client.post(address, sent, follow=True).status_code == 200
    return EvidenceFile.objects.get(name=f"{name}.txt")


def at(name: str, file: EvidenceFile) -> str:
    return reverse(f"evidence:{name}", kwargs={"dossier": file.dossier_id, "pk": file.pk})


def sent(world, **answers: str) -> dict[str, str]:
    return {
        "instrument": world.instruments["supp"].pk,
        "measured_on": world.today.isoformat(),
        "zone": "UTC",
        **{f"answer_{question}": value for question, value in answers.items()},
    }


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
    done = client.post(at("files-confirm", file), sent(world, table="2", scale="factor"))
    assert done.status_code == 302
    made = MeasuredSet.objects.get(file=file)
    chain = file.dossier.chain
    mapping, packed = blobs.get(chain, made.mapping), blobs.get(chain, made.packed)
    assert parse(mapping)["answers"] == {"scale": "factor", "table": "2"}
    assert replay(FILES[file.name.removesuffix(".txt")], mapping) == unpack(packed)
    assert made.labels == ["D", "E"]


def test_colours_without_spectra_are_shown_and_not_taken(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    file = uploaded(world, client, "colours only")
    text = client.get(at("file", file)).content.decode()
    assert "The file holds no spectra: it states colours (LAB_L, LAB_A, LAB_B)" in text
    answer = client.post(at("files-confirm", file), sent(world))
    assert answer.status_code == 422 and "no spectra" in answer.content.decode()
    assert not MeasuredSet.objects.filter(file=file).exists()
