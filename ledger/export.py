"""Write a chain as a signed record: one zip in its one form (docs/record-format.md).

Form "whole" gives every payload but those that were erased. Form "part", about one thing, has every
header too, so that order and place of each entry are proved, and gives the payloads of some entries
only; which, is decided above the ledger (`full`).
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Any, BinaryIO

from ledger import blobs, erasure
from ledger.canonical import CanonicalError, canonical_bytes, parse
from ledger.chain import entries
from ledger.erasable import NEVER_WITHHELD
from ledger.models import Entry, PersonalKey
from ledger.statements import SignatureError, verify_checkpoint
from ledger.verify import container, zipform

PAGE = 2000
WHOLE, PART = "whole", "part"
WITHHELD, ERASED = b"withheld", b"erased"

Full = Collection[int] | Callable[[Entry], bool]


class ExportError(Exception):
    """A record that cannot be written; the message says why."""


@dataclass(frozen=True)
class _Scope:
    """What of a chain is written: about what (None: the whole chain), and which payloads."""

    about: str | None
    full: Full
    keys: dict[str, PersonalKey]  # as they were when the writing began

    def asks_for(self, entry: Entry) -> bool:
        """Whether the payload is to be given, as far as it can still be read."""
        if self.about is None or entry.kind in NEVER_WITHHELD:
            return True
        return self.full(entry) if callable(self.full) else entry.number in self.full

    def is_erased(self, entry: Entry) -> bool:
        """Whether the payload was written under a key that was destroyed."""
        key = None if entry.personal is None else self.keys.get(entry.personal)
        return key is not None and key.sealed is None

    def content(self, entry: Entry) -> bytes:
        """The entry's member: three lines, or the header and why there is no more."""
        header = bytes(entry.header_bytes)
        if not self.asks_for(entry):
            return b"\n".join([header, WITHHELD, b""])
        if self.is_erased(entry):
            return b"\n".join([header, ERASED, b""])
        if entry.personal is not None:
            entry.personal_key = self.keys.get(entry.personal)
        return entry_content(entry)


@dataclass
class _Survey:
    """What the manifest says beforehand: digests that follow, erased entries, the last entry."""

    named: set[str]
    erased: int = 0
    last: tuple[int, str] = (0, "")
    told: bool = False  # whether an entry is about what a part is about


def write_record(
    chain: str,
    out: BinaryIO,
    *,
    checkpoint: bytes,
    checkpoint_jws: str,
    root_der: bytes,
    about: str | None = None,
    full: Full = (),
) -> None:
    """Write the chain's entries up to the checkpoint, and the blobs that belong to them, to `out`.

    about: the subject of a part, which then gives the payloads that `full` names (by number, or by
    a predicate) and those never withheld, and the blobs that these entries name. The same chain,
    checkpoint and part give the same bytes, as long as nothing is erased. Raises ExportError
    (checkpoint of another chain or not signed by the root, entries missing, nothing about the
    subject, more than 4 GiB), blobs.BlobError, or erasure.ErasableError where a key does not open
    what lies under it.
    """
    signed = _checked(chain, checkpoint, checkpoint_jws, root_der)
    rows = entries(chain).filter(number__lte=signed["number"])
    scope = _Scope(about, full, erasure.keys_of(chain))
    survey = _survey(rows, scope)
    if survey.last != (signed["number"], signed["hash"]):
        raise ExportError(f"the checkpoint does not fit entry {signed['number']} of chain {chain}")
    if about is not None and not survey.told:
        raise ExportError(f"no entry that is given in full is about {about}")
    writer = zipform.Writer(out)
    try:
        writer.add(container.MANIFEST, _manifest(chain, scope, survey))
        writer.add(container.ROOT, root_der)
        for entry in rows.iterator(chunk_size=PAGE):
            writer.add(container.entry_name(entry.number), scope.content(entry))
        for digest in sorted(survey.named):
            writer.add(container.blob_name(digest), blobs.get(chain, digest))
        writer.add(container.CHECKPOINT, checkpoint)
        writer.add(container.CHECKPOINT_JWS, checkpoint_jws.encode("ascii"))
        writer.close()
    except OverflowError as error:
        raise ExportError(str(error)) from None


def entry_content(entry: Entry) -> bytes:
    """An entry as its member holds it in full: header, payload and salt in hex, one line each.

    Raises as `erasure.clear` does.
    """
    payload, salt = erasure.clear(entry)
    return b"\n".join([bytes(entry.header_bytes), payload, salt.hex().encode("ascii"), b""])


def _manifest(chain: str, scope: _Scope, survey: _Survey) -> bytes:
    """`about` stands in a part only; `erased` in a whole only, and only where something is."""
    manifest: dict[str, Any] = {
        "v": 1,
        "form": WHOLE if scope.about is None else PART,
        "chain": chain,
        "entries": survey.last[0],
        "blobs": len(survey.named),
    }
    if scope.about is not None:
        manifest["about"] = scope.about
    elif survey.erased:
        manifest["erased"] = survey.erased
    return canonical_bytes(manifest)


def _checked(chain: str, checkpoint: bytes, jws: str, root_der: bytes) -> dict[str, Any]:
    try:
        signed: dict[str, Any] = parse(checkpoint)
        verify_checkpoint(root_der, checkpoint, jws)
    except (CanonicalError, SignatureError) as error:
        raise ExportError(f"the checkpoint does not hold: {error}") from None
    if signed["chain"] != chain:
        raise ExportError("the checkpoint is of another chain")
    return signed


def _survey(rows: Any, scope: _Scope) -> _Survey:
    """Blobs of entries that are given; an erasable entry names none."""
    found = _Survey(set())
    for entry in rows.iterator(chunk_size=PAGE):
        found.last = (entry.number, entry.hash)
        if not scope.asks_for(entry):
            continue
        found.named.update(entry.blobs)
        found.erased += scope.is_erased(entry)
        found.told = found.told or entry.subject == scope.about
    return found
