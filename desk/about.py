"""What an entry is about, in a few words: its lot, first article, revision or reference."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable, Iterable
from typing import Any

from django.utils.translation import gettext

from disputes.models import Dispute, Offer, Post
from ledger.erasure import Erased
from ledger.models import Entry
from parties.models import DossierRow, Sitter
from shipments.models import FirstArticle, Lot, Submission, SubmissionList, Verdict

SUBJECT = re.compile(r"([a-z]+)/([0-9a-f-]{36})")
# Noun of a subject → its rows, what to join, and the lot's or article's number.
NAMED: dict[str, tuple[type[DossierRow], tuple[str, ...], Callable[[Any], str]]] = {
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
    subjects: Iterable[str], sitter: Sitter, nouns: Iterable[str] = tuple(NAMED)
) -> dict[str, str]:
    """The lot's or article's number by subject, of what the sitter sees; one query a noun."""
    parts = [part for subject in subjects if (part := SUBJECT.fullmatch(subject))]
    names: dict[str, str] = {}
    for noun in nouns:
        model, joined, name = NAMED[noun]
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
    number = payload.get("number", payload.get("revision"))
    if isinstance(number, int):
        return gettext("revision %(number)s") % {"number": number}
    said = payload.get("name")
    return said if isinstance(said, str) else ""
