"""Every act of this app, one line of access each: page and JSON call are made from it."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

from agreements import forms, transitions
from agreements.models import Draft, Remark, Revision
from agreements.signatories import service_held
from agreements.transitions.signing import first_to_sign
from parties.access import LEADS, SIGNERS
from parties.acts import Act
from parties.forms import ActForm
from parties.models import Dossier, Side

START = Act(
    "start-agreement",
    _("Start an agreement"),
    transitions.start_agreement,
    forms.StartForm,
    sides=(Side.OWN,),
    roles=SIGNERS,
    purpose=Dossier.Purpose.REGISTER,
    button=_("Start it and send the invitation"),
    explain=_(
        "A private draft is made for your side, and the other side is invited. They see nothing "
        "of the terms until you propose them."
    ),
    done=_("The agreement is open. Your draft is seen by your side only."),
)


def _draft(name: str, title: Any, do: Any, form: Any, **more: Any) -> Act:
    return Act(name, title, do, form, Draft, "draft", **more)


def _revision(name: str, title: Any, do: Any, form: Any, **more: Any) -> Act:
    return Act(name, title, do, form, Revision, "revision", **more)


EDITS = [
    _draft("heading", _("Edit title and note"), transitions.rewrite, forms.HeadingForm),
    _draft(
        "clause",
        _("Edit a clause"),
        transitions.rewrite,
        forms.ClauseForm,
        button=_("Save"),
        done=_("The clause is saved in your side's draft."),
        template="agreements/clause_form.html",
        context=forms.clause_context,
    ),
    _draft(
        "item",
        _("Add or edit an item"),
        transitions.rewrite,
        forms.ItemForm,
        button=_("Save"),
        template="agreements/item_form.html",
    ),
    _draft("remove-item", _("Remove an item"), transitions.rewrite, forms.RemoveItemForm),
    _draft("part", _("Add or edit a part"), transitions.rewrite, forms.PartForm, button=_("Save")),
    _draft("remove-part", _("Remove a part"), transitions.rewrite, forms.RemovePartForm),
    _draft(
        "own-value",
        _("Set a part's own value"),
        transitions.rewrite,
        forms.OwnValueForm,
        button=_("Save"),
    ),
    _draft(
        "shared-value",
        _("Let a part follow the shared value again"),
        transitions.rewrite,
        forms.SharedValueForm,
    ),
]
PROPOSE = _draft(
    "propose",
    _("Propose this draft"),
    transitions.propose,
    forms.PutForwardForm,
    roles=SIGNERS,
    explain=_(
        "The draft is frozen as a numbered revision, the other side reads it, and it enters the "
        "record. Proposing it also names its digest for your side."
    ),
    done=_("Proposed. It is the other side's move."),
    moves=("propose", "again"),
)
COUNTER = _draft(
    "counter",
    _("Counter with this draft"),
    transitions.counter,
    forms.PutForwardForm,
    roles=SIGNERS,
    explain=_(
        "Your draft answers the other side's proposal as the next revision. It is frozen and "
        "enters the record."
    ),
    done=_("Countered. It is the other side's move."),
    moves=("answer",),
)
REBASE = _draft(
    "rebase",
    _("Set the draft against the latest revision"),
    transitions.rebase,
    forms.PlainDraftForm,
    explain=_("Your text stays as it is. Compare the two first: what they changed is not in it."),
)
DISCARD = _draft(
    "discard",
    _("Discard the draft"),
    transitions.discard,
    forms.PlainDraftForm,
    explain=_("The draft is removed for good. You can begin a new one from the latest revision."),
)
TAKE_UP = _revision(
    "take-up",
    _("Begin a draft from this revision"),
    transitions.take_up,
    forms.TakeUpForm,
    explain=_("Your side gets its own copy to edit. The other side does not see it."),
)
AGREE = _revision(
    "agree",
    _("Agree to this revision"),
    transitions.agree,
    forms.AgreeForm,
    roles=SIGNERS,
    explain=_("Your side names this digest too. Then both sides may sign exactly these terms."),
    done=_("Agreed. Both sides may sign now."),
)
SIGN = _revision(
    "sign",
    _("Sign this revision"),
    transitions.sign,
    forms.SignForm,
    roles=SIGNERS,
    template="agreements/sign.html",
    context=forms.sign_context,
    signs=first_to_sign,
    service_held=service_held,
    done=_("Signed."),
    moves=("sign",),
)
WITHDRAW = _revision(
    "withdraw",
    _("Withdraw this revision"),
    transitions.withdraw,
    forms.ReasonForm,
    roles=SIGNERS,
    explain=_("It cannot be agreed to or signed afterwards. It stays readable."),
)
REMARK = _revision(
    "remark",
    _("Make a remark"),
    transitions.make_remark,
    forms.RemarkForm,
    explain=_("Both sides and the auditor read it. It cannot be edited, only struck."),
)
MAKE_PAPERS = _revision(
    "make-papers",
    _("Make the PDFs"),
    transitions.make_papers,
    ActForm,
    explain=_("What failed is tried again. A PDF that was sealed stays as it is."),
    done=_("The PDFs are being made."),
)
STRIKE = Act(
    "strike",
    _("Strike a remark"),
    transitions.strike,
    forms.ReasonForm,
    Remark,
    "remark",
    explain=_("The remark stays readable and is marked as struck, with your reason."),
)


def _standing(name: str, title: Any, do: Any, explain: Any) -> Act:
    return Act(name, title, do, forms.StandingForm, roles=LEADS, explain=explain)


STANDING = [
    _standing(
        "suspend",
        _("Suspend the agreement"),
        transitions.suspend,
        _("No new lot is bound by it from this day until it is resumed."),
    ),
    _standing(
        "resume",
        _("Resume the agreement"),
        transitions.resume,
        _("It binds new lots again from this day."),
    ),
    _standing(
        "end",
        _("End the agreement"),
        transitions.end,
        _("No new lot is bound by it from this day. What is open goes on. This is final."),
    ),
]
DRAFT = [PROPOSE, COUNTER, REBASE, DISCARD]
REVISION = [AGREE, SIGN, TAKE_UP, REMARK, WITHDRAW]
ALL = [START, *EDITS, *DRAFT, *REVISION, MAKE_PAPERS, STRIKE, *STANDING]


def named(acts: list[Act], names: list[str]) -> list[Act]:
    """Those acts whose names are given, in the order of the names."""
    by_name = {act.name: act for act in acts}
    return [by_name[name] for name in names]
