"""Lay a verified record out as files, for reading and for judging again."""

from __future__ import annotations

import os
from pathlib import Path

from ledger.verify import container
from ledger.verify.entries import split


def unpack(path: str | os.PathLike[str], folder: str | os.PathLike[str]) -> int:
    """Write the members of a record that was verified before; returns how many files.

    The folder must be new or empty (FileExistsError). Names are made here, none is taken from the
    record: digests were checked to be digests. Layout: manifest.json, root.der, checkpoint.json,
    checkpoint.jws, entries/NNNNNN/{header.json,payload.json,salt}, blobs/<digest>; `salt` holds
    the 32 bytes themselves.
    """
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    if any(target.iterdir()):
        raise FileExistsError(f"{target} is not empty")
    data = Path(path).read_bytes()
    box = container.open_manifest(data)
    container.walk(box)
    count = 0
    single = (container.MANIFEST, container.ROOT, container.CHECKPOINT, container.CHECKPOINT_JWS)
    for name in single:
        (target / name).write_bytes(box.named(name)[0])
        count += 1
    for number in range(1, box.entries + 1):
        count += _entry(target / container.entry_name(number), box.entry(number)[0])
    (target / "blobs").mkdir()
    for position, digest in enumerate(box.blobs):
        (target / container.blob_name(digest)).write_bytes(box.blob(position)[0])
        count += 1
    return count


def _entry(folder: Path, content: bytes) -> int:
    header, payload, salt, _ = split(content)
    folder.mkdir(parents=True)
    (folder / "header.json").write_bytes(header)
    (folder / "payload.json").write_bytes(payload)
    (folder / "salt").write_bytes(bytes.fromhex(salt.decode("ascii")))
    return 3
