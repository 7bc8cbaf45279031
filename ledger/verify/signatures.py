"""Check 9: signatures, each judged by the state of the chain and of the keys at its time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ledger.verify import certs, jws, passkeys
from ledger.verify.approvals import (
    Approvals,
    Told,
    approvals,
    check_all_signed,
    check_approval,
    check_what,
)
from ledger.verify.container import Container
from ledger.verify.entries import in_payload, is_given, payload_of
from ledger.verify.headers import Chain, hash_of, read_header
from ledger.verify.keys import PASSKEY, Key, Keys
from ledger.verify.report import Refusal
from ledger.verify.strict import HEX, Fields, is_time, moment, read_object

SIGNATURE: Fields = {"statement": str, "fingerprint": str}
PROOFS: Fields = {"jws": str, "passkey": dict}
STATEMENT_FIELDS: Fields = {
    "v": int,
    "chain": str,
    "what": str,
    "subject": str,
    "revision": (int, type(None)),
    "digest": str,
    "signer": str,
    "name": str,
    "organisation": str,
    "organisation_name": str,
    "side": str,
    "role": str,
    "intent": str,
    "nonce": str,
    "time": str,
    "head": dict,
    "keys": dict,
    "assurance": str,
}


@dataclass
class Signed:
    """What was signed by whom, and how many signatures of a part are withheld."""

    made: list[dict[str, Any]]
    withheld: int = 0


def signatures(box: Container, chain: Chain, keys: Keys) -> Signed:
    """Check 9: every signature that is given, and none missing that an entry tells of."""
    told = check_all_signed(box, chain)
    signed, nonces, entered = Signed([]), set[bytes](), approvals(box, chain)
    for number in chain.of("signature.made"):
        if not is_given(box, number):
            signed.withheld += 1
            continue
        signed.made.append(_signature(box, number, chain, keys, nonces, told, entered))
    return signed


def _signature(
    box: Container,
    number: int,
    chain: Chain,
    keys: Keys,
    nonces: set[bytes],
    told: Told,
    entered: Approvals,
) -> dict[str, Any]:
    header = read_header(box, number)
    payload = payload_of(box, number, SIGNATURE, PROOFS)
    text = payload["statement"].encode("utf-8", "surrogatepass")
    try:
        value = read_object(text, STATEMENT_FIELDS)
        _check_subject(value, header, chain)
        check_what(value, header, told)
        _check_head(box, value, header)
        key = _find_key(value, header, payload["fingerprint"], keys)
        _check_keys(value, keys, payload["fingerprint"])
        certs.check_time(key.certificate, moment(value["time"]))
    except Refusal as refusal:
        raise in_payload(box, number, "statement", refusal) from None
    if value["what"] == "article":
        check_approval(box, number, value["intent"], header, entered)
    _check_proof(box, number, payload, text, key)
    nonce = bytes.fromhex(value["nonce"])
    if nonce in nonces:
        again = Refusal("statement.nonce", "this statement's nonce was used before")
        raise in_payload(box, number, "statement", again)
    nonces.add(nonce)
    return _summary(number, value, key)


def _check_proof(
    box: Container, number: int, payload: dict[str, Any], text: bytes, key: Key
) -> None:
    """The one proof that this sort of key gives, over exactly these bytes."""
    given = [name for name in PROOFS if name in payload]
    wanted = "passkey" if key.assurance == PASSKEY else "jws"
    if given != [wanted]:
        refusal = Refusal("signature.proof", f"a {key.assurance} key signs by {wanted} alone")
        raise in_payload(box, number, given[0] if given else "statement", refusal)
    try:
        if key.credential is not None:
            passkeys.check(key.key, text, payload["passkey"], key.credential)
        else:
            jws.check(key.key, text, payload["jws"], jws.STATEMENT)
    except Refusal as refusal:
        raise in_payload(box, number, wanted, refusal) from None


def _check_subject(value: dict[str, Any], header: dict[str, Any], chain: Chain) -> None:
    """The statement belongs to this entry, and what it signs is in the record."""
    if value["v"] != 1:
        raise Refusal("statement.version", "a version this verifier does not know", field="v")
    pairs = (("chain", "chain"), ("subject", "subject"), ("signer", "actor"))
    same = (("organisation", "organisation"), ("side", "side"), ("role", "role"))
    for name, other in pairs + same:
        if value[name] != header[other]:
            raise Refusal(f"statement.{name}", f"differs from the entry's {other}", field=name)
    first = chain.first_under(value["subject"], value["digest"])
    if first is None or first > header["number"]:
        raise Refusal(
            "statement.digest", "no entry of this subject names what was signed", field="digest"
        )
    if not HEX.fullmatch(value["nonce"]):
        raise Refusal("statement.nonce", "the nonce is not 32 bytes in hex", field="nonce")


def _check_head(box: Container, value: dict[str, Any], header: dict[str, Any]) -> None:
    """The head that the signatory saw is an earlier entry; the times fit."""
    seen = value["head"]
    if set(seen) != {"number", "hash"} or type(seen["number"]) is not int:
        raise Refusal("statement.head", "head is not number and hash", field="head")
    if not 1 <= seen["number"] < header["number"]:
        raise Refusal("statement.head", "head is not an earlier entry", field="head")
    if seen["hash"] != hash_of(box, seen["number"]):
        raise Refusal("statement.head", "head has another hash in this chain", field="head")
    if not is_time(value["time"]):
        raise Refusal("statement.time", "not a time in UTC with microseconds", field="time")
    earlier = read_header(box, seen["number"])
    if not earlier["time"] <= value["time"] <= header["time"]:
        raise Refusal(
            "statement.time", "time is not between the head seen and the entry", field="time"
        )


def _find_key(value: dict[str, Any], header: dict[str, Any], fingerprint: str, keys: Keys) -> Key:
    """The key, certified in the chain before and not revoked, for this person on this side."""
    number = header["number"]
    key = keys.by_print.get(fingerprint)
    if key is None or key.number >= number:
        raise Refusal("signature.key", "no key with this fingerprint was certified before")
    if key.holder != (header["actor"], header["organisation"], header["side"]):
        raise Refusal("signature.person", "the key was certified for somebody else", field="signer")
    if key.revoked and key.revoked < number:
        raise Refusal(
            "signature.revoked", f"the key was revoked in entry {key.revoked}", field="signer"
        )
    if key.assurance != value["assurance"]:
        raise Refusal("statement.assurance", "differs from the key's", field="assurance")
    name, organisation = certs.names(key.certificate)
    if value["name"][: certs.NAME_LIMIT] != name:
        raise Refusal("statement.name", "differs from the certificate's", field="name")
    if value["organisation_name"][: certs.NAME_LIMIT] != organisation:
        raise Refusal(
            "statement.organisation_name", "differs from the certificate's",
            field="organisation_name",
        )  # fmt: skip
    return key


def _check_keys(value: dict[str, Any], keys: Keys, fingerprint: str) -> None:
    """The statement lists all keys that stood at the head it saw, among them its own."""
    if value["keys"] != keys.as_of(value["head"]["number"]):
        raise Refusal(
            "statement.keys", "not the keys certified and not revoked up to the head seen",
            field="keys",
        )  # fmt: skip
    if fingerprint not in value["keys"].get(value["side"], []):
        raise Refusal("statement.keys", "the signing key is not among the keys", field="keys")


def _summary(number: int, value: dict[str, Any], key: Key) -> dict[str, Any]:
    shown = ("what", "subject", "revision", "digest", "signer", "name", "organisation_name")
    more = ("side", "role", "intent", "assurance", "time")
    made = {"entry": number, **{name: value[name] for name in shown + more}}
    return made | {"fingerprint": key.fingerprint, "revoked_by_entry": key.revoked or None}
