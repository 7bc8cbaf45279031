"""Whose move it is, and which acts the present state leaves to a sitter."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from agreements.letters import other_side
from agreements.models import Revision
from agreements.models.revisions import PARTIES
from parties.whose_move import BOTH, NOBODY, Move

Status = Revision.Status


WORDS: dict[str, str | Promise] = {
    "propose": _("Nothing has been proposed yet: either side may propose terms."),
    "answer_customer": _("The customer's move: counter the proposal or agree to it."),
    "answer_supplier": _("The supplier's move: counter the proposal or agree to it."),
    "sign": _("Agreed by both sides: both may sign."),
    "sign_customer": _("Signed by the supplier: it waits for the customer's signature."),
    "sign_supplier": _("Signed by the customer: it waits for the supplier's signature."),
    "again": _("The last revision was withdrawn: either side may propose again."),
    "none": _("Signed by both sides. A change is a new revision."),
}
# What stands behind the sides whose move it is.
ACTS: dict[str, str | Promise] = {
    "propose": _("propose terms; nothing has been proposed yet."),
    "answer": _("counter the proposal or agree to it."),
    "sign": _("sign the terms that are agreed."),
    "again": _("the last revision was withdrawn; either side may propose again."),
    "none": WORDS["none"],
}


def next_move(latest: Revision | None) -> Move:
    """The move that the latest revision asks for."""
    if latest is None:
        return Move("propose", BOTH, WORDS["propose"], ACTS["propose"])
    if latest.status == Status.PROPOSED:
        side = other_side(latest.proposed_by)
        return Move("answer", frozenset([side]), WORDS[f"answer_{side}"], ACTS["answer"])
    if latest.status == Status.AGREED:
        return Move("sign", BOTH, WORDS["sign"], ACTS["sign"])
    if latest.status == Status.SIGNED_BY_ONE:
        side = other_side(latest.first_signer)
        return Move("sign", frozenset([side]), WORDS[f"sign_{side}"], ACTS["sign"])
    if latest.status == Status.WITHDRAWN:
        return Move("again", NOBODY, WORDS["again"], ACTS["again"])
    return Move("none", NOBODY, WORDS["none"], ACTS["none"])


def revision_acts(revision: Revision, side: str, *, latest: bool, has_draft: bool) -> list[str]:
    """Names of the acts that a revision's state leaves to a side, in the order to show them."""
    if side not in PARTIES:
        return []
    theirs = revision.proposed_by != side
    names = []
    if revision.status == Status.PROPOSED and theirs:
        names.append("agree")
    if revision.status == Status.AGREED or (
        revision.status == Status.SIGNED_BY_ONE and revision.first_signer != side
    ):
        names.append("sign")
    if latest and not has_draft:
        names.append("take-up")
    names.append("remark")
    if revision.is_open and not (revision.status == Status.PROPOSED and theirs):
        names.append("withdraw")
    return names


def draft_acts(latest: Revision | None, side: str, based_on: object) -> list[str]:
    """Names of the acts on a side's draft beside editing it."""
    names = []
    if latest is not None and latest.status == Status.PROPOSED and latest.proposed_by != side:
        names.append("counter")
    elif latest is None or not latest.is_open:
        names.append("propose")
    if latest is not None:
        if based_on != latest.pk:
            names.append("rebase")
        names.append("discard")
    return names


def standing_acts(standing: str, signed: bool) -> list[str]:
    """Names of the acts on the agreement as a whole."""
    if not signed or standing == "ended":
        return []
    return ["resume", "end"] if standing == "suspended" else ["suspend", "end"]
