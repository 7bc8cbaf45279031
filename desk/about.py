"""What an entry is about, in a few words: its lot, first article, revision or reference."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from django.utils.translation import gettext

from desk.payload import TABLES, short_code
from disputes.models import Dispute, Offer, Post
from ledger.canonical import parse
from ledger.erasure import Erased
from ledger.kinds import Kind
from ledger.models import Entry
from parties.models import DossierRow, Sitter
from shipments.models import FirstArticle, Lot, Submission, SubmissionList, Verdict

SUBJECT = re.compile(r"([a-z]+)/([0-9a-f-]{36})")
# Noun of a subject → its rows, what to join, and the lot's or article's number.
Named = tuple[type[DossierRow], tuple[str, ...], Callable[[Any], str]]
NAMED: dict[str, Named] = {
    "lot": (Lot, (), lambda row: row.number),
    "article": (FirstArticle, (), lambda row: row.number),
    "submission": (Submission, ("lot", "article"), lambda row: row.what.number),
    "submissions": (SubmissionList, (), str),
    "dispute": (Dispute, ("lot",), lambda row: row.lot.number),
    "settlement": (Offer, ("dispute__lot",), lambda row: row.dispute.lot.number),
    "post": (Post, ("dispute__lot",), lambda row: row.dispute.lot.number),
}
# An empty list would leave its query out, and a page's number of queries hang on what it shows.
NOBODY = uuid.UUID(int=0)


def about(entries: Iterable[Entry], sitter: Sitter) -> dict[int, str]:
    """Words by number of the entry; one query for each sort of thing, however many entries."""
    found = list(entries)
    names = names_of((entry.subject for entry in found), sitter)
    return {entry.number: _words(entry, names.get(entry.subject, "")) for entry in found}


def names_of(
    subjects: Iterable[str],
    sitter: Sitter,
    nouns: Iterable[str] = tuple(NAMED),
    table: Mapping[str, Named] = NAMED,
) -> dict[str, str]:
    """The lot's or article's number by subject, of what the sitter sees; one query a noun."""
    parts = [part for subject in subjects if (part := SUBJECT.fullmatch(subject))]
    names: dict[str, str] = {}
    for noun in nouns:
        model, joined, name = table[noun]
        keys = [part[2] for part in parts if part[1] == noun]
        rows = model.objects.visible_to(sitter).filter(pk__in=[NOBODY, *keys])
        rows = rows.select_related(*joined) if joined else rows
        names |= {f"{noun}/{row.pk}": name(row) for row in rows}
    return names


def parts_in_words(subjects: Iterable[str], sitter: Sitter) -> dict[str, str]:
    """What parts of the record are about, by subject: two queries, however many."""
    words = {"lot": gettext("lot %(number)s"), "dispute": gettext("dispute about lot %(number)s")}
    return {
        subject: words[subject.partition("/")[0]] % {"number": number}
        for subject, number in names_of(subjects, sitter, words).items()
    }


def _words(entry: Entry, name: str) -> str:
    try:
        payload = entry.payload
    except Erased as erased:
        day = f"{erased.at:%Y-%m-%d}" if erased.at else "–"
        return gettext("erased on %(day)s") % {"day": day}
    if name:
        outcome = dict(Verdict.Outcome.choices).get(payload.get("outcome", ""))
        return f"{name}: {outcome}" if outcome else name
    if entry.kind in PEOPLE:
        return PEOPLE[entry.kind](payload)
    if entry.kind == Kind.SIGNATURE_MADE:
        payload = {"revision": parse(payload["statement"].encode())["revision"]}
    number = payload.get("number", payload.get("revision"))
    if isinstance(number, int):
        return gettext("revision %(number)s") % {"number": number}
    said = payload.get("name")
    return said if isinstance(said, str) else ""


def _key(payload: Mapping[str, Any]) -> str:
    """Whose key (a seal is a firm's), and the beginning of its fingerprint, as on other pages."""
    whose = payload.get("person", payload["organisation"])
    facts = {"person": whose, "key": short_code(payload["fingerprint"])}
    return gettext("%(person)s, key %(key)s") % facts


def _sitter(payload: Mapping[str, Any]) -> str:
    """The code of the person, and the role where it is said."""
    role = payload.get("role")
    words = [payload["person"], *([str(TABLES["role"].get(role, role))] if role else [])]
    return ", ".join(words)


def _seat_end(payload: Mapping[str, Any]) -> str:
    """Whose seat, and its last day."""
    side = TABLES["side"].get(payload["side"], payload["side"])
    facts = {"code": payload["organisation"], "side": side, "day": payload["until"]}
    if payload["until"] is None:
        return gettext("seat of %(code)s (%(side)s): no end") % facts
    return gettext("seat of %(code)s (%(side)s): until %(day)s") % facts


# Entries about people, their keys and seats: by codes, as everywhere in a chain.
PEOPLE: dict[str, Callable[[Mapping[str, Any]], str]] = {
    Kind.SITTER_SEATED: _sitter,
    Kind.SITTER_UNSEATED: _sitter,
    Kind.KEY_CERTIFIED: _key,
    Kind.KEY_REVOKED: _key,
    Kind.SEAL_CERTIFIED: _key,
    Kind.SEAT_LIMITED: _seat_end,
    Kind.PERSON_ERASED: _sitter,
}
