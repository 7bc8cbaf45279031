"""What can be done in a dispute."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from agreements.signatories import service_held
from disputes import forms, transitions
from disputes.models import Dispute, Offer, Post
from disputes.showing import settlement_context
from disputes.transitions.settling import AGREES, OFFERABLE, to_sign
from disputes.transitions.thread import OPEN, STANDING
from parties.access import LEADS, SIGNERS
from parties.acts import Act
from parties.capacity import Capacity
from parties.forms import SigningForm
from parties.models import Side
from parties.signing import statement_facts
from shipments.models import Lot
from shipments.offered import offered

State = Dispute.Status
CUSTOMER, SUPPLIER = frozenset({Side.CUSTOMER}), frozenset({Side.SUPPLIER})


def offered_context(lot: Lot, by: Capacity) -> dict[str, Any]:
    """The evidence that goes with a rejection."""
    return {"offered": offered(lot, by.sitter)}


def sign_context(offer: Offer, by: Capacity) -> dict[str, Any]:
    """The settlement, beside the form that signs it."""
    return settlement_context(offer) | statement_facts(by, gettext(AGREES), offer)


REJECT = Act(
    "reject",
    _("Reject this lot"),
    transitions.reject,
    forms.RejectForm,
    Lot,
    "lots",
    sides=CUSTOMER,
    roles=SIGNERS,
    template="shipments/hand_in.html",
    context=offered_context,
    states=[Lot.Status.RECEIVED],
    explain=_(
        "Your own evidence is handed in with the rejection and judged beside the supplier's. "
        "Hold what you have first."
    ),
)


def _dispute(name: str, title: Any, do: Any, form: Any, **more: Any) -> Act:
    return Act(name, title, do, form, Dispute, "disputes", **more)


DISPUTE_ACTS = [
    _dispute(
        "answer",
        _("Answer the rejection"),
        transitions.answer,
        forms.ContainmentForm,
        sides=SUPPLIER,
        states=[State.RAISED],
        moves=("answer",),
    ),
    _dispute(
        "examine",
        _("Begin the examination"),
        transitions.begin_examination,
        forms.ActForm,
        states=[State.ANSWERED],
        explain=_("Both sides look again at specimens, references and conditions."),
    ),
    _dispute("post", _("Make a statement"), transitions.post, forms.PostForm, states=OPEN),
    _dispute(
        "note",
        _("Keep a private note"),
        transitions.keep_note,
        forms.NoteForm,
        explain=_("Seen by your side only; it never becomes part of the record."),
    ),
    _dispute(
        "offer",
        _("Offer a remedy"),
        transitions.offer_remedy,
        forms.OfferForm,
        states=OFFERABLE,
        moves=("examine",),
    ),
    _dispute(
        "withdraw",
        _("Withdraw the rejection"),
        transitions.withdraw,
        forms.ReasonForm,
        sides=CUSTOMER,
        roles=SIGNERS,
        states=OPEN,
        explain=_("The lot then counts as accepted."),
    ),
]
POST_ACTS = [
    Act(
        "strike",
        _("Strike this statement"),
        transitions.strike,
        forms.ReasonForm,
        Post,
        "posts",
        explain=_("It stays readable, struck through, with your reason."),
    )
]
OFFER_ACTS = [
    Act(
        "sign",
        _("Sign this settlement"),
        transitions.sign_settlement,
        SigningForm,
        Offer,
        "offers",
        roles=LEADS,
        states=STANDING,
        template="disputes/sign.html",
        context=sign_context,
        signs=to_sign,
        service_held=lambda offer: service_held(offer.dispute.lot),
        explain=_(
            "With the signatures of both sides the dispute is settled. This is not legal advice."
        ),
        done=_("You have signed."),
    ),
    Act(
        "decline",
        _("Decline this offer"),
        transitions.decline_offer,
        forms.ReasonForm,
        Offer,
        "offers",
        states=STANDING,
    ),
]


def offer_acts(offer: Offer, side: str) -> list[Act]:
    """Acts that a page offers a side: whoever has signed waits for the other."""
    return [act for act in OFFER_ACTS if act.name != "sign" or offer.first_signer != side]


ACTS = [REJECT, *DISPUTE_ACTS, *POST_ACTS, *OFFER_ACTS]
