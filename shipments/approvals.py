"""Which first article stands approved for a part, and whether its limits cover a lot."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.db.models import Sum
from django.utils.translation import gettext_lazy as _

from agreements.standing import today_in
from method.facts import Approval
from parties.models import Dossier
from parties.refusal import Refusal
from shipments.models import FirstArticle, Lot

APPROVED = (FirstArticle.Status.APPROVED, FirstArticle.Status.APPROVED_WITH_LIMITS)


def last_decided(dossier: Dossier, part: str, until: dt.datetime) -> FirstArticle | None:
    """The first article approved last up to a moment; where none was, the one returned last.

    A further first article that is returned takes no earlier approval away.
    """
    decided = FirstArticle.objects.filter(
        dossier=dossier, part=part, decided_at__lte=until
    ).order_by("-decided_at")
    approved = decided.filter(status__in=APPROVED).first()
    return approved or decided.filter(status=FirstArticle.Status.TO_BE_CORRECTED).first()


def approval_facts(what: Lot | FirstArticle, now: dt.datetime) -> Approval:
    """What a submission made `now` says of the approval, with the pieces released since."""
    decided = last_decided(what.dossier, what.part, now)
    if decided is None or decided.pk == what.pk:
        return Approval(outcome="none")
    submission = decided.submissions.order_by("-nth").first()
    returned = decided.status == FirstArticle.Status.TO_BE_CORRECTED
    return Approval(
        outcome="returned" if returned else decided.status,
        article=decided.number,
        submission=submission.digest if submission else None,
        decided_on=decided.decided_on,
        quantity=decided.limit_quantity,
        taken_up=taken_up(what, decided) if decided.limit_quantity else None,
        until=decided.limit_until,
    )


def taken_up(what: Lot | FirstArticle, article: FirstArticle) -> int:
    """Pieces of this part released since the article was approved, other lots only."""
    released: Any = Lot.objects.filter(
        dossier=what.dossier, part=what.part, left_at__gte=article.decided_at
    ).exclude(pk=what.pk)
    return released.aggregate(pieces=Sum("quantity"))["pieces"] or 0


def check_limits(lot: Lot, now: dt.datetime) -> None:
    """Refusal where the approval's limits no longer cover this lot; the article's row is held.

    The verdict saw the limits when the evidence was handed in; other lots may have used them up
    since.
    """
    article = last_decided(lot.dossier, lot.part, now)
    if article is None or article.status != FirstArticle.Status.APPROVED_WITH_LIMITS:
        return
    article = FirstArticle.objects.select_for_update().get(pk=article.pk)
    if article.limit_until is not None and today_in(lot.dossier) > article.limit_until:
        raise Refusal(
            "approval_lapsed",
            _("The first article's approval ended on %(until)s. Nothing was released."),
            until=article.limit_until.isoformat(),
        )
    most, taken = article.limit_quantity, taken_up(lot, article)
    if most is not None and taken + lot.quantity > most:
        raise Refusal(
            "approval_passed",
            _(
                "The first article is approved for %(most)s pieces; %(taken)s were released since. "
                "Nothing was released."
            ),
            most=most,
            taken=taken,
        )
