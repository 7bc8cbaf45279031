"""What an entry's page says about proof holds in a shell, without anything of ours."""

from __future__ import annotations

import html
import re
import shutil
import subprocess

import pytest
from django.db import transaction
from django.urls import reverse

from desk.proof import blob_links, covering, payload_command, proof_of
from ledger import chain
from ledger.canonical import parse
from ledger.chain import commitment
from ledger.erasure import clear, destroy
from ledger.kinds import Kind
from ledger.models import Entry

SHELLS = [name for name in ("dash", "bash", "sh") if shutil.which(name)]


def said_by(shell: str, command: str) -> str:
    """What the command prints; the program `sha256sum` is that of the system."""
    done = subprocess.run([shell, "-c", command], capture_output=True, check=True)
    return done.stdout.decode().split()[0]


@pytest.mark.parametrize("shell", SHELLS)
def test_the_commands_on_the_page_print_hash_and_commitment(world, sign_in, shell):
    world.settled()
    dossier = world.cast.agreement
    client = sign_in(world.cast.auditor)
    tried = 0
    for entry in chain.entries(dossier.chain):
        url = reverse("desk:entry", kwargs={"dossier": dossier.pk, "number": entry.number})
        text = client.get(url).content.decode()
        commands = [
            html.unescape(one)
            for one in re.findall(r'<p class="card"><code translate="no">(.*?)</code>', text, re.S)
        ]
        assert said_by(shell, commands[0]) == entry.hash
        if len(commands) > 1:
            assert said_by(shell, commands[1]) == entry.header["payload"]
            tried += 1
    assert tried > 20


@pytest.mark.parametrize("shell", SHELLS)
def test_every_byte_of_a_salt_and_every_sign_of_a_text_survives_the_shell(shell):
    for start in range(0, 256, 32):
        salt = bytes(range(start, start + 32))
        payload = '{"text":"it\'s 100 % $HOME `id` \\\\n ü 中 \\""}'.encode()
        assert said_by(shell, payload_command(salt, payload)) == commitment(salt, payload)


def test_the_downloaded_header_has_the_hash(world, sign_in, tmp_path):
    dossier = world.cast.agreement
    entry = chain.entries(dossier.chain).last()
    url = reverse("desk:entry-header", kwargs={"dossier": dossier.pk, "number": entry.number})
    answer = sign_in(world.cast.auditor).get(url)
    file = tmp_path / "header.json"
    file.write_bytes(answer.content)
    assert said_by("sh", f"sha256sum {file}") == entry.hash
    assert "attachment" in answer["Content-Disposition"]


def test_an_entry_is_covered_by_each_sides_first_signature_that_saw_it(world):
    world.settled()
    name = world.cast.agreement.chain
    signatures = [
        (made.number, made.side, parse(made.payload["statement"].encode())["head"]["number"])
        for made in chain.entries(name).filter(kind="signature.made")
    ]
    for entry in chain.entries(name):
        expected = {}
        for number, side, seen in signatures:
            if number > entry.number and seen >= entry.number:
                expected.setdefault(side, number)
        assert {one.side: one.number for one in covering(entry)} == expected
    assert covering(chain.entries(name).first())
    assert covering(chain.entries(name).last()) == []


def test_files_lead_where_pages_lead_already_and_nowhere_else(world, sign_in):
    world.settled()
    dossier = world.cast.agreement
    linked = 0
    for who in (world.cast.auditor, world.cast.customer_lead):
        client, sitter = sign_in(who), world.by(who).sitter
        for entry in chain.entries(dossier.chain):
            for blob in blob_links(entry, sitter):
                if blob.url:
                    answer = client.get(blob.url)
                    assert answer.status_code == 200, (entry.kind, blob.url)
                    assert "attachment" in answer["Content-Disposition"]
                    linked += 1
    assert linked > 20
    assert {blob.digest for blob in blob_links(entry, sitter)} == set(entry.blobs)


def test_a_files_link_gives_the_bytes_of_its_digest(world, sign_in):
    world.judged_lot()
    dossier, who = world.cast.agreement, world.cast.auditor
    entry = chain.entries(dossier.chain).filter(kind="submission.made").last()
    for blob in blob_links(entry, world.by(who).sitter):
        data = sign_in(who).get(blob.url).content
        assert chain.digest(data) == blob.digest


def test_an_erased_entry_still_proves_its_header_and_says_so(world, sign_in):
    dossier = world.cast.agreement
    with transaction.atomic():
        chain.append(
            dossier.chain, by=world.customer.actor(), kind=Kind.PERSON_NAMED, subject="person:P-1",
            act=chain.new_act(), payload={"person": "P-1", "name": "Una Nobody"}, personal="P-1",
        )  # fmt: skip
    entry = chain.entries(dossier.chain).last()
    sitter = world.by(world.cast.auditor).sitter
    assert said_by("sh", proof_of(entry, sitter).payload_command) == commitment(*clear(entry)[::-1])
    with transaction.atomic():
        destroy(dossier.chain, "P-1")
    client = sign_in(world.cast.auditor)
    kwargs = {"dossier": dossier.pk}
    text = client.get(reverse("desk:entry", kwargs=kwargs | {"number": entry.number}))
    assert text.status_code == 200 and "was erased" in text.content.decode()
    assert "Una" not in text.content.decode()
    listed = client.get(reverse("desk:timeline", kwargs=kwargs)).content.decode()
    assert "Una" not in listed and "erased" in listed
    again = Entry.objects.get(pk=entry.pk)
    assert said_by("sh", proof_of(again, sitter).hash_command) == entry.hash
