"""PDFs: same input same bytes, nothing fetched, limits kept, attachments whole, text readable."""

from __future__ import annotations

import io
import os
import struct
import subprocess
import sys
import time
import zlib
from base64 import b64encode
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from pypdf import PdfReader

from jobs import fonts, pdf, setter
from jobs.pdf import PdfError, render

ROOT = Path(__file__).resolve().parents[2]
CREATED = datetime(2026, 3, 4, 5, 6, 7, tzinfo=UTC)
PAGE = (
    '<!doctype html><html lang="en"><head><style>@page {{ size: A4 }}</style></head>'
    "<body><h1>Verdict</h1>{}</body></html>"
)
TEXT = "<p>ΔE₀₀ 0.54 ≤ 0.80 žščőł ✓</p><p lang='zh-Hans'>色差合格</p>"
FILES = [
    ("verdict.json", b'{"outcome":"conforming"}', "The verdict as data"),
    ("submission.json", b'{"nth":1}', "The submission as data"),
]

pytestmark = pytest.mark.usefixtures("our_fonts")


def made(body: str = TEXT, **more) -> bytes:
    values = {"attachments": FILES, "created": CREATED, "title": "Verdict 色"} | more
    return render(PAGE.format(body), **values)


def png(width: int, height: int) -> str:
    """A `data:` address of a grey picture that packs well."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + check

    packer = zlib.compressobj(9)
    line = b"\0" + b"\x80" * width
    pixels = b"".join(packer.compress(line) for _ in range(height)) + packer.flush()
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    data = (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", pixels) + chunk(b"IEND", b"")
    )
    return "data:image/png;base64," + b64encode(data).decode("ascii")


def test_same_input_gives_same_bytes_whatever_the_surroundings(monkeypatch):
    first = made()
    setter._kept.end()  # the next is a process with a hash seed of its own
    monkeypatch.setenv("TZ", "Asia/Shanghai")
    monkeypatch.setenv("LANG", "zh_CN.UTF-8")
    zone = timezone(timedelta(hours=8))
    assert made(created=CREATED.astimezone(zone), attachments=FILES[::-1]) == first
    assert made(TEXT + "<p>.</p>") != first


def test_text_date_title_and_attachments_are_as_given():
    reader = PdfReader(io.BytesIO(made()))
    text = "".join(page.extract_text() for page in reader.pages)
    assert "ΔE₀₀ 0.54 ≤ 0.80 žščőł ✓" in text and "色差合格" in text
    assert fonts.missing(text) == set()
    assert reader.metadata.title == "Verdict 色"
    assert reader.metadata.creation_date == CREATED
    assert {name: found[0] for name, found in reader.attachments.items()} == {
        name: content for name, content, _ in FILES
    }


def test_the_form_is_that_of_pdf_a_3a():
    reader = PdfReader(io.BytesIO(made()))
    catalog = reader.trailer["/Root"]
    assert catalog["/MarkInfo"]["/Marked"] and "/StructTreeRoot" in catalog
    assert catalog["/Lang"] == "en" and len(catalog["/OutputIntents"]) == 1
    metadata = catalog["/Metadata"].get_data().decode("utf-8")
    assert "<pdfaid:part>3</pdfaid:part>" in metadata or 'pdfaid:part="3"' in metadata


def test_each_attachment_is_listed_once():
    catalog = PdfReader(io.BytesIO(made())).trailer["/Root"]
    listed = [reference.idnum for reference in catalog["/AF"]]
    assert len(listed) == len(set(listed)) == len(FILES)
    names = catalog["/Names"]["/EmbeddedFiles"]["/Names"][0::2]
    assert list(names) == sorted(names)


def test_only_our_fonts_are_inside():
    names = set()
    for page in PdfReader(io.BytesIO(made("<p style='font-family:Arial,serif'>x 色</p>"))).pages:
        for font in page["/Resources"]["/Font"].values():
            names.add(font["/BaseFont"].partition("+")[2])
    assert names and all(name.startswith(("DejaVu", "Noto-Sans-SC")) for name in names)


@pytest.mark.parametrize(
    "body",
    [
        "<img src='file:///etc/hostname'>",
        "<img src='http://127.0.0.1:9/x.png'>",
        "<a rel='attachment' href='file:///etc/hostname'>x</a>",
        "<style>@import 'file:///etc/hostname';</style>",
        "<div style='background:url(file:///etc/hostname)'>x</div>",
        "<svg viewBox='0 0 1 1'><image href='file:///etc/hostname' width='1' height='1'/></svg>",
        "<object data='file:///etc/hostname'></object>",
    ],
)
def test_no_address_but_data_is_fetched(body):
    with pytest.raises(PdfError, match="data:"):
        made(body)


def test_a_data_image_is_set():
    reader = PdfReader(io.BytesIO(made(f"<img alt='grey' src='{png(8, 8)}'>")))
    assert [image.image.size for image in reader.pages[0].images] == [(8, 8)]


def test_an_image_of_too_many_pixels_is_left_out_unread():
    reader = PdfReader(io.BytesIO(made(f"<img alt='grey' src='{png(6000, 5000)}'>")))
    assert len(reader.pages[0].images) == 0


def test_memory_and_time_are_limited():
    long = "<p>row</p>" * 4000
    with pytest.raises(PdfError, match="memory or time") as caught:
        made(long, seconds=1)
    with pytest.raises(PdfError, match="memory or time"):
        made(long, memory=120 * 2**20)
    assert "row" not in str(caught.value)


def test_a_hanging_typesetter_is_ended_and_the_next_document_has_a_new_one(monkeypatch):
    first = made()
    with monkeypatch.context() as hurried:
        hurried.setattr(pdf, "WALL_SECONDS", 0.05)
        with pytest.raises(PdfError, match="memory or time"):
            made()
    assert setter._kept is None
    assert made() == first


def test_a_typesetter_that_was_killed_is_replaced():
    first = made()
    before = setter._kept._process
    before.kill()
    before.wait()
    assert made() == first and setter._kept._process.pid != before.pid


def test_one_that_ends_at_a_document_is_told_of(monkeypatch, tmp_path):
    monkeypatch.setattr(setter, "PROGRAM", tmp_path / "none.py")
    monkeypatch.setattr(setter, "_kept", None)
    with pytest.raises(PdfError, match="could not be set"):
        made()


def test_a_document_leaves_nothing_to_the_next():
    first = made()
    for seconds in (1, 40):
        with pytest.raises(PdfError):
            made("<p>row</p>" * 4000, seconds=seconds, memory=150 * 2**20)
        with pytest.raises(PdfError):
            made("<img src='file:///etc/hostname'>")
    made("<p style='font-size: 30pt'>other</p>")
    assert made() == first


def test_a_document_longer_than_a_pipe_holds_and_many_at_once():
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda n: made(f"<p>{n}</p><!--{'x' * 300_000}-->"), range(4)))
    pages = [PdfReader(io.BytesIO(one)).pages[0].extract_text() for one in found]
    assert [str(n) in page.splitlines() for n, page in enumerate(pages)] == [True] * 4


def test_a_forked_process_has_a_typesetter_of_its_own():
    first, before = made(), setter._kept
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        told = b"no"
        try:
            told = b"yes" if setter._kept is None and made() == first else b"no"
            setter._kept.end()
        finally:
            os.write(writing, told)
            os._exit(0)
    os.waitpid(child, 0)
    assert os.read(reading, 9) == b"yes"
    os.close(reading)
    os.close(writing)
    assert setter._kept is before and before.runs and made() == first


def test_the_typesetter_ends_with_who_started_it():
    code = (
        "import sys; sys.path.insert(0, '.'); from pathlib import Path; from jobs import setter;"
        "print(setter.Setter(Path('x'))._process.pid, flush=True); import os; os._exit(0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    status = Path(f"/proc/{done.stdout.strip()}/stat")
    end = time.monotonic() + 20
    while status.exists() and ") Z" not in status.read_text() and time.monotonic() < end:
        time.sleep(0.05)
    assert not status.exists() or ") Z" in status.read_text()


def test_the_child_sees_no_secrets(monkeypatch):
    monkeypatch.setenv("COUNTERSHADE_KEY_SECRET", "k" * 40)
    monkeypatch.setattr(setter, "_kept", None)
    made()
    seen = Path(f"/proc/{setter._kept._process.pid}/environ").read_bytes()
    names = {line.partition(b"=")[0].decode() for line in seen.split(b"\0") if line}
    assert names == {"FONTCONFIG_FILE", "PATH", "LC_ALL"}


def test_a_naive_date_is_refused():
    with pytest.raises(ValueError, match="aware"):
        made(created=CREATED.replace(tzinfo=None))


def test_the_application_starts_without_the_typesetter(settings):
    code = (
        "import sys, jobs.pdf, jobs.figures.margins, jobs.fonts; print('weasyprint' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == "False"


@pytest.mark.parametrize("megabytes", range(100, 160, 20))
def test_too_little_memory_is_named_however_it_shows(megabytes):
    """Whatever allocation fails first, and whatever Python makes of it."""
    with pytest.raises(PdfError, match="memory or time"):
        made("<p>row</p>" * 4000, memory=megabytes * 2**20, seconds=5)
