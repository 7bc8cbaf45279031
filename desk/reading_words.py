"""Entries of a reading log in words: which page or file it was, and of which thing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from agreements.models import Revision, TermsPaper
from desk.about import NAMED, Named, names_of, parts_in_words
from desk.acts import ACTS
from desk.timeline import Row, row_of
from ledger.kinds import Kind
from ledger.models import Entry
from parties.models import Reference, Sitter
from shipments.models import Verdict, VerdictPaper

Words = str | Promise
WHOLE = "whole"

# Pages by the names of their addresses. The first three are names under which earlier entries
# stand: what is logged is never renamed.
PAGES: dict[str, Words] = {
    "timeline": _("the timeline"),
    "entry": _("the page of entry %(entry)s"),
    "header": _("the header of entry %(entry)s, as a file"),
    "desk:timeline": _("the timeline"),
    "desk:entry": _("the page of entry %(entry)s"),
    "desk:entry-header": _("the header of entry %(entry)s, as a file"),
    "desk:record": _("the signed record, its copies"),
    "desk:copy": _("a copy of the record, its progress"),
    "desk:comparison": _("a checkpoint compared, what came of it"),
    "parties:people": _("who sits here"),
    "parties:references": _("the references"),
    "parties:reference": _("a reference"),
    "agreements:overview": _("the agreement's first page"),
    "agreements:revision": _("a revision of the terms"),
    "agreements:revision-check": _("a revision, its draft check"),
    "agreements:revision-redline": _("a revision, what changed"),
    "agreements:terms-json": _("the terms, as a file"),
    "agreements:paper": _("the terms, as a PDF"),
    "shipments:lots": _("the lots and first articles"),
    "shipments:lot": _("a lot"),
    "shipments:article": _("a first article"),
    "shipments:submission": _("evidence handed in, and its verdict"),
    "shipments:submission-document": _("the document of evidence handed in"),
    "shipments:evidence-file": _("a file of evidence handed in"),
    "shipments:verdict-document": _("the document of a verdict"),
    "shipments:paper": _("a verdict, as a PDF"),
    "shipments:lists": _("the lists of submissions"),
    "shipments:list": _("a list of submissions"),
    "shipments:list-document": _("the document of a list of submissions"),
    "disputes:disputes": _("the disputes"),
    "disputes:dispute": _("a dispute"),
    "disputes:beside": _("a dispute, both sides beside each other"),
    "disputes:post-file": _("a file of a statement"),
    "disputes:offer": _("an offer to settle"),
} | {f"desk:{act.url_name}": act.title for act in ACTS}
WAYS: dict[str, Words] = {
    "page": _("as a file from a page"),
    "mail": _("by mail"),
    "record": _("as a file, beside a copy of the record"),
}


def _revision(row: Any) -> str:
    return gettext("revision %(number)s") % {"number": row.number}


# Besides what entries of a dossier's chain are about.
READ: dict[str, Named] = {
    **NAMED,
    "revision": (Revision, (), _revision),
    "termspaper": (TermsPaper, ("revision",), lambda row: _revision(row.revision)),
    "reference": (Reference, (), str),
    "verdict": (
        Verdict,
        ("submission__lot", "submission__article"),
        lambda row: row.submission.what.number,
    ),
    "verdictpaper": (
        VerdictPaper,
        ("verdict__submission__lot", "verdict__submission__article"),
        lambda row: row.verdict.submission.what.number,
    ),
}


@dataclass(frozen=True)
class Reading:
    """One entry of the reading log in words: what of it, and up to which entry."""

    row: Row
    what: str


def readings(entries: Iterable[Entry], sitter: Sitter) -> list[Reading]:
    """Entries of a reading log in words; who did it stands there by code. Things are named as far
    as the sitter sees them: a guest's own are not."""
    found = list(entries)
    taken = (entry.payload for entry in found if entry.kind == Kind.RECORD_TAKEN)
    parts = parts_in_words((said["about"] for said in taken if said["form"] != WHOLE), sitter)
    names = parts | names_of((_thing(entry) for entry in found), sitter, READ, READ)
    return [Reading(row_of(entry, ""), _what(entry, names)) for entry in found]


def _thing(entry: Entry) -> str:
    """What the page was of, without which file or entry of it."""
    return "/".join(entry.subject.split("/")[:2])


def _what(entry: Entry, names: Mapping[str, str]) -> str:
    said, name = entry.payload, names.get(_thing(entry), "")
    if entry.kind == Kind.PAGE_READ:
        words = str(PAGES.get(said["page"], said["page"])) % {"entry": said.get("entry")}
        return f"{words}: {name}" if name else words
    if entry.kind == Kind.RECORD_TAKEN:
        if said["form"] == WHOLE:
            return gettext("whole, up to entry %(number)s") % said
        named = {**said, "about": names.get(said["about"], said["about"])}
        return gettext("a part about %(about)s, up to entry %(number)s") % named
    if entry.kind == Kind.CHECKPOINT_GIVEN:
        way = str(WAYS[said["by"]])
        words = gettext("of entry %(number)s, to %(to)s, %(way)s")
        return words % {"number": said["number"], "to": said["to"], "way": way}
    if entry.kind == Kind.CHECKPOINT_COMPARED:
        if said["outcome"] == "extended":
            return gettext("of entry %(number)s: the chain extends it") % said
        return gettext("of entry %(number)s: the chain does not extend it") % said
    return ""
