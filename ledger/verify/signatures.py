"""Checks 3, 4, 8 and 9: the root, the checkpoint, certified keys, and signatures."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec

from ledger.verify import certs, jws
from ledger.verify.container import CHECKPOINT, CHECKPOINT_JWS, ROOT, Container
from ledger.verify.entries import Chain, in_payload, payload_of, split
from ledger.verify.report import Refusal
from ledger.verify.strict import b64, hex_digest, in_field, is_time, moment, read_json, read_object

CHECKPOINT_FIELDS: dict[str, type | tuple[type, ...]] = {
    "v": int,
    "chain": str,
    "number": int,
    "hash": str,
    "time": str,
    "root": str,
}
CERTIFIED_FIELDS: dict[str, type | tuple[type, ...]] = {
    "person": str,
    "organisation": str,
    "side": str,
    "certificate": str,
    "fingerprint": str,
    "assurance": str,
}
SIGNATURE_FIELDS: dict[str, type | tuple[type, ...]] = {
    "statement": str,
    "jws": str,
    "fingerprint": str,
}
STATEMENT_FIELDS: dict[str, type | tuple[type, ...]] = {
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
class Root:
    """The root of the record: its certificate, key and fingerprint."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePublicKey
    fingerprint: str


@dataclass
class Key:
    """A key that was certified in the chain."""

    number: int
    person: str
    organisation: str
    side: str
    assurance: str
    certificate: x509.Certificate
    key: ec.EllipticCurvePublicKey


@dataclass
class Keys:
    """All certified keys by fingerprint, and the nonces and signatures seen so far."""

    by_print: dict[str, list[Key]] = field(default_factory=dict)
    nonces: set[str] = field(default_factory=set)

    def as_of(self, number: int) -> dict[str, list[str]]:
        """Per side the fingerprints certified up to an entry, sorted."""
        result: dict[str, set[str]] = {}
        for fingerprint, keys in self.by_print.items():
            for key in keys:
                if key.number <= number:
                    result.setdefault(key.side, set()).add(fingerprint)
        return {side: sorted(prints) for side, prints in result.items()}


def root(box: Container, expected: str | None) -> Root:
    """Check 3: the root is a well-formed authority, and the one that the reader named."""
    der, start = box.named(ROOT)
    fingerprint = jws.sha256(der)
    try:
        if expected is not None and fingerprint != expected:
            raise Refusal("root.fingerprint", f"the record's root is {fingerprint}, another one")
        certificate = certs.load(der)
        return Root(certificate, certs.check_root(certificate), fingerprint)
    except Refusal as refusal:
        raise refusal.at(ROOT, start, len(der)) from None


def checkpoint(box: Container, trusted: Root) -> dict[str, Any]:
    """Check 4: the root signed a head of this chain, at the number of the last entry."""
    data, start = box.named(CHECKPOINT)
    try:
        value = read_object(data, CHECKPOINT_FIELDS)
        hex_digest(data, value, "hash")
        _check_checkpoint(data, value, box, trusted)
        certs.check_time(trusted.certificate, moment(value["time"]))
    except Refusal as refusal:
        raise refusal.at(CHECKPOINT, start, len(data)) from None
    signature, start = box.named(CHECKPOINT_JWS)
    try:
        jws.check(trusted.key, data, signature.decode("ascii", "replace"), jws.CHECKPOINT)
    except Refusal as refusal:
        raise refusal.at(CHECKPOINT_JWS, start, len(signature)) from None
    return value


def _check_checkpoint(data: bytes, value: dict[str, Any], box: Container, trusted: Root) -> None:
    if value["v"] != 1:
        raise in_field(data, "v", "checkpoint.version", "a version this verifier does not know")
    if value["chain"] != box.manifest["chain"]:
        raise in_field(data, "chain", "checkpoint.chain", "checkpoint of another chain")
    if value["number"] != box.entries:
        raise in_field(
            data, "number", "checkpoint.number", "checkpoint names another last entry"
        )  # fmt: skip
    if value["root"] != trusted.fingerprint:
        raise in_field(data, "root", "checkpoint.root", "checkpoint names another root")
    if not is_time(value["time"]):
        raise in_field(data, "time", "checkpoint.time", "not a time in UTC with microseconds")


def head(box: Container, chain: Chain, signed: dict[str, Any]) -> None:
    """End of check 5: the last entry is the one in the checkpoint, and not later than it."""
    data, start = box.named(CHECKPOINT)
    content, _ = box.entry(box.entries)
    last = read_json(split(content)[0])
    refusal = None
    if chain.hash_of(box.entries) != signed["hash"]:
        refusal = in_field(
            data, "hash", "checkpoint.hash", "the last entry is not the one that the root signed"
        )
    elif signed["time"] < last["time"]:
        refusal = in_field(data, "time", "checkpoint.time", "checkpoint is older than its entry")
    if refusal is not None:
        raise refusal.at(CHECKPOINT, start, len(data))


def certified(box: Container, chain: Chain, trusted: Root) -> Keys:
    """Check 8: every certified key has a certificate that the root issued, valid at that time."""
    keys = Keys()
    for number, header in chain.kept.items():
        if header["kind"] != "key.certified":
            continue
        payload = payload_of(box, number, CERTIFIED_FIELDS)
        try:
            der = b64(payload["certificate"])
            if jws.sha256(der) != payload["fingerprint"]:
                raise Refusal("certificate.fingerprint", "fingerprint is not the certificate's")
            certificate = certs.load(der)
            key = certs.check_leaf(trusted.certificate, certificate, moment(header["time"]))
        except Refusal as refusal:
            raise in_payload(box, number, "certificate", refusal) from None
        keys.by_print.setdefault(payload["fingerprint"], []).append(
            Key(
                number,
                payload["person"],
                payload["organisation"],
                payload["side"],
                payload["assurance"],
                certificate,
                key,
            )
        )
    return keys


def signatures(box: Container, chain: Chain, keys: Keys) -> list[dict[str, Any]]:
    """Check 9: every signature; returns what was signed by whom."""
    made = []
    for number, header in chain.kept.items():
        if header["kind"] != "signature.made":
            continue
        payload = payload_of(box, number, SIGNATURE_FIELDS)
        text = payload["statement"].encode("utf-8", "surrogatepass")
        try:
            value = read_object(text, STATEMENT_FIELDS)
            _check_subject(value, header, chain, number)
            _check_head(box, value, header, chain, number)
            key = _find_key(value, header, payload["fingerprint"], keys, number)
            _check_keys(value, keys, payload["fingerprint"])
            certs.check_time(key.certificate, moment(value["time"]))
        except Refusal as refusal:
            raise in_payload(box, number, "statement", refusal) from None
        try:
            jws.check(key.key, text, payload["jws"], jws.STATEMENT)
        except Refusal as refusal:
            raise in_payload(box, number, "jws", refusal) from None
        if value["nonce"] in keys.nonces:
            again = Refusal("statement.nonce", "this statement's nonce was used before")
            raise in_payload(box, number, "statement", again)
        keys.nonces.add(value["nonce"])
        made.append(_summary(number, value))
    return made


def _check_subject(
    value: dict[str, Any], header: dict[str, Any], chain: Chain, number: int
) -> None:
    """The statement belongs to this entry, and what it signs is in the record."""
    if value["v"] != 1:
        raise Refusal("statement.version", "a version this verifier does not know", field="v")
    pairs = (("chain", "chain"), ("subject", "subject"), ("signer", "actor"))
    same = (("organisation", "organisation"), ("side", "side"), ("role", "role"))
    for name, other in pairs + same:
        if value[name] != header[other]:
            raise Refusal(f"statement.{name}", f"differs from the entry's {other}", field=name)
    first = chain.under.get((value["subject"], value["digest"]))
    if first is None or first > number:
        raise Refusal(
            "statement.digest", "no entry of this subject names what was signed", field="digest"
        )
    if len(value["nonce"]) != 64 or set(value["nonce"]) - set("0123456789abcdef"):
        raise Refusal("statement.nonce", "the nonce is not 32 bytes in hex", field="nonce")


def _check_head(
    box: Container, value: dict[str, Any], header: dict[str, Any], chain: Chain, number: int
) -> None:
    """The head that the signatory saw is an earlier entry; the times fit."""
    seen = value["head"]
    if set(seen) != {"number", "hash"} or type(seen["number"]) is not int:
        raise Refusal("statement.head", "head is not number and hash", field="head")
    if not 1 <= seen["number"] < number:
        raise Refusal("statement.head", "head is not an earlier entry", field="head")
    if seen["hash"] != chain.hash_of(seen["number"]):
        raise Refusal("statement.head", "head has another hash in this chain", field="head")
    if not is_time(value["time"]):
        raise Refusal("statement.time", "not a time in UTC with microseconds", field="time")
    earlier = read_json(split(box.entry(seen["number"])[0])[0])
    if not earlier["time"] <= value["time"] <= header["time"]:
        raise Refusal(
            "statement.time", "time is not between the head seen and the entry", field="time"
        )


def _find_key(
    value: dict[str, Any], header: dict[str, Any], fingerprint: str, keys: Keys, number: int
) -> Key:
    """The key, certified in the chain before, for this person on this side."""
    found = [key for key in keys.by_print.get(fingerprint, []) if key.number < number]
    if not found:
        raise Refusal("signature.key", "no key with this fingerprint was certified before")
    for key in found:
        if (key.person, key.organisation, key.side) == (
            header["actor"],
            header["organisation"],
            header["side"],
        ):
            break
    else:
        raise Refusal("signature.person", "the key was certified for somebody else", field="signer")
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
    """The statement lists all keys certified up to the head it saw, among them its own."""
    if value["keys"] != keys.as_of(value["head"]["number"]):
        raise Refusal("statement.keys", "not the keys certified up to the head seen", field="keys")
    if fingerprint not in value["keys"].get(value["side"], []):
        raise Refusal("statement.keys", "the signing key is not among the keys", field="keys")


def _summary(number: int, value: dict[str, Any]) -> dict[str, Any]:
    shown = ("what", "subject", "revision", "digest", "signer", "name", "organisation_name")
    more = ("side", "role", "intent", "assurance", "time")
    return {"entry": number, **{name: value[name] for name in shown + more}}
