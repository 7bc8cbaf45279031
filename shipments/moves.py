"""Whose move it is about a lot or a first article; which states ask whom stands in `due`."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from parties.models import Side
from parties.whose_move import BOTH, NOBODY, SUPPLIER, Move
from shipments.due import ARTICLES, LOTS
from shipments.models import FirstArticle, Lot, Verdict

WORDS: dict[str, str | Promise] = {
    "decide": _("decide on the first article."),
    "decide_unsigned": _("the supplier's lead signs the evidence, the customer decides."),
    "correct": _("correct the first article and submit it again."),
    "prepare": _("submit the first article."),
    "hand_in": _("hand in the evidence."),
    "release": _("release the lot."),
    "sign": _("sign the evidence, as clause 8 asks, then release the lot."),
    "again": _("hand in again, or withdraw the lot."),
    "receive": _("confirm receipt."),
    "accept": _("accept or reject the lot."),
}
RESTING: dict[str, str | Promise] = {
    FirstArticle.Status.APPROVED: _("the first article is approved."),
    FirstArticle.Status.APPROVED_WITH_LIMITS: _("the first article is approved with limits."),
    Lot.Status.SUBMITTED: _("the evidence is being judged."),
    Lot.Status.ACCEPTED: _("the lot is accepted."),
    Lot.Status.REJECTED: _("the lot is rejected; its dispute says what comes next."),
    Lot.Status.CLOSED: _("the lot is closed."),
    Lot.Status.WITHDRAWN: _("the lot is withdrawn."),
}


def article_move(article: FirstArticle, *, unsigned: bool) -> Move:
    """The move that a first article asks for; `unsigned`: a signature of clause 8 is missing."""
    move = _move(ARTICLES, article.status)
    if move.id == "decide" and unsigned:
        return _told("decide_unsigned", BOTH)
    return move


def lot_move(lot: Lot, *, outcome: str, unsigned: bool) -> Move:
    """The move that a lot asks for after its last verdict (`outcome`, empty: none yet)."""
    move = _move(LOTS, lot.status)
    if move.id == "release" and outcome != Verdict.Outcome.CONFORMING:
        return _told("again", SUPPLIER)
    if move.id == "release" and unsigned:
        return _told("sign", SUPPLIER)
    return move


def _move(table: Mapping[tuple[Side, str], str], status: str) -> Move:
    asked = {str(side): what for (side, at), what in table.items() if at == status}
    if not asked:
        return Move("none", NOBODY, RESTING[status], RESTING[status])
    return _told(next(iter(asked.values())), frozenset(asked))


def _told(id: str, sides: frozenset[str]) -> Move:
    return Move(id, sides, WORDS[id], WORDS[id])
