"""The side's own draft: begun from a revision, edited, moved to a newer base, put aside.

Nothing here is shared, so nothing here is an entry of the chain.
"""

from __future__ import annotations

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils.translation import gettext_lazy as _

from agreements.models import Draft, Revision
from agreements.models.revisions import PARTIES
from ledger import clock
from method.terms.document import terms_bytes
from method.terms.models import Terms
from method.terms.upgrade import upgrade
from parties.access import STAFF
from parties.capacity import Capacity
from parties.refusal import Refusal


def own(draft: Draft, by: Capacity) -> None:
    """Refuse whoever is not of the draft's side."""
    if draft.dossier_id != by.dossier.pk or draft.side_only != by.side:
        raise Refusal("draft.not_yours", _("This draft belongs to the other side."))
    _edits(by)


def _edits(by: Capacity) -> None:
    if by.role not in STAFF:
        raise Refusal("seat.role", _("Your role reads drafts and does not edit them."))


def take_up(revision: Revision, *, by: Capacity) -> Draft:
    """Begin the side's own draft from a revision: for a counter-proposal or an amendment.

    The draft is of the newest schema of the terms; the revision keeps its own.
    """
    if revision.dossier_id != by.dossier.pk or by.side not in PARTIES:
        raise Refusal("seat.side", _("Only the customer and the supplier have drafts."))
    _edits(by)
    if Revision.objects.filter(dossier=by.dossier, number__gt=revision.number).exists():
        raise Refusal(
            "revision.not_latest",
            _("There is a later revision. Begin your draft from the latest one."),
        )
    now = clock.now()
    try:
        with transaction.atomic():
            return Draft.objects.create(
                dossier=by.dossier,
                side_only=by.side,
                terms=terms_bytes(upgrade(revision.document)),
                based_on=revision,
                created_at=now,
                changed_at=now,
            )
    except IntegrityError:
        raise Refusal(
            "draft.exists",
            _("Your side has a draft already. Work on that one, or put it aside first."),
        ) from None


def rewrite(
    draft: Draft, *, by: Capacity, terms: Terms, version: int | None = None, at: str = ""
) -> Draft:
    """Replace the draft's terms, if nobody changed them since `version` (or since it was read).

    `at` is where its page opens afterwards.
    """
    own(draft, by)
    _update(draft, version, terms=terms_bytes(terms))
    draft.at = at
    return draft


def rebase(draft: Draft, *, by: Capacity, version: int | None = None) -> Draft:
    """Keep the own text and set it against the latest revision, which the side has now seen."""
    own(draft, by)
    latest = Revision.objects.latest_seen(by.sitter)
    if latest is None or draft.based_on_id == latest.pk:
        raise Refusal("draft.up_to_date", _("Your draft is based on the latest revision already."))
    _update(draft, version, based_on=latest)
    return draft


def discard(draft: Draft, *, by: Capacity, version: int | None = None) -> Revision:
    """Put the draft aside for good; there must be a revision to begin from again."""
    own(draft, by)
    latest = Revision.objects.latest_seen(by.sitter)
    if latest is None:
        raise Refusal(
            "draft.is_all",
            _("Nothing has been proposed yet: this draft is the only text. Edit it instead."),
        )
    take_away(draft, version)
    return latest


def take_away(draft: Draft, version: int | None = None) -> None:
    """Remove the draft in exactly the version that was seen; refuse if it was changed since."""
    seen = draft.version if version is None else version
    gone, _rows = Draft.objects.filter(pk=draft.pk, version=seen).delete()
    if gone != 1:
        raise changed_meanwhile()


def changed_meanwhile() -> Refusal:
    """What is said when a colleague was quicker."""
    return Refusal(
        "draft.changed",
        _(
            "A colleague of your side changed this draft since you opened it. Nothing of yours "
            "was saved: open the page again beside this one and carry your change over."
        ),
    )


def _update(draft: Draft, version: int | None, **values: object) -> None:
    seen = draft.version if version is None else version
    changed = Draft.objects.filter(pk=draft.pk, version=seen).update(
        version=F("version") + 1, changed_at=clock.now(), **values
    )
    if changed != 1:
        raise changed_meanwhile()
    draft.refresh_from_db()
