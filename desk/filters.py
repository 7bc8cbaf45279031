"""Which entries of a chain somebody wants to see, and one page of them by number.

Pages go by number, not by count: a page costs the same however long the chain is.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Q, QuerySet
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from disputes.models import Dispute, Offer, Post
from ledger.kinds import Kind
from ledger.models import Entry
from parties.models import Sitter
from parties.paging import Marks
from shipments.models import FirstArticle, ListedSubmission, Lot, Submission, SubmissionList

A_PAGE = 50
LARGEST = 2**53
# Group → its words, and the nouns with which its kinds begin.
GROUPS: dict[str, tuple[str | Promise, frozenset[str]]] = {
    "people": (_("dossier, seats and people"), frozenset({"dossier", "seat", "sitter", "person"})),
    "signing": (
        _("keys, signatures and seals"),
        frozenset({"key", "signature", "seal", "document"}),
    ),
    "terms": (_("terms and agreement"), frozenset({"revision", "remark", "agreement"})),
    "references": (_("references and files"), frozenset({"reference", "chip", "file"})),
    "articles": (_("first articles"), frozenset({"article"})),
    "lots": (_("lots, evidence and verdicts"), frozenset({"lot", "submission", "verdict"})),
    "disputes": (
        _("disputes and settlements"),
        frozenset({"dispute", "examination", "post", "remedy", "settlement"}),
    ),
}


def kinds_of(group: str) -> list[str]:
    """The kinds of entries of a group."""
    nouns = GROUPS[group][1]
    return [kind.value for kind in Kind if kind.value.partition(".")[0] in nouns]


def filtered(entries: QuerySet[Entry], wanted: Mapping[str, Any], sitter: Sitter) -> Any:
    """The entries that fit what `desk.forms.TimelineForm` took in."""
    if group := wanted.get("group"):
        entries = entries.filter(kind__in=kinds_of(group))
    if number := wanted.get("about"):
        entries = entries.filter(subject__in=subjects_of(number, sitter))
    if side := wanted.get("side"):
        entries = entries.filter(side=side)
    if person := wanted.get("person"):
        entries = entries.filter(actor=person.strip().upper())
    if day := wanted.get("from_day"):
        entries = entries.filter(time__gte=_midnight(day))
    if day := wanted.get("to_day"):
        entries = entries.filter(time__lt=_midnight(day) + dt.timedelta(days=1))
    return entries


def subjects_of(number: str, sitter: Sitter) -> list[str]:
    """The subjects, as entries name them, of a lot or first article and all that hangs on it."""
    lots = list(Lot.objects.visible_to(sitter).filter(number=number))
    articles = list(FirstArticle.objects.visible_to(sitter).filter(number=number))
    handed = Submission.objects.visible_to(sitter)
    listed = ListedSubmission.objects.filter(
        Q(submission__lot__in=lots) | Q(submission__article__in=articles)
    )
    hanging = [
        handed.filter(lot__in=lots),
        handed.filter(article__in=articles),
        SubmissionList.objects.visible_to(sitter).filter(pk__in=listed.values("list")),
        Dispute.objects.visible_to(sitter).filter(lot__in=lots),
        Offer.objects.visible_to(sitter).filter(dispute__lot__in=lots),
        Post.objects.visible_to(sitter).filter(dispute__lot__in=lots),
    ]
    return [row.subject for rows in (lots, articles, *hanging) for row in rows]


@dataclass(frozen=True)
class Page(Marks):
    """Entries of one page, the latest first; marked by number."""

    entries: list[Entry] = field(default_factory=list, kw_only=True)


def page_of(entries: QuerySet[Entry], asked: Mapping[str, str]) -> Page:
    """One page by number: `before` or `after` an entry, or the latest; other values are ignored.

    Two queries, however many entries there are.
    """
    before, after = _number(asked.get("before")), _number(asked.get("after"))
    if after is not None and before is None:
        found = list(entries.filter(number__gt=after).order_by("number")[:A_PAGE])[::-1]
    else:
        rows = entries if before is None else entries.filter(number__lt=before)
        found = list(rows.order_by("-number")[:A_PAGE])
    low, high = (found[-1].number, found[0].number) if found else (before or 0, after or 0)
    beyond = entries.filter(number__lt=low) if found else entries.none()
    above = entries.filter(number__gt=high) if found else entries.none()
    return Page(
        low if beyond.exists() else None,
        high if above.exists() else None,
        entries=found,
        moved=before is not None or after is not None,
    )


def _number(text: str | None) -> int | None:
    if text is None or not (text.isascii() and text.isdigit()):
        return None
    number = int(text[:20])
    return number if number < LARGEST else None


def _midnight(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(), dt.UTC)
