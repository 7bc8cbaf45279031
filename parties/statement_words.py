"""A prepared statement in full words: everything that the signature will be over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from ledger.canonical import parse
from ledger.verify.approvals import said_in
from parties.chain_keys import chain_keys
from parties.models import Key, Role, Side
from parties.models.keys import ASSURANCES

WHAT = {
    "revision": _("a revision of the terms"),
    "article": _("a first article"),
    "submission": _("evidence handed in"),
    "submissions": _("a list of submissions"),
    "settlement": _("a settlement"),
}

# What the lead decides with the approval of a first article, behind the words of the intent.
DECIDED = {
    "quantity": _("Pieces at most"),
    "until": _("Until"),
    "seal": _("Seal numbers of the sealed pair"),
    "expires_on": _("The master expires on"),
    "note": _("Remark"),
}


@dataclass(frozen=True)
class Line:
    """One field of the statement; `code`: it is no language and shown as it stands."""

    label: str
    value: str
    code: bool = False


def in_words(chain: str, statement: bytes, key: Key) -> dict[str, Any]:
    """`lines` of the statement in its order, and `keys`: both sides' keys that it names, each with
    whose it is and whether it is the one that signs."""
    said = parse(statement)
    known = chain_keys(chain)
    sides = dict(Side.choices)
    keys = [
        {"side": sides.get(side, side), "key": known[one], "signs": one == key.fingerprint}
        for side, prints in sorted(said["keys"].items())
        for one in prints
    ]
    return {"lines": list(_lines(said)), "keys": keys}


def _lines(said: dict[str, Any]) -> list[Line]:
    sides, roles = dict(Side.choices), dict(Role.choices)
    signed = str(WHAT.get(said["what"], said["what"]))
    if said["what"] == "revision" and said["revision"] is not None:
        signed = gettext("revision %(number)s of the terms") % {"number": said["revision"]}
    elif said["revision"] is not None:
        signed = gettext("%(what)s, revision %(number)s of the terms") % {
            "what": signed,
            "number": said["revision"],
        }
    head = gettext("entry %(number)s, %(hash)s") % said["head"]
    lines = [
        Line(gettext("What is signed"), signed),
        Line(gettext("Name in the record"), said["subject"], code=True),
        Line(gettext("Digest (SHA-256)"), said["digest"], code=True),
        Line(gettext("Who signs"), f"{said['name']} ({said['signer']})"),
        Line(gettext("For"), f"{said['organisation_name']} ({said['organisation']})"),
        Line(gettext("On the side of"), str(sides.get(said["side"], said["side"]))),
        Line(gettext("As"), str(roles.get(said["role"], said["role"]))),
        *intent_lines(said["intent"]),
        Line(gettext("Assurance"), str(ASSURANCES.get(said["assurance"], said["assurance"]))),
        Line(gettext("Last entry that you have seen"), head, code=True),
        Line(gettext("Time"), said["time"], code=True),
        Line(gettext("Number used once"), said["nonce"], code=True),
        Line(gettext("Record"), said["chain"], code=True),
    ]
    return lines


def intent_lines(signed: str) -> list[Line]:
    """The words that are signed, beside them the same in the reader's language, and what stands
    behind them in brackets, field by field."""
    found = [Line(gettext("What it means"), signed)]
    if intent_words(signed) != signed:
        found.append(Line(gettext("In your language"), intent_words(signed)))
    return found + decided_lines(signed)


def decided_lines(signed: str) -> list[Line]:
    """What stands behind the words of an intent in brackets, field by field."""
    said = said_in(signed)
    return [Line(str(label), said[name]) for name, label in DECIDED.items() if name in said]


def intent_words(signed: str) -> str:
    """An intent in the reader's language; what stands behind it in brackets stays as signed."""
    words, bracket, rest = signed.partition(" [")
    return gettext(words) + bracket + rest


def bare_words(signed: str) -> str:
    """The same without what `decided_lines` tells field by field."""
    return gettext(signed.partition(" [")[0]) if said_in(signed) else intent_words(signed)
