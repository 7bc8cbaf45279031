"""Suspending, resuming and ending the agreement, each from a day on and with a reason."""

from __future__ import annotations

import datetime as dt

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils.translation import gettext_lazy as _

from agreements.letters import other_side, tell
from agreements.models import Revision, Standing
from agreements.models.revisions import PARTIES
from agreements.standing import standing_of, today_in
from ledger import chain, clock
from ledger.kinds import Kind
from parties.access import LEADS
from parties.capacity import Capacity
from parties.models import Dossier
from parties.refusal import Refusal

State = Standing.State
KINDS = {
    State.SUSPENDED: Kind.AGREEMENT_SUSPENDED,
    State.RESUMED: Kind.AGREEMENT_RESUMED,
    State.ENDED: Kind.AGREEMENT_ENDED,
}
# From which standing each is possible; "" is an agreement that stands.
FROM = {
    State.SUSPENDED: ("", State.RESUMED),
    State.RESUMED: (State.SUSPENDED,),
    State.ENDED: ("", State.RESUMED, State.SUSPENDED),
}


def suspend(dossier: Dossier, *, by: Capacity, from_day: dt.date, reason: str) -> Dossier:
    """No lot is bound by the agreement from this day until it is resumed."""
    return _stand(dossier, by, State.SUSPENDED, from_day, reason)


def resume(dossier: Dossier, *, by: Capacity, from_day: dt.date, reason: str) -> Dossier:
    """The agreement binds again from this day."""
    return _stand(dossier, by, State.RESUMED, from_day, reason)


def end(dossier: Dossier, *, by: Capacity, from_day: dt.date, reason: str) -> Dossier:
    """The agreement binds no lot from this day on; open lots and disputes go on under it."""
    return _stand(dossier, by, State.ENDED, from_day, reason)


def _stand(
    dossier: Dossier, by: Capacity, state: Standing.State, from_day: dt.date, reason: str
) -> Dossier:
    _check(dossier, by, from_day)
    act = chain.new_act()
    try:
        with transaction.atomic():
            _insert(dossier, by, state, from_day, reason, act)
            _tell(dossier, by, state, from_day, reason, act)
    except IntegrityError:  # the other side was quicker: number is unique
        raise _not_now(standing_of(dossier)) from None
    return dossier


def _check(dossier: Dossier, by: Capacity, from_day: dt.date) -> None:
    if dossier.pk != by.dossier.pk or by.side not in PARTIES or by.role not in LEADS:
        raise Refusal(
            "seat.role", _("A quality lead of the customer or the supplier decides this.")
        )
    if not Revision.objects.filter(dossier=dossier, status=Revision.Status.SIGNED).exists():
        raise Refusal(
            "agreement.unsigned", _("Nothing has been signed yet: withdraw the revision.")
        )
    if from_day < today_in(dossier):
        raise Refusal(
            "day.past",
            _("The day lies in the past. An agreement is not suspended or ended backwards."),
            field="from_day",
        )
    last = Standing.objects.filter(dossier=dossier).order_by("-number").first()
    if last is not None and from_day < last.from_day:
        raise Refusal(
            "day.before_last",
            _("The day lies before %(day)s, from which the last such decision holds."),
            field="from_day",
            day=last.from_day.isoformat(),
        )


def _insert(
    dossier: Dossier, by: Capacity, state: Standing.State, day: dt.date, reason: str, act: str
) -> None:
    """The next standing; (dossier, number) being unique makes this conditional on the last one."""
    now = standing_of(dossier)
    if now not in FROM[state]:
        raise _not_now(now)
    last = Standing.objects.filter(dossier=dossier).aggregate(last=Max("number"))["last"] or 0
    row = Standing.objects.create(
        dossier=dossier,
        number=last + 1,
        state=state,
        from_day=day,
        reason=reason,
        side=by.side,
        author=by.actor().person,
        created_at=clock.now(),
    )
    chain.append(
        dossier.chain,
        by=by.actor(),
        kind=KINDS[state],
        subject=str(row.pk),
        act=act,
        payload={"reason": reason, "from_day": day.isoformat()},
    )


def _not_now(now: str) -> Refusal:
    if now == State.ENDED:
        return Refusal("agreement.ended", _("The agreement has been ended."))
    if now == State.SUSPENDED:
        return Refusal("agreement.suspended", _("The agreement is suspended already."))
    return Refusal("agreement.stands", _("The agreement is not suspended."))


def _tell(
    dossier: Dossier, by: Capacity, state: Standing.State, day: dt.date, reason: str, act: str
) -> None:
    subjects = {
        State.SUSPENDED: _("%(title)s: suspended from %(day)s"),
        State.RESUMED: _("%(title)s: resumed from %(day)s"),
        State.ENDED: _("%(title)s: ended from %(day)s"),
    }
    tell(
        dossier,
        other_side(by.side),
        subject=subjects[state],
        body=_("%(firm)s decided this. Their reason: %(reason)s"),
        path=dossier.get_absolute_url(),
        act=act,
        firm=by.organisation.name,
        day=day.isoformat(),
        reason=reason,
    )
