"""Seals in PDFs, judged from outside by pdfsig (poppler-utils) and pypdf, and by `inspect`."""

from __future__ import annotations

import io
import itertools
import random
import re
import resource
import subprocess
import sys
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from pypdf import PdfReader, PdfWriter

from jobs import fonts, pdf
from jobs.pdfseal import SealingError, certify, countersign, inspect
from tests import needs
from tests.pdf.sealing import DAY, NOW, Authority, said

PLACES = ("Customer", "Supplier")


@pytest.fixture(scope="module")
def authority() -> Authority:
    return Authority()


@pytest.fixture(scope="module")
def pages() -> bytes:
    fonts.set_up()
    return pdf.render(
        "<html lang='en'><h1>Invented terms</h1><p>色</p></html>",
        attachments=[("terms.json", b'{"v":1}', "the terms")],
        created=NOW,
        title="Invented",
    )


@pytest.fixture(scope="module")
def files(authority, pages) -> list[bytes]:
    """Unsealed, certified, sealed for one side, sealed for both."""
    made = [pages]
    made.append(certify(pages, authority.signer("Service"), said("Service"), places=PLACES).pdf)
    for side in PLACES:
        made.append(countersign(made[-1], authority.signer(side), said(side)).pdf)
    return made


def pdfsig(tmp_path, data: bytes) -> str:
    file = tmp_path / "sealed.pdf"
    file.write_bytes(data)
    program = needs.program("pdfsig", "poppler-utils")
    return subprocess.run(
        [program, "-nocert", str(file)], capture_output=True, text=True, check=False
    ).stdout


def edited(data: bytes) -> bytes:
    """A later incremental update: a note on the first page, as any editor would add it."""
    writer = PdfWriter(io.BytesIO(data), incremental=True)
    page = writer.pages[0]
    page.merge_page(PdfReader(io.BytesIO(other_page())).pages[0])
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def other_page() -> bytes:
    writer = PdfWriter()
    writer.add_blank_page(width=595, height=842)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_each_file_begins_with_the_one_before(files):
    for before, after in itertools.pairwise(files):
        assert after.startswith(before) and len(before) < len(after) < len(before) + 20_000


def test_every_seal_holds_and_says_what_it_covers(files, authority):
    found = inspect(files[-1], [authority.der])
    assert [(one.field, one.certifies, one.covers) for one in found] == [
        ("Service", True, "revision"),
        ("Customer", False, "revision"),
        ("Supplier", False, "file"),
    ]
    assert all(one.holds and one.intact and one.valid and one.trusted for one in found)
    assert {(one.at, one.stamped_at) for one in found} == {(NOW, None)}
    assert found[1].reason == "sealed for Customer" and found[1].name == "Customer (invented)"
    assert inspect(files[0], [authority.der]) == []


def test_pdfsig_reads_every_seal_as_valid(files, tmp_path):
    for number, data in enumerate(files[1:], 1):
        told = pdfsig(tmp_path, data)
        assert told.count("Signature is Valid.") == number
        assert told.count("ETSI.CAdES.detached") == number
        assert told.count("SHA-256") == number
        assert "Total document signed" in told


def test_the_attachment_stays_as_it_was(files):
    for data in files:
        assert PdfReader(io.BytesIO(data)).attachments["terms.json"] == [b'{"v":1}']


def test_certification_lets_only_forms_and_seals_follow(files):
    """ISO 32000-1, table 254: P = 2 allows filling in forms and signing, nothing else."""
    root = PdfReader(io.BytesIO(files[1])).trailer["/Root"]
    (reference,) = root["/Perms"]["/DocMDP"]["/Reference"]
    assert reference["/TransformMethod"] == "/DocMDP"
    assert reference["/TransformParams"]["/P"] == 2


def test_a_later_edit_is_found_though_bytes_and_signatures_are_whole(files, authority, tmp_path):
    for data in files[1:]:
        changed = edited(data)
        assert changed.startswith(data) and len(changed) > len(data)
        found = inspect(changed, [authority.der])
        assert all(one.intact and one.valid for one in found)  # these two are no judgement
        assert not any(one.holds for one in found)
        assert all(one.covers != "file" for one in found)
        assert "Total document signed" not in pdfsig(tmp_path, changed).replace(
            "Not total document signed", ""
        )


def test_a_changed_byte_is_found(files, authority, tmp_path):
    data = bytearray(files[-1])
    at = files[-1].index(b"/CreationDate") + 20
    data[at] ^= 1
    found = inspect(bytes(data), [authority.der])
    assert not any(one.holds or one.intact for one in found)
    assert "Signature is Valid." not in pdfsig(tmp_path, bytes(data))


def test_another_root_trusts_none_of_it(files):
    found = inspect(files[-1], [Authority().der])  # the same name, another key
    assert all(one.intact and one.valid for one in found)
    assert not any(one.trusted or one.holds for one in found)
    assert not any(one.holds for one in inspect(files[-1], []))


@pytest.mark.parametrize(
    ("at", "holds"),
    [(NOW - 2 * DAY, False), (NOW, True), (NOW + 29 * DAY, False), (NOW + 400 * DAY, False)],
)
def test_a_seal_made_outside_its_certificates_validity_does_not_hold(authority, pages, at, holds):
    signer = authority.signer("Short", start=NOW - DAY, days=10)
    sealed = certify(pages, signer, said("Service", at)).pdf
    (found,) = inspect(sealed, [authority.der])
    assert found.intact and found.valid and found.holds is holds


def test_a_seal_can_be_judged_at_a_given_moment(authority, files):
    later = NOW + timedelta(days=40)
    assert not any(one.holds for one in inspect(files[-1], [authority.der], at=later))
    assert all(one.holds for one in inspect(files[-1], [authority.der], at=NOW + DAY))


def test_only_the_field_kept_for_a_side_is_sealed_and_only_once(authority, files):
    signer = authority.signer("Customer")
    with pytest.raises(SealingError, match="Customer"):
        countersign(files[2], signer, said("Customer"))
    with pytest.raises(SealingError, match="Auditor"):
        countersign(files[2], signer, said("Auditor"))
    with pytest.raises(SealingError):
        certify(b"%PDF-1.7\nno PDF", signer, said("Service"))
    with pytest.raises(SealingError):
        inspect(b"no PDF", [])
    with pytest.raises(ValueError, match="aware"):
        certify(files[0], signer, said("Service", datetime(2026, 1, 1)))  # noqa: DTZ001


def test_a_signed_contents_of_another_seal_does_not_hold(authority, files):
    """The customer's signature put where the supplier's was: its byte range is another."""
    data = files[-1]
    _service, customer, supplier = re.finditer(rb"/Contents <([0-9A-F]{2000,})>", data)
    short = min(len(customer[1]), len(supplier[1]))
    swapped = data[: supplier.start(1)] + customer[1][:short] + data[supplier.start(1) + short :]
    assert len(swapped) == len(data) and swapped != data
    found = {one.field: one for one in inspect(swapped, [authority.der])}
    assert found["Customer"].intact and found["Customer"].valid
    assert not found["Supplier"].holds and not found["Supplier"].intact


def test_a_private_key_is_not_told_by_repr(authority):
    signer = authority.signer("Service")
    assert repr(signer.key) not in repr(signer) and "key=" not in repr(signer)
    assert replace(signer, chain=(authority.der,)).chain == (authority.der,)


def test_nothing_heavy_is_loaded_before_it_is_needed():
    code = "import sys, jobs.pdfseal; print('pyhanko' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_sealing_a_large_pdf_stays_within_memory(authority, pages):
    """Twenty megabytes attached: the worker's peak grows by a few times the file, not by tens."""
    large = pdf.render(
        "<html lang='en'><p>Large</p></html>",
        attachments=[("noise.bin", random.Random(7).randbytes(20 * 2**20), "noise")],
        created=NOW,
        title="Large",
    )
    certify(pages, authority.signer("Service"), said("Service"))  # what is loaded stays loaded
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    sealed = certify(large, authority.signer("Service"), said("Service"), places=PLACES).pdf
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) * 1024
    assert sealed.startswith(large)
    assert grown < 8 * len(large)
