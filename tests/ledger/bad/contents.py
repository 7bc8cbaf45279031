"""Tricks with the file: its members, names, sizes, headers and what their contents look like."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Callable

from ledger.canonical import canonical_bytes
from ledger.verify import jws
from tests.ledger import plain as make
from tests.ledger.bad.trick import Made, made, refused_by
from tests.ledger.forge import members, zipped

Member = tuple[str, bytes]


def rearranged(change: Callable[[list[Member]], list[Member]]) -> Made:
    """A good record with its members changed, in a container in its form."""
    plain, _, _ = make.signed()
    return made(plain, zipped(change(members(plain.record()))))


def swapped(name: str, change: Callable[[bytes], bytes]) -> Made:
    """A good record with one member's content changed, in a container in its form."""
    return rearranged(
        lambda parts: [(one, change(data) if one == name else data) for one, data in parts]
    )


def payload(data: bytes) -> Made:
    """A record, signed by its root, in which a lot's payload is these bytes."""
    plain, _, _ = make.signed()
    forged = plain.forgery()
    lot = next(one for one in forged.entries if one.header["kind"] == "lot.opened")
    lot.payload = data
    return made(plain, forged.build(plain.root_key))


@refused_by("file.empty")
def an_empty_file() -> Made:
    return made(make.opened(), b"")


@refused_by("zip.truncated")
def truncated_in_the_end_record() -> Made:
    plain = make.opened()
    return made(plain, plain.record()[:-5])


@refused_by("zip.size")
def truncated_in_an_entry() -> Made:
    plain = make.opened()
    record = plain.record()
    return made(plain, record[: record.index(b"entries/000003") + 100])


@refused_by("zip.trailing")
def bytes_after_the_end() -> Made:
    plain = make.opened()
    return made(plain, plain.record() + b"PK\5\6")


@refused_by("zip.header")
def a_program_before_the_start() -> Made:
    plain = make.opened()
    return made(plain, b"#!/bin/sh\n" + plain.record())


@refused_by("zip.name")
def entries_in_another_order() -> Made:
    def change(parts: list[Member]) -> list[Member]:
        parts[2], parts[3] = parts[3], parts[2]
        return parts

    return rearranged(change)


@refused_by("zip.order")
def a_blob_twice() -> Made:
    def change(parts: list[Member]) -> list[Member]:
        at = next(n for n, (name, _) in enumerate(parts) if name.startswith("blobs/"))
        manifest = json.loads(parts[0][1])
        manifest["blobs"] += 1
        return [(parts[0][0], canonical_bytes(manifest)), *parts[1:at], parts[at], *parts[at:]]

    return rearranged(change)


@refused_by("zip.name")
def the_same_name_twice() -> Made:
    return rearranged(lambda parts: [*parts[:4], parts[3], *parts[4:]])


@refused_by("zip.header")
def a_member_of_its_own() -> Made:
    return rearranged(lambda parts: [*parts[:-2], ("readme.txt", b"Trust me."), *parts[-2:]])


@refused_by("zip.name")
def a_name_that_leaves_the_folder() -> Made:
    def change(parts: list[Member]) -> list[Member]:
        return [("../../../etc/x" if n == "entries/000001" else n, data) for n, data in parts]

    return rearranged(change)


@refused_by("zip.header")
def compressed_by_a_common_tool() -> Made:
    plain = make.opened()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as box:
        for name, content in members(plain.record()):
            box.writestr(name, content)
    return made(plain, out.getvalue())


@refused_by("zip.header")
def stored_by_a_common_tool() -> Made:
    plain = make.opened()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as box:
        for name, content in members(plain.record()):
            box.writestr(zipfile.ZipInfo(name), content)
    return made(plain, out.getvalue())


def patched(place: Callable[[bytes], int], value: bytes) -> Made:
    """A good record with some bytes overwritten."""
    plain = make.opened()
    record = bytearray(plain.record())
    at = place(record)
    record[at : at + len(value)] = value
    return made(plain, bytes(record))


@refused_by("zip.header")
def a_comment_in_the_directory() -> Made:
    return patched(lambda record: record.index(b"PK\1\2") + 32, b"\1")


@refused_by("zip.header")
def permissions_to_run() -> Made:
    return patched(
        lambda record: record.index(b"PK\1\2") + 38, (0o100755 << 16).to_bytes(4, "little")
    )


@refused_by("zip.header")
def another_date() -> Made:
    return patched(lambda record: 12, b"\x22")


@refused_by("zip.header")
def marked_as_encrypted() -> Made:
    return patched(lambda record: 6, b"\1")


@refused_by("zip.header")
def a_checksum_of_its_own() -> Made:
    return patched(lambda record: record.index(b"entries/000002") - 16, b"\0\0\0\0")


@refused_by("zip.size")
def a_size_of_four_gigabytes() -> Made:
    return patched(lambda record: 18, b"\xff" * 8)


@refused_by("zip.size")
def an_entry_beyond_the_limit() -> Made:
    def change(parts: list[Member]) -> list[Member]:
        name, data = parts[2]
        return [*parts[:2], (name, data + b" " * (8 * 1024 * 1024)), *parts[3:]]

    return rearranged(change)


@refused_by("manifest.count")
def more_entries_than_there_can_be() -> Made:
    return manifest(entries=10_000_001)


@refused_by("zip.header")
def more_entries_than_there_are() -> Made:
    return manifest(entries=9_999_999)


@refused_by("manifest.form")
def a_form_that_nobody_knows() -> Made:
    return manifest(form="summary")


@refused_by("manifest.version")
def a_version_that_nobody_knows() -> Made:
    return manifest(v=2)


def manifest(**changes: object) -> Made:
    """A good record under another manifest."""
    return swapped("manifest.json", lambda data: canonical_bytes({**json.loads(data), **changes}))


@refused_by("field.unknown")
def a_word_more_in_the_manifest() -> Made:
    return manifest(trusted=1)


@refused_by("json.canonical")
def a_manifest_with_spaces() -> Made:
    return swapped("manifest.json", lambda data: data.replace(b":", b": "))


@refused_by("json.strict")
def a_manifest_with_two_chains() -> Made:
    return swapped("manifest.json", lambda data: data.replace(b'"chain"', b'"chain":"x","chain"'))


@refused_by("json.depth")
def deep_nesting() -> Made:
    return payload(b"[" * 100_000 + b"]" * 100_000)


@refused_by("json.strict")
def giant_digits() -> Made:
    return payload(b'{"quantity":' + b"9" * 100_000 + b"}")


@refused_by("json.strict")
def a_number_that_readers_round() -> Made:
    return payload(b'{"quantity":9007199254740993}')


@refused_by("json.strict")
def a_quantity_said_twice() -> Made:
    return payload(b'{"quantity":1,"quantity":1000}')


@refused_by("json.strict")
def a_fraction() -> Made:
    return payload(b'{"quantity":1e3}')


@refused_by("json.utf8")
def text_that_is_none() -> Made:
    return payload(b'{"note":"\xc0\x80"}')


@refused_by("payload.form")
def a_payload_that_is_a_list() -> Made:
    return payload(b"[]")


@refused_by("entry.lines")
def a_fourth_line() -> Made:
    return swapped("entries/000003", lambda data: data + b"note\n")


@refused_by("json.canonical")
def lines_of_another_system() -> Made:
    return swapped("entries/000003", lambda data: data.replace(b"\n", b"\r\n"))


@refused_by("base64url")
def a_signature_that_decodes_alike() -> Made:
    alphabet = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    return swapped(
        "checkpoint.jws",
        lambda data: data[:-1] + bytes([alphabet[alphabet.index(data[-1:]) ^ 1]]),
    )


@refused_by("base64url")
def a_padded_signature() -> Made:
    return swapped("checkpoint.jws", lambda data: data + b"==")


@refused_by("jws.header")
def a_signature_that_names_no_algorithm() -> Made:
    head = jws.b64url_text(b'{"alg":"none","typ":"countershade-checkpoint"}').encode()
    return swapped("checkpoint.jws", lambda data: head + b".." + data.split(b".")[2])


@refused_by("jws.signature")
def a_signature_of_zeros() -> Made:
    zeros = jws.b64url_text(bytes(64)).encode()
    return swapped("checkpoint.jws", lambda data: data.split(b".")[0] + b".." + zeros)


@refused_by("blob.digest")
def swapped_blobs() -> Made:
    def change(parts: list[Member]) -> list[Member]:
        at = [n for n, (name, _) in enumerate(parts) if name.startswith("blobs/")][:2]
        (one, first), (two, second) = parts[at[0]], parts[at[1]]
        parts[at[0]], parts[at[1]] = (one, second), (two, first)
        return parts

    return rearranged(change)


@refused_by("blob.missing")
def a_blob_left_out() -> Made:
    plain, _, _ = make.signed()
    forged = plain.forgery()
    del forged.blobs[plain.terms]
    return made(plain, forged.build(plain.root_key))


@refused_by("blob.unnamed")
def a_blob_that_nobody_named() -> Made:
    plain, _, _ = make.signed()
    forged = plain.forgery()
    forged.blobs[hashlib.sha256(b"planted").hexdigest()] = b"planted"
    return made(plain, forged.build(plain.root_key))
