"""Part of check 9: what the approval of a first article says, in its entry and as it was signed.

Behind the signature's words the limits, the seal, the master's last day and the remark stand in
brackets. The entry of the same act says them too: both must say the same. The form of the brackets
is fixed for good, see docs/record-format.md.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from ledger.verify.container import Container, entry_name
from ledger.verify.entries import in_payload, is_given, payload_of
from ledger.verify.headers import Chain, read_header
from ledger.verify.report import Refusal
from ledger.verify.strict import Fields

APPROVED = ("article.approved", "article.approved-with-limits")
# What a signature is of, by the kind of the entry that tells of it.
SIGNED = {
    **dict.fromkeys(APPROVED, "article"),
    "revision.signed": "revision",
    "settlement.agreed": "settlement",
}
FIELDS: Fields = {
    "digest": str,
    "quantity": int,
    "until": str,
    "seal": str,
    "expires_on": str,
    "note": str,
    "corrections": list,
    "facts": dict,
}
_TEXT = r'"(?:[^"\\]|\\.)*"'
_SAID = re.compile(
    r"(?:at most (?P<quantity>\d+) pieces(?:, |$))?"
    r"(?:until (?P<until>\d{4}-\d\d-\d\d)(?:, |$))?"
    rf"(?:seal numbers (?P<seal>{_TEXT})(?:, |$))?"
    r"(?:the master expires on (?P<expires_on>\d{4}-\d\d-\d\d)(?:, |$))?"
    rf"(?:remark (?P<note>{_TEXT}))?"
)


def said_with(words: str, payload: Mapping[str, Any]) -> str:
    """The intent of an approval whose entry has this payload: the words, and what it says behind
    them in brackets.

    Entries without `expires_on` are older: of them the limits alone were signed, or not even they.
    """
    said = []
    if payload.get("quantity"):
        said.append(f"at most {payload['quantity']} pieces")
    if payload.get("until"):
        said.append(f"until {payload['until']}")
    if payload.get("expires_on"):
        if payload.get("seal"):
            said.append(f"seal numbers {_quoted(payload['seal'])}")
        said.append(f"the master expires on {payload['expires_on']}")
        if payload.get("note"):
            said.append(f"remark {_quoted(payload['note'])}")
    return f"{words} [{', '.join(said)}]" if said else words


def said_in(intent: str) -> dict[str, str]:
    """What stands behind the words of an intent, by field of the entry; empty where nothing does,
    or something else."""
    _words, _bracket, rest = intent.partition(" [")
    found = _SAID.fullmatch(rest.removesuffix("]"))
    if not rest.endswith("]") or found is None:
        return {}
    said = {name: text for name, text in found.groupdict().items() if text is not None}
    try:
        return said | {name: json.loads(said[name]) for name in ("seal", "note") if name in said}
    except ValueError:
        return {}


Told = dict[tuple[str, str], set[str]]  # act and person → what the act's entries say was signed
Approvals = dict[tuple[str, str], list[int]]  # act and subject → entries, ascending


def approvals(box: Container, chain: Chain) -> Approvals:
    """The approvals of first articles, by the act that enters them."""
    found: Approvals = {}
    for number in chain.of(*APPROVED):
        header = read_header(box, number)
        found.setdefault((header["act"], header["subject"]), []).append(number)
    return found


def check_all_signed(box: Container, chain: Chain) -> Told:
    """What entries say was signed, approved or settled. Refusal where no signature of the same
    person stands in the same act. Headers alone tell it, of withheld entries too."""
    signed = {_act(read_header(box, number)) for number in chain.of("signature.made")}
    told: Told = {}
    for number in chain.of(*SIGNED):
        header = read_header(box, number)
        if _act(header) not in signed:
            message = "nobody signed what this entry says was signed"
            content, start = box.entry(number)
            refusal = Refusal("signature.missing", message, field="act")
            raise refusal.at(entry_name(number), start, len(content))
        told.setdefault(_act(header), set()).add(SIGNED[header["kind"]])
    return told


def check_what(value: Mapping[str, Any], header: Mapping[str, Any], told: Told) -> None:
    """Refusal unless a statement is of what the entries of the same act and person say, and says
    anything at all."""
    if not value["intent"].strip():
        raise Refusal("statement.intent", "nothing is said of what was agreed", field="intent")
    if value["what"] not in told.get(_act(header), {value["what"]}):
        message = "another sort of thing than the act's entries say was signed"
        raise Refusal("statement.what", message, field="what")


def _act(header: Mapping[str, Any]) -> tuple[str, str]:
    return header["act"], header["actor"]


def check_approval(
    box: Container, number: int, intent: str, header: Mapping[str, Any], entered: Approvals
) -> None:
    """Refusal unless the approval that entry `number` signs is the one that its act enters,
    wherever in the act that stands.

    A signature over a first article whose act enters no approval, or one that is not given, is
    judged by its statement alone.
    """
    for one in entered.get((header["act"], header["subject"]), ()):
        if not is_given(box, one):
            continue
        payload = payload_of(box, one, {}, FIELDS)
        words, _bracket, _rest = intent.partition(" [")
        older = intent == words and "expires_on" not in payload
        if intent != said_with(words, payload) and not older:
            message = f"not what entry {one} of the same act says of the approval"
            refusal = Refusal("statement.intent", message, field="intent")
            raise in_payload(box, number, "statement", refusal)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
