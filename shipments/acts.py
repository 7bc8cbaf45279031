"""What can be done to first articles, lots and submissions."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from agreements.signatories import service_held
from parties.access import LEADS, SIGNERS
from parties.acts import Act
from parties.capacity import Capacity
from parties.forms import ActForm, SigningForm
from parties.models import Side
from parties.signing import statement_facts
from shipments import forms, transitions
from shipments.listed import listed, signing_of
from shipments.models import FirstArticle, Lot, Submission, SubmissionList, Verdict
from shipments.offered import offered
from shipments.transitions import articles, listing, submissions
from shipments.transitions.articles import APPROVES, APPROVES_WITH_LIMITS
from shipments.transitions.listing import INTENT as LIST_INTENT
from shipments.transitions.submissions import INTENT

SUPPLIER, CUSTOMER = frozenset({Side.SUPPLIER}), frozenset({Side.CUSTOMER})
BOTH = SUPPLIER | CUSTOMER
PREPARED = [FirstArticle.Status.PREPARING, FirstArticle.Status.TO_BE_CORRECTED]
UNRELEASED = [Lot.Status.OPEN, Lot.Status.JUDGED]
FROZEN = _("What you hand in is frozen: a correction is handed in beside it, never over it.")
SEALED = _(
    "The approved article becomes the signed master. What you enter here is signed too: it stands "
    "in brackets behind the intent. Your approval cannot be taken back."
)

# While a side may hand evidence in, pages lead it to gather some.
GATHERING = {
    Side.SUPPLIER: frozenset({*PREPARED, *UNRELEASED}),
    Side.CUSTOMER: frozenset({Lot.Status.RECEIVED}),
}


def offered_context(what: Lot | FirstArticle, by: Capacity) -> dict[str, Any]:
    """What would be handed in, beside the form."""
    return {"offered": offered(what, by.sitter)}


def release_context(lot: Lot, by: Capacity) -> dict[str, Any]:
    """What is released: the verdict on the evidence handed in last."""
    seen = Verdict.objects.visible_to(by.sitter).select_related("submission")
    given = seen.filter(submission__lot=lot, submission__purpose=Submission.Purpose.LOT)
    verdict = given.order_by("-submission__nth").first()
    return {"verdict": verdict, "signing": signing_of(verdict.submission) if verdict else None}


def sign_context(submission: Submission, by: Capacity) -> dict[str, Any]:
    """The facts that the signed statement will hold."""
    return statement_facts(by, gettext(INTENT), submission)


def list_context(found: SubmissionList, by: Capacity) -> dict[str, Any]:
    """The same for a list, with what stands on it."""
    facts = statement_facts(by, gettext(LIST_INTENT), found)
    return facts | {"listed": listed(found, by.sitter)}


def approval_context(article: FirstArticle, by: Capacity, intent: str = APPROVES) -> dict[str, Any]:
    """The facts of the statement with which an approval is signed: over what was handed in last."""
    seen = Submission.objects.visible_to(by.sitter).filter(article=article)
    handed_in = seen.order_by("-nth").first()
    return statement_facts(by, gettext(intent), handed_in)


def limited_approval_context(article: FirstArticle, by: Capacity) -> dict[str, Any]:
    """The same for an approval with limits, whose statement says so."""
    return approval_context(article, by, APPROVES_WITH_LIMITS)


DOSSIER_ACTS = [
    Act(
        name="prepare-article",
        title=_("Prepare a first article"),
        do=transitions.prepare_article,
        form=forms.ArticleForm,
        sides=SUPPLIER,
    ),
    Act(
        name="open-lot",
        title=_("Open a lot"),
        do=transitions.open_lot,
        form=forms.LotForm,
        sides=SUPPLIER,
        explain=_("The revision that binds the lot is fixed now."),
    ),
]


def _article(name: str, title: Any, do: Any, form: Any, **more: Any) -> Act:
    return Act(name, title, do, form, FirstArticle, "articles", **more)


def _lot(name: str, title: Any, do: Any, form: Any, **more: Any) -> Act:
    return Act(name, title, do, form, Lot, "lots", **more)


ARTICLE_ACTS = [
    _article(
        "submit",
        _("Submit this first article"),
        transitions.submit_article,
        forms.NoteForm,
        sides=SUPPLIER,
        states=PREPARED,
        explain=FROZEN,
        template="shipments/hand_in.html",
        context=offered_context,
        moves=("prepare", "correct"),
    ),
    _article(
        "approve",
        _("Approve this first article"),
        transitions.approve_article,
        forms.ApprovalForm,
        template="shipments/sign.html",
        context=approval_context,
        signs=articles.to_sign,
        service_held=service_held,
        sides=CUSTOMER,
        roles=LEADS,
        states=[FirstArticle.Status.SUBMITTED],
        explain=SEALED,
    ),
    _article(
        "approve-with-limits",
        _("Approve with limits"),
        transitions.approve_with_limits,
        forms.LimitedApprovalForm,
        template="shipments/sign.html",
        context=limited_approval_context,
        signs=articles.limited_to_sign,
        service_held=service_held,
        sides=CUSTOMER,
        roles=LEADS,
        states=[FirstArticle.Status.SUBMITTED],
        explain=SEALED,
    ),
    _article(
        "return",
        _("Return it to be corrected"),
        transitions.return_article,
        forms.CorrectionForm,
        sides=CUSTOMER,
        states=[FirstArticle.Status.SUBMITTED],
    ),
]
LOT_ACTS = [
    _lot(
        "submit",
        _("Hand in the evidence"),
        transitions.submit_lot,
        forms.NoteForm,
        sides=SUPPLIER,
        states=UNRELEASED,
        explain=FROZEN,
        template="shipments/hand_in.html",
        context=offered_context,
        moves=("hand_in", "again"),
    ),
    _lot(
        "release",
        _("Release this lot"),
        transitions.release_lot,
        forms.NoteForm,
        sides=SUPPLIER,
        roles=SIGNERS,
        states=[Lot.Status.JUDGED],
        template="shipments/release.html",
        context=release_context,
        explain=_("Only a lot whose verdict is “conforming” can be released."),
        moves=("release",),
    ),
    _lot(
        "withdraw",
        _("Withdraw this lot"),
        transitions.withdraw_lot,
        forms.ReasonForm,
        sides=SUPPLIER,
        states=[*UNRELEASED, Lot.Status.SUBMITTED],
    ),
    _lot(
        "receive",
        _("Confirm receipt"),
        transitions.receive_lot,
        forms.ReceiptForm,
        sides=CUSTOMER,
        states=[Lot.Status.RELEASED],
        moves=("receive",),
    ),
    _lot(
        "accept",
        _("Accept this lot"),
        transitions.accept_lot,
        forms.NoteForm,
        sides=CUSTOMER,
        states=[Lot.Status.RECEIVED],
    ),
]


def lot_acts(outcome: str = "") -> list[Act]:
    """Acts that pages offer on a lot whose last verdict is `outcome`: what is not conforming
    cannot be released."""
    return [act for act in LOT_ACTS if act.name != "release" or outcome == "conforming"]


TRY_AGAIN = _("Try again")
SUBMISSION_ACTS = [
    Act(
        name="try-again",
        title=TRY_AGAIN,
        do=transitions.try_again,
        model=Submission,
        noun="submissions",
        sides=BOTH,
        explain=_(
            "Judging this evidence, or setting its verdict as PDF, stopped at an error. It is done "
            "once more with the same frozen evidence; nothing has to be handed in again."
        ),
        done=_("It waits for its turn."),
    ),
    Act(
        name="sign",
        title=_("Sign this evidence"),
        do=transitions.sign_submission,
        form=SigningForm,
        model=Submission,
        noun="submissions",
        template="shipments/sign.html",
        context=sign_context,
        signs=submissions.to_sign,
        service_held=service_held,
        sides=BOTH,
        roles=LEADS,
        explain=_("You sign the digest of what your side handed in."),
        done=_("The evidence is signed."),
        moves=("sign", "decide_unsigned"),
    ),
]


def submission_acts(submission: Submission, side: str, *, signed: bool, failed: bool) -> list[Act]:
    """Acts that its page offers a side: signing to its own, once; again where something failed."""
    fitting = {"sign": submission.side == side and not signed, "try-again": failed}
    return [act for act in SUBMISSION_ACTS if fitting[act.name]]


LISTING_ACTS = [
    Act(
        name="draw-up-list",
        title=_("Draw up a list of evidence to be signed"),
        do=transitions.draw_up_list,
        form=forms.ListForm,
        sides=BOTH,
        button=_("Draw up this list"),
        explain=_(
            "Your quality lead signs the list once, for all evidence on it. The other side sees "
            "the list when it is signed."
        ),
    )
]


def _list(name: str, title: Any, do: Any, form: Any, **more: Any) -> Act:
    states = [SubmissionList.Status.DRAWN_UP]
    return Act(name, title, do, form, SubmissionList, "lists", sides=BOTH, states=states, **more)


LIST_ACTS = [
    _list(
        "sign",
        _("Sign this list"),
        transitions.sign_list,
        SigningForm,
        roles=LEADS,
        template="shipments/sign_list.html",
        context=list_context,
        signs=listing.to_sign,
        service_held=service_held,
        explain=_("One signature for all evidence on the list. It cannot be taken back."),
        done=_("The list is signed."),
    ),
    _list(
        "set-aside",
        _("Set this list aside"),
        transitions.set_list_aside,
        ActForm,
        explain=_("It stays unsigned for good. The evidence on it may stand on another list."),
    ),
]
ACTS = [
    *DOSSIER_ACTS,
    *ARTICLE_ACTS,
    *LOT_ACTS,
    *SUBMISSION_ACTS,
    *LISTING_ACTS,
    *LIST_ACTS,
]
