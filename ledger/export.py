"""Write a chain as a signed record: one zip in its one form (docs/record-format.md)."""

from __future__ import annotations

from typing import Any, BinaryIO

from ledger import blobs
from ledger.canonical import CanonicalError, canonical_bytes, parse
from ledger.chain import entries
from ledger.models import Entry
from ledger.statements import SignatureError, verify_checkpoint
from ledger.verify import container, zipform

PAGE = 2000


class ExportError(Exception):
    """A record that cannot be written; the message says why."""


def write_record(
    chain: str, out: BinaryIO, *, checkpoint: bytes, checkpoint_jws: str, root_der: bytes
) -> None:
    """Write the chain's entries up to the checkpoint, and every blob they name, to `out`.

    The same chain and checkpoint give the same bytes. Raises ExportError (checkpoint of another
    chain or not signed by the root, entries missing, more than 4 GiB) or blobs.BlobError.
    """
    signed = _checked(chain, checkpoint, checkpoint_jws, root_der)
    rows = entries(chain).filter(number__lte=signed["number"])
    named, last = _survey(rows)
    if last != (signed["number"], signed["hash"]):
        raise ExportError(f"the checkpoint does not fit entry {signed['number']} of chain {chain}")
    manifest = {
        "v": 1, "form": container.FORM, "chain": chain, "entries": last[0], "blobs": len(named),
    }  # fmt: skip
    writer = zipform.Writer(out)
    try:
        writer.add(container.MANIFEST, canonical_bytes(manifest))
        writer.add(container.ROOT, root_der)
        for entry in rows.iterator(chunk_size=PAGE):
            writer.add(container.entry_name(entry.number), entry_content(entry))
        for digest in sorted(named):
            writer.add(container.blob_name(digest), blobs.get(chain, digest))
        writer.add(container.CHECKPOINT, checkpoint)
        writer.add(container.CHECKPOINT_JWS, checkpoint_jws.encode("ascii"))
        writer.close()
    except OverflowError as error:
        raise ExportError(str(error)) from None


def entry_content(entry: Entry) -> bytes:
    """An entry as its member holds it: header, payload and salt in hex, one line each."""
    salt = bytes(entry.salt).hex().encode("ascii")
    return b"\n".join([bytes(entry.header_bytes), bytes(entry.payload_bytes), salt, b""])


def _checked(chain: str, checkpoint: bytes, jws: str, root_der: bytes) -> dict[str, Any]:
    try:
        signed: dict[str, Any] = parse(checkpoint)
        verify_checkpoint(root_der, checkpoint, jws)
    except (CanonicalError, SignatureError) as error:
        raise ExportError(f"the checkpoint does not hold: {error}") from None
    if signed["chain"] != chain:
        raise ExportError("the checkpoint is of another chain")
    return signed


def _survey(rows: Any) -> tuple[set[str], tuple[int, str]]:
    """Digests that the entries name, and the last entry's number and hash."""
    named: set[str] = set()
    last = (0, "")
    for entry in rows.iterator(chunk_size=PAGE):
        named.update(entry.blobs)
        last = (entry.number, entry.hash)
    return named, last
