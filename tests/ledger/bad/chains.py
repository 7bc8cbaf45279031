"""Tricks with the chain, its checkpoint and its root."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

from ledger import certificates, clock
from ledger.canonical import canonical_bytes
from tests.ledger import plain as make
from tests.ledger.bad.contents import swapped
from tests.ledger.bad.trick import Made, made, refused_by
from tests.ledger.forge import Forgery


def forged(change: Callable[[Forgery], object], *, signed: bool) -> Made:
    """A good record with its parts changed; `signed`: its root signs the new head as well."""
    plain, _, _ = make.signed()
    forgery = plain.forgery()
    change(forgery)
    return made(plain, forgery.build(plain.root_key if signed else None))


@refused_by("payload.commitment")
def another_payload_under_the_same_header() -> Made:
    return swapped("entries/000011", lambda data: data.replace(b'"quantity":10', b'"quantity":99'))


@refused_by("checkpoint.hash")
def a_payload_edited_and_every_hash_made_again() -> Made:
    def change(forgery: Forgery) -> None:
        forgery.entries[10].say(lambda lot: lot.update(quantity=1000))

    return forged(change, signed=False)


@refused_by("header.previous")
def a_header_edited_alone() -> Made:
    return swapped("entries/000005", lambda data: data.replace(b'"ORG-C"', b'"ORG-X"', 1))


@refused_by("header.number")
def entries_reordered_within_their_members() -> Made:
    plain, _, _ = make.signed()
    forgery = plain.forgery()
    lines = [
        b"\n".join([canonical_bytes(one.header), one.payload, one.salt.hex().encode(), b""])
        for one in forgery.entries
    ]
    lines[3], lines[4] = lines[4], lines[3]
    checkpoint = canonical_bytes(forgery.checkpoint)
    return made(plain, forgery.assemble(lines, checkpoint, forgery.signature.encode()))


@refused_by("checkpoint.number")
def last_entries_removed() -> Made:
    return forged(lambda forgery: forgery.entries.pop(), signed=False)


@refused_by("checkpoint.number")
def an_entry_added_after_the_checkpoint() -> Made:
    return forged(lambda forgery: forgery.entries.append(forgery.entries[-1]), signed=False)


@refused_by("header.time")
def time_that_goes_back() -> Made:
    def change(forgery: Forgery) -> None:
        forgery.entries[5].header["time"] = "2026-03-03T08:00:00.000000Z"

    return forged(change, signed=True)


@refused_by("header.time")
def a_day_that_does_not_exist() -> Made:
    def change(forgery: Forgery) -> None:
        for entry in forgery.entries[5:]:
            entry.header["time"] = "2026-04-31T08:00:00.000000Z"

    return forged(change, signed=True)


@refused_by("header.chain")
def an_entry_of_another_chain() -> Made:
    return forged(lambda forgery: forgery.entries[5].header.update(chain="other"), signed=True)


@refused_by("field.unknown")
def a_header_that_says_more() -> Made:
    return forged(lambda forgery: forgery.entries[5].header.update(approved=1), signed=True)


@refused_by("header.blobs")
def blobs_named_twice() -> Made:
    def change(forgery: Forgery) -> None:
        entry = next(one for one in forgery.entries if one.header["blobs"])
        entry.header["blobs"] = entry.header["blobs"] * 2

    return forged(change, signed=True)


@refused_by("checkpoint.chain")
def a_checkpoint_of_another_chain() -> Made:
    return forged(lambda forgery: forgery.checkpoint.update(chain="other"), signed=True)


@refused_by("checkpoint.time")
def a_checkpoint_older_than_its_entry() -> Made:
    return forged(
        lambda forgery: forgery.checkpoint.update(time="2026-03-03T08:01:00.000000Z"), signed=True
    )


@refused_by("jws.signature")
def a_checkpoint_signed_by_somebody_else() -> Made:
    plain, _, _ = make.signed()
    return made(plain, plain.forgery().build(certificates.new_key()))


@refused_by("root.fingerprint")
def everything_under_a_root_of_the_forgers_own() -> Made:
    plain, _, _ = make.signed()
    other, _, _ = make.signed()
    return Made(other.record(), plain.fingerprint)


@refused_by("certificate.signature")
def a_planted_second_root() -> Made:
    plain = make.opened()
    with clock.fixed(make.START):
        other = certificates.make_root(demo=True)
    plain.certify(make.BO, "browser-held", root=other)
    return made(plain)


@refused_by("root.issuer")
def a_signatorys_certificate_as_the_root() -> Made:
    plain = make.opened()
    leaf = plain.certify(make.ADA).certificate
    forgery = plain.forgery()
    forgery.root = leaf
    fingerprint = hashlib.sha256(leaf).hexdigest()
    forgery.checkpoint["root"] = fingerprint
    return Made(forgery.build(plain.root_key), fingerprint)


@refused_by("entry.withheld")
def a_payload_withheld_from_a_whole_record() -> Made:
    return forged(lambda forgery: forgery.words.update({11: "withheld"}), signed=True)


def erased(number: int, *, said: int | None, told: bool, who: str = "S-2") -> Made:
    """A whole record with one payload erased; `said`: by the manifest; `told`: in the chain, of
    `who`."""
    plain, _, _ = make.signed()
    if told:
        plain.add(make.ADA, "person.erased", f"person:{who}", {"person": who})
    forgery = plain.forgery()
    forgery.words[number] = "erased"
    if said is not None:
        forgery.manifest["erased"] = said
    return made(plain, forgery.build(plain.root_key))


@refused_by("entry.erased")
def an_erased_entry_of_which_the_manifest_does_not_speak() -> Made:
    return erased(15, said=None, told=True)


@refused_by("manifest.erased")
def fewer_erased_entries_than_said() -> Made:
    return erased(15, said=2, told=True)


@refused_by("entry.erased")
def an_erased_entry_of_which_the_chain_does_not_tell() -> Made:
    return erased(15, said=1, told=False)


@refused_by("entry.erased")
def a_lot_said_to_be_erased() -> Made:
    return erased(11, said=1, told=True)


@refused_by("entry.erased")
def an_erasure_that_is_told_of_somebody_else() -> Made:
    return erased(15, said=1, told=True, who="S-1")


@refused_by("entry.erased")
def a_lot_that_a_person_of_its_name_erased() -> Made:
    plain, _, _ = make.signed()
    plain.add(make.ADA, "person.erased", make.LOT, {"person": "S-2"})
    forgery = plain.forgery()
    forgery.words[11] = "erased"
    forgery.manifest["erased"] = 1
    return made(plain, forgery.build(plain.root_key))


@refused_by("entry.erased")
def an_erased_signature() -> Made:
    return erased(9, said=1, told=True)


@refused_by("entry.erased")
def an_erased_key() -> Made:
    return erased(7, said=1, told=True)
