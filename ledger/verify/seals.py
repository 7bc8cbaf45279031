"""Check 10: certificates that seal PDFs, and the sealed PDFs.

Which certificates seal a file, what it shows and how it grew is in the chain. The seals inside the
PDF are not judged here: any PDF tool does that.
"""

from __future__ import annotations

from typing import Any

from ledger.verify import certs
from ledger.verify.container import Container
from ledger.verify.entries import in_payload, is_given, payload_of
from ledger.verify.headers import Chain, read_header
from ledger.verify.keys import leaf, load
from ledger.verify.report import Refusal
from ledger.verify.roots import Root
from ledger.verify.strict import HEX, Fields, moment

CERTIFIED: Fields = {
    "organisation": str,
    "side": str,
    "certificate": str,
    "fingerprint": str,
    "issuer": str,
}
SEALED: Fields = {"what": str, "shows": str, "digest": str, "seals": list}
SEALED_OPTIONAL: Fields = {"revision": int, "continues": str}
INSTALLATION, OWN = "installation", "own"

Files = dict[str, tuple[int, int]]  # digest of a blob → start and size in the file


def seals(box: Container, chain: Chain, trusted: Root) -> None:
    """Check 10: each seal's certificate, and each sealed document's place in the record."""
    certified: set[str] = set()
    documents: dict[str, list[str]] = {}
    begun: set[tuple[str, str]] = set()  # pairs of files of which one begins with the other
    numbers = chain.of("seal.certified", "document.sealed")
    # In a part a certificate or an earlier file may be withheld: nothing is then judged by it.
    known = all(is_given(box, number) for number in chain.of("seal.certified"))
    every = all(is_given(box, number) for number in chain.of("document.sealed"))
    files = _files(box) if chain.of("document.sealed") else {}
    for number in numbers:
        if not is_given(box, number):
            continue
        header = read_header(box, number)
        if header["kind"] == "seal.certified":
            certified.add(_certificate(box, header, trusted))
        else:
            payload = payload_of(box, number, SEALED, SEALED_OPTIONAL)
            _document(box, header, payload, chain)
            _sealed_by(box, number, payload, certified if known else None)
            if every or payload.get("continues") in documents:
                _continues(box, number, payload, documents, files, begun)
            documents[payload["digest"]] = payload["seals"]


def _files(box: Container) -> Files:
    """Where each blob lies."""
    found: Files = {}
    for digest, _, start in box.each_blob(content=False):
        found[digest] = start, int.from_bytes(box.data[start - 82 : start - 78], "little")
    return found


def _certificate(box: Container, header: dict[str, Any], trusted: Root) -> str:
    """A seal's certificate: issued by the root and valid then, or a company's own."""
    number = header["number"]
    payload = payload_of(box, number, CERTIFIED, {})
    if payload["issuer"] not in (INSTALLATION, OWN):
        raise in_payload(box, number, "issuer", Refusal("seal.issuer", "no such issuer"))
    try:
        at = moment(header["time"])
        if payload["issuer"] == INSTALLATION:
            leaf(payload, at, trusted)
        else:
            certs.check_time(load(payload), at)
    except Refusal as refusal:
        raise in_payload(box, number, "certificate", refusal) from None
    return str(payload["fingerprint"])


def _document(
    box: Container, header: dict[str, Any], payload: dict[str, Any], chain: Chain
) -> None:
    """The PDF is among the entry's blobs; what it shows is a document of this chain."""
    number = header["number"]
    if payload["digest"] not in header["blobs"]:
        refusal = Refusal("seal.document", "the sealed file is not among the entry's blobs")
        raise in_payload(box, number, "digest", refusal)
    shows = payload["shows"]
    first = chain.named.get(bytes.fromhex(shows)) if HEX.fullmatch(shows) else None
    if first is None or first > number:
        refusal = Refusal("seal.shows", "no entry up to this one names what the file shows")
        raise in_payload(box, number, "shows", refusal)


def _sealed_by(
    box: Container, number: int, payload: dict[str, Any], certified: set[str] | None
) -> None:
    """Sealed at least once, each time by a certificate that was entered before."""
    prints = payload["seals"]
    message = ""
    if not prints or not all(type(one) is str for one in prints):
        message = "a sealed document names the certificates that seal it"
    elif certified is not None and not certified.issuperset(prints):
        message = "sealed by a certificate that was not entered before"
    if message:
        raise in_payload(box, number, "seals", Refusal("seal.unknown", message))


def _continues(
    box: Container,
    number: int,
    payload: dict[str, Any],
    documents: dict[str, list[str]],
    files: Files,
    begun: set[tuple[str, str]],
) -> None:
    """A file that continues another begins with all its bytes, and keeps its seals."""
    before = payload.get("continues")
    if before is None:
        return
    message = ""
    if before not in documents:
        message = "no sealed document of this digest was entered before"
    elif payload["seals"][: len(documents[before])] != documents[before]:
        message = "the seals of the document that it continues are not its first ones"
    elif (payload["digest"], before) not in begun and not _begins_with(
        box, files[payload["digest"]], files[before]
    ):
        message = "the file does not begin with the bytes of the one that it continues"
    begun.add((payload["digest"], before))
    if message:
        raise in_payload(box, number, "continues", Refusal("seal.continues", message))


def _begins_with(box: Container, file: tuple[int, int], before: tuple[int, int]) -> bool:
    (start, size), (begin, length) = file, before
    return size > length and box.data[start : start + length] == box.data[begin : begin + length]
