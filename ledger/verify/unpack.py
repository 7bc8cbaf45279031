"""Lay a verified record out as files, for reading and for judging again."""

from __future__ import annotations

import mmap
import os
from pathlib import Path

from ledger.verify import container
from ledger.verify.headers import ABSENT, split

SINGLE = (container.MANIFEST, container.ROOT, container.CHECKPOINT, container.CHECKPOINT_JWS)


def unpack(path: str | os.PathLike[str], folder: str | os.PathLike[str]) -> int:
    """Write the members of a record that was verified before; returns how many files.

    The folder must be new or empty (FileExistsError). Names are made here, none is taken from the
    record: digests were checked to be digests. Layout: manifest.json, root.der, checkpoint.json,
    checkpoint.jws, entries/NNNNNN/{header.json,payload.json,salt}, blobs/<digest>; `salt` holds
    the 32 bytes themselves. In the place of payload and salt that are not given stands an empty
    file `withheld` or `erased`.
    """
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    if any(target.iterdir()):
        raise FileExistsError(f"{target} is not empty")
    with (
        Path(path).open("rb") as file,
        mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data,
    ):
        box = container.open_manifest(data)
        container.walk(box)
        return _lay_out(box, target)


def _lay_out(box: container.Container, target: Path) -> int:
    count = len(SINGLE)
    for name in SINGLE:
        (target / name).write_bytes(box.named(name)[0])
    for number, content, _ in box.each_entry():
        count += _entry(target / container.entry_name(number), content)
    (target / "blobs").mkdir()
    for digest, content, _ in box.each_blob():
        (target / container.blob_name(digest)).write_bytes(content)
        count += 1
    return count


def _entry(folder: Path, content: bytes) -> int:
    folder.mkdir(parents=True)
    first = content.find(b"\n")
    word = ABSENT.get(content[first + 1 :])
    (folder / "header.json").write_bytes(content[:first])
    if word is not None:
        (folder / word.decode("ascii")).touch()
        return 2
    _, payload, salt, _ = split(content)
    (folder / "payload.json").write_bytes(payload)
    (folder / "salt").write_bytes(bytes.fromhex(salt.decode("ascii")))
    return 3
