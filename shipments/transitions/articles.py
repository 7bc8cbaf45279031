"""First articles: prepared by the supplier, decided by the customer."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from agreements.signatories import service_held
from agreements.standing import in_force, today_in
from ledger import chain, clock
from ledger.kinds import Kind
from ledger.verify.approvals import said_with
from method.days import months_after
from method.words import gettext_noop
from parties import signing
from parties.capacity import Capacity
from parties.models import Dossier, Side
from parties.refusal import Refusal
from parties.signing_proofs import Proof
from parties.transitions.moves import check_side, move, record
from parties.transitions.registers import REFERENCE_LIFE_MONTHS
from shipments.letters import tell_step
from shipments.lists import asks_signature, signature_of
from shipments.masters import enter_master
from shipments.models import FirstArticle, Submission
from shipments.parts import part_of, part_words
from shipments.transitions.submissions import hand_in

State = FirstArticle.Status
# What the signature says; entered in the chain as it stands here, in English.
APPROVES = gettext_noop(
    "I approve this first article as the reference that lots are judged against."
)
APPROVES_WITH_LIMITS = gettext_noop(
    "I approve this first article as the reference that lots are judged against, within the limits "
    "of quantity and time that the entry of this act states."
)


def prepare_article(
    dossier: Dossier,
    *,
    by: Capacity,
    number: str,
    part: str,
    quantity: int,
    made_on: dt.date | None = None,
) -> FirstArticle:
    """Begin to gather evidence for a first article; the customer sees nothing of it yet."""
    check_side(by, Side.SUPPLIER)
    revision = in_force(dossier, today_in(dossier))
    if revision is None:
        raise Refusal("no_terms", _("No signed revision is in force today."))
    words = part_words(part_of(revision, part))
    try:
        with transaction.atomic():
            return FirstArticle.objects.create(
                dossier=dossier,
                side_only=by.side,
                number=number,
                part=part,
                part_words=words,
                revision=revision,
                quantity=quantity,
                made_on=made_on,
            )
    except IntegrityError:
        if not FirstArticle.objects.filter(dossier=dossier, number=number).exists():
            raise
        raise Refusal(
            "number_taken", _("There is a first article of this number already."), field="number"
        ) from None


def submit_article(article: FirstArticle, *, by: Capacity, note: str = "") -> Submission:
    """Put the first article and its evidence before the customer."""
    check_side(by, Side.SUPPLIER)
    with transaction.atomic():
        move(
            article,
            old=[State.PREPARING, State.TO_BE_CORRECTED],
            new=State.SUBMITTED,
            released_at=clock.now(),
        )
        act = chain.new_act()
        submission = hand_in(
            article, by=by, purpose=Submission.Purpose.FIRST_ARTICLE, act=act, note=note
        )
        record(
            article,
            Kind.ARTICLE_SUBMITTED,
            by,
            act,
            {
                "part": article.part,
                "nth": submission.nth,
                "digest": submission.digest,
                "revision": article.revision.number,
                "note": note,
            },
        )
        tell_step(article, Kind.ARTICLE_SUBMITTED, by, act)
    return submission


@dataclass(frozen=True)
class Decision:
    """What a lead decides with an approval: all of it is entered, and all of it is signed."""

    expires_on: dt.date
    seal: str = ""
    note: str = ""
    quantity: int | None = None
    until: dt.date | None = None

    @property
    def payload(self) -> dict[str, Any]:
        """As the approval's entry says it."""
        return {
            "quantity": self.quantity,
            "until": self.until.isoformat() if self.until else None,
            "seal": self.seal,
            "expires_on": self.expires_on.isoformat(),
            "note": self.note,
        }

    @property
    def intent(self) -> str:
        """What the signature says, in English; the rest stands behind it in brackets, so that the
        signature itself is over it."""
        limited = self.quantity or self.until
        return said_with(APPROVES_WITH_LIMITS if limited else APPROVES, self.payload)


def decision(
    article: FirstArticle,
    *,
    expires_on: dt.date | None = None,
    digest: str = "",
    **values: Any,
) -> Decision:
    """What these values decide; the master expires on the usual day where none is named."""
    usual = months_after(today_in(article.dossier), REFERENCE_LIFE_MONTHS)
    return Decision(expires_on or usual, **values)


def approve_article(article: FirstArticle, *, by: Capacity, **values: Any) -> FirstArticle:
    """Approve: the article becomes the signed master of its part.

    `digest`: of the submission that the lead has seen; Refusal where it is not the last any more.
    """
    return _approve(article, by, State.APPROVED, Kind.ARTICLE_APPROVED, **values)


def approve_with_limits(article: FirstArticle, *, by: Capacity, **values: Any) -> FirstArticle:
    """Approve for a quantity or until a day; at least one of the two is named."""
    _some_limit(values)
    kind = Kind.ARTICLE_APPROVED_WITH_LIMITS
    return _approve(article, by, State.APPROVED_WITH_LIMITS, kind, **values)


def _approve(
    article: FirstArticle,
    by: Capacity,
    state: str,
    kind: Kind,
    *,
    proof: Proof | None = None,
    **values: Any,
) -> FirstArticle:
    check_side(by, Side.CUSTOMER)
    now, act = clock.now(), chain.new_act()
    decided = decision(article, **values)
    with transaction.atomic():
        move(
            article,
            old=[State.SUBMITTED],
            new=state,
            decided_at=now,
            decided_on=today_in(article.dossier),
            limit_quantity=decided.quantity,
            limit_until=decided.until,
            decision_note=decided.note,
        )
        wanted = to_sign(article, by=by, **values)
        submission = seen(article, wanted.digest)
        _signed_where_asked(article, submission)
        payload = {"digest": submission.digest, **decided.payload}
        record(article, kind, by, act, payload, blobs=[submission.digest])
        signing.sign(by, wanted, act=act, proof=proof)
        enter_master(article, submission, by=by, seal=decided.seal, expires_on=decided.expires_on)
        tell_step(article, kind, by, act)
    return article


def to_sign(
    article: FirstArticle,
    *,
    by: Capacity,
    digest: str = "",
    **values: Any,
) -> signing.Wanted:
    """What is signed: the evidence handed in last, with an intent that states everything else that
    the lead decides: limits, seal, the master's last day, the remark."""
    check_side(by, Side.CUSTOMER)
    submission = seen(article, digest)
    return signing.Wanted(
        what="article",
        subject=article.subject,
        revision=article.revision.number,
        digest=submission.digest,
        intent=decision(article, **values).intent,
        blobs=[submission.digest],
        service_held=service_held(article),
    )


def limited_to_sign(article: FirstArticle, *, by: Capacity, **values: Any) -> signing.Wanted:
    """The same with limits, of which there is at least one."""
    _some_limit(values)
    return to_sign(article, by=by, **values)


def _some_limit(values: Mapping[str, Any]) -> None:
    if not values.get("quantity") and not values.get("until"):
        raise Refusal("no_limit", _("Name a number of pieces or a last day."), field="quantity")


def seen(article: FirstArticle, digest: str) -> Submission:
    """What was handed in last; Refusal where it is not what the person who decides looked at."""
    submission = last_submission(article)
    if digest and digest != submission.digest:
        raise Refusal(
            "stale", _("Something newer was submitted in the meantime. Look at it, then decide.")
        )
    return submission


def _signed_where_asked(article: FirstArticle, submission: Submission) -> None:
    """Refuse to approve evidence that the supplier's lead has yet to sign by clause 8."""
    asked = asks_signature(article.revision, article.part, submission.purpose)
    if asked and signature_of(submission) is None:
        raise Refusal(
            "lead_signature",
            _("By clause 8 the supplier's quality lead must sign the evidence first."),
        )


def return_article(article: FirstArticle, *, by: Capacity, note: str) -> FirstArticle:
    """Send it back to be corrected, saying what is wrong."""
    check_side(by, Side.CUSTOMER)
    now, act = clock.now(), chain.new_act()
    with transaction.atomic():
        move(
            article,
            old=[State.SUBMITTED],
            new=State.TO_BE_CORRECTED,
            decided_at=now,
            decided_on=today_in(article.dossier),
            decision_note=note,
        )
        submission = last_submission(article)
        record(
            article,
            Kind.ARTICLE_RETURNED,
            by,
            act,
            {"digest": submission.digest, "note": note},
        )
        tell_step(article, Kind.ARTICLE_RETURNED, by, act)
    return article


def last_submission(article: FirstArticle) -> Submission:
    """What was handed in last; Refusal while nothing was."""
    found = article.submissions.order_by("-nth").first()
    if found is None:
        raise Refusal("nothing_submitted", _("Nothing was submitted for this first article yet."))
    return found
