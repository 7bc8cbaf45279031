"""The signed record: asked for on a page, written by a job, downloaded, verified, judged again."""

from __future__ import annotations

import hashlib
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.urls import reverse

from desk.models import RecordCopy
from desk.records import ask_for_record, path_of, write_copy
from jobs import queue
from ledger import chain, export
from parties import reading
from parties.keys import installation
from parties.refusal import Refusal
from shipments import transitions as shipping
from shipments.models import Verdict

ROOT = Path(__file__).parents[2]
SURROUNDINGS = [
    {"PYTHONHASHSEED": "1", "TZ": "Asia/Shanghai", "LANG": "zh_CN.UTF-8"},
    {"PYTHONHASHSEED": "4242", "TZ": "America/Lima", "LANG": "tr_TR.UTF-8", "LC_ALL": "C"},
]


def at(name: str, obj, space: str = "desk") -> str:
    return reverse(f"{space}:{name}", kwargs={"dossier": obj.dossier_id, "pk": obj.pk})


def page(name: str, dossier) -> str:
    return reverse(f"desk:{name}", kwargs={"dossier": dossier.pk})


def run(*arguments: str, **surroundings: str) -> subprocess.CompletedProcess[str]:
    """One of our modules in a process of its own, without a database."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    return subprocess.run(
        [sys.executable, "-m", *arguments],
        cwd=ROOT,
        env={**kept, **surroundings},
        capture_output=True,
        text=True,
        check=False,
    )


def every_word(world) -> None:
    """One lot per verdict word, a dispute about a further one, and all of it settled."""
    world.settled("L-0")
    world.judged_lot("L-1")
    world.judged_lot("L-2", 0.08, "reject")
    world.judged_lot("L-3", 0.0145)
    lot = world.open_lot("L-4")
    if world.kind == "spectral":
        world.measure(world.staff, lot.subject, [("1", [0.5] * 31)])
    else:
        world.sit(world.staff, lot.subject, {"1": "accept"})
    shipping.submit_lot(lot, by=world.staff)
    queue.drain()


def copy_of(world, who) -> RecordCopy:
    copy = ask_for_record(world.cast.agreement, by=world.by(who))
    queue.drain()
    copy.refresh_from_db()
    return copy


@pytest.mark.parametrize("kind", ["world", "seen"])
def test_every_lot_is_judged_again_from_the_record_alone(request, tmp_path, kind):
    world = request.getfixturevalue(kind)
    every_word(world)
    words = list(Verdict.objects.values_list("outcome", flat=True))
    assert set(words) == {"conforming", "nonconforming", "incomplete"} | (
        {"inconclusive"} if kind == "world" else set()
    )
    path = path_of(copy_of(world, world.cast.auditor))
    folder = tmp_path / "unpacked"
    root = installation().fingerprint
    verified = run("ledger.verify", str(path), "--root", root, "--unpack", str(folder))
    assert verified.returncode == 0, verified.stdout + verified.stderr
    path.unlink()
    for surroundings in SURROUNDINGS:
        again = run("method.rejudge", str(folder), **surroundings)
        assert again.returncode == 0, again.stdout + again.stderr
        lines = again.stdout.splitlines()
        assert lines[-1] == f"{len(words)} of {len(words)} verdicts identical"
        assert [line.split(": ")[1] for line in lines[:-1]] == words_in_order(world)


def words_in_order(world) -> list[str]:
    found = chain.entries(world.cast.agreement.chain).filter(kind="verdict.given")
    return [entry.payload["outcome"] for entry in found]


def test_a_record_altered_after_unpacking_is_not_judged_the_same(world, tmp_path):
    world.judged_lot()
    path = path_of(copy_of(world, world.cast.auditor))
    folder = tmp_path / "unpacked"
    run("ledger.verify", str(path), "--unpack", str(folder))
    verdict = Verdict.objects.order_by("-created_at")[0]
    blob = folder / "blobs" / verdict.digest
    blob.write_bytes(blob.read_bytes().replace(b"conforming", b"inconclusi", 1))
    again = run("method.rejudge", str(folder))
    assert again.returncode == 1 and "altered" in again.stdout


def test_the_auditor_asks_waits_and_downloads(world, sign_in, tmp_path):
    world.judged_lot()
    dossier = world.cast.agreement
    client = sign_in(world.cast.auditor)
    before = chain.head(dossier.chain)
    asked = client.post(page("make-record", dossier))
    assert asked.status_code == 302
    copy = RecordCopy.objects.get()
    progress = at("copy-progress", copy, "desk-api")
    assert client.get(progress).json() == {
        "state": "queued", "done": 0, "total": 0, "finished": False, "error": "",
    }  # fmt: skip
    assert client.get(at("copy-download", copy)).status_code == 404
    assert client.get(asked["Location"]).status_code == 200
    queue.drain()
    done = client.get(progress).json()
    assert (done["state"], done["done"], done["total"], done["finished"]) == ("done", 1, 1, True)
    answer = client.get(at("copy-download", copy))
    data = b"".join(answer.streaming_content)
    copy.refresh_from_db()
    assert hashlib.sha256(data).hexdigest() == copy.digest and len(data) == copy.size
    assert answer["Content-Type"] == "application/zip"
    assert answer["Content-Disposition"] == f'attachment; filename="{copy.file_name}"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert installation().fingerprint in client.get(asked["Location"]).content.decode()
    assert chain.head(dossier.chain) == before  # asking, waiting and downloading add nothing
    path = tmp_path / copy.file_name
    path.write_bytes(data)
    report = run("ledger.verify", str(path), "--root", installation().fingerprint, "--json")
    assert (report.returncode, json.loads(report.stdout)["outcome"]) == (0, "verified")
    assert run("ledger.verify", str(path)).returncode == 3
    assert run("ledger.verify", str(path), "--root", "0" * 64).returncode == 1


def test_an_open_page_is_told_of_its_copy_when_that_has_moved(world, sign_in):
    world.judged_lot()
    client = sign_in(world.cast.auditor)
    page_of = client.post(page("make-record", world.cast.agreement))["Location"]
    progress = at("copy-progress", RecordCopy.objects.get(), "desk-api")
    asking = {"headers": {"HX-Request": "true"}}
    shown = client.get(page_of).content.decode()
    assert f'hx-get="{progress}?seen=queued-0" hx-trigger="every 1s"' in shown
    assert client.get(f"{progress}?seen=queued-0", **asking).status_code == 204
    queue.drain()
    piece = client.get(f"{progress}?seen=queued-0", **asking).content.decode()
    assert f'hx-get="{page_of}" hx-trigger="load' in piece and "Done." in piece
    assert "<progress" not in piece and "<html" not in piece
    assert "hx-get" not in client.get(page_of).content.decode()


def test_a_copy_is_its_own_sides(world, sign_in):
    copy = copy_of(world, world.cast.customer_colleague)
    for who, status in (
        ("customer_lead", 200), ("supplier_lead", 404), ("auditor", 404), ("stranger", 404),
        ("customer_observer", 403),
    ):  # fmt: skip
        client = sign_in(getattr(world.cast, who))
        for url in (
            at("copy", copy), at("copy-download", copy), at("copy-progress", copy, "desk-api"),
        ):  # fmt: skip
            assert client.get(url).status_code == status, (who, url)


def test_without_a_chain_there_is_no_record(cast, sign_in):
    by = cast.capacity(cast.customer_lead)
    with pytest.raises(Refusal) as caught:
        ask_for_record(cast.agreement, by=by)
    assert caught.value.id == "no_chain"
    call = sign_in(cast.customer_lead).post(f"/api{page('make-record', cast.agreement)}")
    assert (call.status_code, call.json()["id"]) == (409, "no_chain")
    assert not RecordCopy.objects.exists()


def test_a_copy_names_the_head_that_its_file_holds(world, monkeypatch):
    """The chain grows while the file is written: what is shown is what was signed."""
    copy = ask_for_record(world.cast.agreement, by=world.by(world.cast.auditor))
    write = export.write_record

    def slow(*args, **kwargs):
        write(*args, **kwargs)
        world.open_lot("L-late")

    monkeypatch.setattr("ledger.export.write_record", slow)
    before = chain.head(world.cast.agreement.chain)
    copy = write_copy(copy)
    assert (copy.number, copy.hash) == (before.number, before.hash)
    assert chain.head(world.cast.agreement.chain).number == before.number + 1


def test_a_worker_that_starts_again_leaves_one_whole_file(world):
    copy = copy_of(world, world.cast.auditor)
    first = path_of(copy).read_bytes()
    write_copy(copy)
    assert path_of(copy).read_bytes()[:100] == first[:100]
    assert [one.name for one in path_of(copy).parent.iterdir()] == [f"{copy.pk}.zip"]


def test_the_same_head_gives_the_same_record_but_for_the_checkpoint(world):
    """Entries and files lie in one form; only the checkpoint's time and signature are new."""
    one, two = copy_of(world, world.cast.auditor), copy_of(world, world.cast.customer_lead)
    a, b = path_of(one).read_bytes(), path_of(two).read_bytes()
    end = a.index(b"checkpoint.json") - 30
    assert a[:end] == b[:end] and end > 0.9 * len(a)


def test_what_was_verified_when_is_kept_and_shown(world, sign_in):
    copy = copy_of(world, world.cast.auditor)
    assert (copy.verdict, copy.verified_head, copy.finding) == ("verified", copy.hash, "")
    root = installation().fingerprint
    report = run("ledger.verify", str(path_of(copy)), "--root", root, "--json")
    assert json.loads(report.stdout)["head"] == copy.verified_head
    client = sign_in(world.cast.auditor)
    listed = client.get(page("record", world.cast.agreement)).content.decode()
    assert f"{copy.verified_at:%Y-%m-%d %H:%M}" in listed and "verified" in listed
    shown = client.get(at("copy", copy)).content.decode()
    assert f"{copy.verified_at:%Y-%m-%d %H:%M:%S}" in shown and copy.verified_head in shown


def test_a_copy_that_the_verifier_refuses_is_called_so(world, sign_in, monkeypatch):
    """As if the disk had altered a byte between writing and verifying."""
    whole = export.write_record

    def altered(name, out, **facts):
        written = io.BytesIO()
        whole(name, written, **facts)
        data = bytearray(written.getvalue())
        data[len(data) // 2] ^= 1
        out.write(data)

    monkeypatch.setattr("ledger.export.write_record", altered)
    copy = copy_of(world, world.cast.auditor)
    assert copy.verdict == "refused" and copy.finding
    text = sign_in(world.cast.auditor).get(at("copy", copy)).content.decode()
    assert "The verifier refuses this file" in text


@pytest.mark.parametrize("noun", ["lots", "disputes"])
def test_the_record_of_one_thing_holds_that_and_proves_the_place_of_the_rest(
    world, sign_in, tmp_path, noun
):
    dispute = world.settled("L-1")
    world.judged_lot("L-2")
    thing = dispute if noun == "disputes" else dispute.lot
    client = sign_in(world.cast.auditor)
    made = client.post(reverse(f"desk:{noun}-part-record", kwargs={
        "dossier": thing.dossier_id, "pk": thing.pk,
    }))  # fmt: skip
    assert made.status_code == 302
    queue.drain()
    copy = RecordCopy.objects.get()
    assert (copy.about, copy.verdict, copy.finding) == (thing.subject, "verified", "")
    text = client.get(at("copy", copy)).content.decode()
    assert "L-1" in text and "A part of the signed record" in text
    data = b"".join(client.get(at("copy-download", copy)).streaming_content)
    path = tmp_path / "part.zip"
    path.write_bytes(data)
    report = run("ledger.verify", str(path), "--root", installation().fingerprint)
    assert report.returncode == 0, report.stdout
    assert dispute.offers.get(status="settled").digest.encode() in data
    other = world.cast.agreement
    private = chain.entries(other.chain).filter(kind="lot.opened").last()
    assert private.payload["number"] == "L-2" and bytes(private.payload_bytes) not in data
    assert bytes(private.header_bytes) in data
    taken = reading.entries(other).filter(kind="record.taken").last()
    assert (taken.payload["form"], taken.payload["about"]) == ("part", thing.subject)
    assert f"part-{noun[:-1]}-{str(thing.pk)[:8]}" in copy.file_name
    lead = sign_in(world.cast.supplier_lead)
    log = lead.get(reverse("desk:reading", kwargs={"dossier": other.pk})).content.decode()
    named = "dispute about lot L-1" if noun == "disputes" else "lot L-1"
    assert f"a part about {named}, up to entry" in log and thing.subject not in log
