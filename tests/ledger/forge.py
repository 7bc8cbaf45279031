"""Take a record apart and put it together again otherwise, as a forger would.

`Forgery.build` recomputes everything that can be recomputed without a private key: links, payload
commitments, counts, names of blobs, CRC-32s, directory. Given the root's key it also signs a new
checkpoint, to reach the checks behind it.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec

from ledger.canonical import canonical_bytes
from ledger.verify import jws, zipform


@dataclass
class Part:
    """One entry, open for changes."""

    header: dict[str, Any]
    payload: bytes
    salt: bytes

    def say(self, change: Callable[[dict[str, Any]], Any]) -> None:
        """Change the payload's value."""
        value = json.loads(self.payload)
        change(value)
        self.payload = canonical_bytes(value)


@dataclass
class Forgery:
    """All parts of a record."""

    root: bytes
    checkpoint: dict[str, Any]
    signature: str
    entries: list[Part] = field(default_factory=list)
    blobs: dict[str, bytes] = field(default_factory=dict)
    manifest: dict[str, Any] = field(default_factory=dict)
    # What stands in the place of an entry's payload and salt, by its number.
    words: dict[int, str] = field(default_factory=dict)

    def build(self, root_key: ec.EllipticCurvePrivateKey | None = None) -> bytes:
        """The record with links recomputed; signed again where the root's key is given."""
        previous = "0" * 64
        lines = []
        for number, part in enumerate(self.entries, start=1):
            part.header["number"] = number
            part.header["previous"] = previous
            part.header["payload"] = hashlib.sha256(part.salt + part.payload).hexdigest()
            header = canonical_bytes(part.header)
            previous = hashlib.sha256(header).hexdigest()
            rest = [part.payload, part.salt.hex().encode()]
            if number in self.words:
                rest = [self.words[number].encode()]
            lines.append(b"\n".join([header, *rest, b""]))
        checkpoint, signature = self.checkpoint, self.signature
        if root_key is not None:
            checkpoint = {**checkpoint, "number": len(lines), "hash": previous}
            signature = jws.sign(root_key, canonical_bytes(checkpoint), jws.CHECKPOINT)
        return self.assemble(lines, canonical_bytes(checkpoint), signature.encode())

    def assemble(self, lines: list[bytes], checkpoint: bytes, signature: bytes) -> bytes:
        """The zip of these contents."""
        manifest = {**self.manifest, "entries": len(lines), "blobs": len(self.blobs)}
        members = {"manifest.json": canonical_bytes(manifest), "root.der": self.root}
        members |= {f"entries/{n:06d}": line for n, line in enumerate(lines, start=1)}
        members |= {f"blobs/{digest}": self.blobs[digest] for digest in sorted(self.blobs)}
        members |= {"checkpoint.json": checkpoint, "checkpoint.jws": signature}
        return zipped(list(members.items()))


def zipped(members: list[tuple[str, bytes]]) -> bytes:
    """Members in the record's form, in the order given."""
    out = io.BytesIO()
    writer = zipform.Writer(out)
    for name, content in members:
        writer.add(name, content)
    writer.close()
    return out.getvalue()


def members(record: bytes) -> list[tuple[str, bytes]]:
    """Names and contents, in order."""
    with zipfile.ZipFile(io.BytesIO(record)) as opened:
        return [(info.filename, opened.read(info)) for info in opened.infolist()]


def opened(record: bytes) -> Forgery:
    """The parts of a record."""
    parts = dict(members(record))
    forgery = Forgery(
        parts["root.der"], json.loads(parts["checkpoint.json"]), parts["checkpoint.jws"].decode()
    )
    forgery.manifest = json.loads(parts["manifest.json"])
    for name, content in parts.items():
        if name.startswith("entries/"):
            header, payload, salt, _ = content.split(b"\n")
            forgery.entries.append(Part(json.loads(header), payload, bytes.fromhex(salt.decode())))
        elif name.startswith("blobs/"):
            forgery.blobs[name[6:]] = content
    return forgery


def fresh(header: dict[str, Any], payload: Any, **changes: Any) -> Part:
    """Another entry, made after the pattern of a header."""
    return Part({**header, **changes}, canonical_bytes(payload), os.urandom(32))
