"""Proposing, countering, agreeing, withdrawing: each freezes or moves one revision."""

from __future__ import annotations

from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from agreements.letters import other_side, tell
from agreements.models import Draft, Naming, Revision
from agreements.models.revisions import PARTIES
from agreements.signatories import service_held
from agreements.transitions.drafting import changed_meanwhile, own, take_away
from ledger import blobs, chain, clock
from ledger.canonical import digest as digest_of
from ledger.kinds import Kind
from method.terms.document import terms_bytes
from method.terms.draft import draft_check
from method.terms.models import Terms
from parties.access import LEADS, SIGNERS
from parties.capacity import Capacity
from parties.refusal import Refusal
from parties.signing import enrol
from parties.transitions import open_dossier_chain

MEDIA_TYPE = "application/json"


def propose(draft: Draft, *, by: Capacity, note: str = "", version: int | None = None) -> Revision:
    """Freeze the draft as the next revision and put it before the other side.

    The first proposal is the first shared act: it opens the chain. Proposing names the digest
    for the proposing side. Refused while another revision is open, and on a blocker.
    """
    _may_put_forward(draft, by, version)
    if Revision.objects.filter(dossier=by.dossier).open().exists():
        raise _another_open()
    act = chain.new_act()
    try:
        with transaction.atomic():
            open_dossier_chain(by.dossier, by)
            revision = _freeze(draft, by, note, act, Kind.REVISION_PROPOSED)
            _tell_frozen(revision, by, act)
    except IntegrityError:
        raise _another_open() from None
    return revision


def counter(draft: Draft, *, by: Capacity, note: str = "", version: int | None = None) -> Revision:
    """Answer the other side's open proposal with one's own text as the next revision."""
    _may_put_forward(draft, by, version)
    latest = Revision.objects.latest_seen(by.sitter)
    if latest is None or latest.status != Revision.Status.PROPOSED:
        raise Refusal("revision.none_open", _("There is no open proposal to answer. Propose it."))
    if latest.proposed_by == by.side:
        raise Refusal(
            "revision.own_proposal",
            _("The open proposal is your own side's. Withdraw it before you propose another."),
        )
    if draft.based_on_id != latest.pk:
        raise Refusal(
            "draft.stale",
            _(
                "The other side has put forward revision %(number)s since your draft was begun. "
                "Compare your draft with it, then set it against that revision."
            ),
            number=latest.number,
        )
    act = chain.new_act()
    with transaction.atomic():
        _move(latest, [Revision.Status.PROPOSED], status=Revision.Status.COUNTERED)
        revision = _freeze(draft, by, note, act, Kind.REVISION_COUNTERED)
        _tell_frozen(revision, by, act)
    return revision


def agree(revision: Revision, *, by: Capacity, digest: str) -> Revision:
    """Name exactly the digest that the other side proposed; then both may sign."""
    _shared(revision, by)
    if revision.proposed_by == by.side:
        raise Refusal(
            "revision.own_proposal",
            _("Your side proposed this revision: the other side answers it."),
        )
    same_digest(revision, digest)
    act = chain.new_act()
    with transaction.atomic():
        _move(revision, [Revision.Status.PROPOSED], status=Revision.Status.AGREED, _digest=digest)
        _name(revision, by, act)
        chain.append(
            revision.dossier.chain,
            by=by.actor(),
            kind=Kind.REVISION_AGREED,
            subject=str(revision.pk),
            act=act,
            payload={"number": revision.number, "digest": digest, "side": by.side},
        )
        tell(
            revision.dossier,
            other_side(by.side),
            subject=_("%(title)s: agreed, to be signed"),
            body=_("Both sides agree to revision %(number)s. It waits for both signatures."),
            path=revision.get_absolute_url(),
            act=act,
            number=str(revision.number),
        )
    return revision


def withdraw(revision: Revision, *, by: Capacity, reason: str) -> Revision:
    """Take a revision back before the second signature.

    A proposal is withdrawn by the side that made it; what both agreed to, by either side.
    """
    _shared(revision, by)
    status = Revision.Status
    if revision.status == status.PROPOSED and revision.proposed_by != by.side:
        raise Refusal(
            "revision.not_yours",
            _("This is the other side's proposal. Counter it, or agree to it."),
        )
    old = [status.AGREED, status.SIGNED_BY_ONE]
    if revision.proposed_by == by.side:
        old.append(status.PROPOSED)
    act = chain.new_act()
    with transaction.atomic():
        _move(revision, old, status=status.WITHDRAWN)
        chain.append(
            revision.dossier.chain,
            by=by.actor(),
            kind=Kind.REVISION_WITHDRAWN,
            subject=str(revision.pk),
            act=act,
            payload={
                "number": revision.number,
                "digest": revision.digest,
                "side": by.side,
                "reason": reason,
            },
        )
        tell(
            revision.dossier,
            other_side(by.side),
            subject=_("%(title)s: revision %(number)s withdrawn"),
            body=_("The other side withdrew revision %(number)s. Their reason: %(reason)s"),
            path=revision.get_absolute_url(),
            act=act,
            number=str(revision.number),
            reason=reason,
        )
    return revision


def no_blockers(terms: Terms) -> None:
    """Refuse terms under which no judgement could hold."""
    blockers = [finding for finding in draft_check(terms) if finding.severity == "blocker"]
    if blockers:
        raise Refusal(
            "terms.blockers",
            ngettext(
                "The draft check has %(count)d finding that must be mended first.",
                "The draft check has %(count)d findings that must be mended first.",
                len(blockers),
            ),
            count=len(blockers),
        )


def same_digest(revision: Revision, digest: str) -> None:
    """Refuse an act that names other terms than this revision's."""
    if digest != revision.digest:
        raise Refusal(
            "digest.stale",
            _("The digest you name is not this revision's. Read the revision again."),
            field="digest",
        )


def moved_on(revision: Revision) -> Refusal:
    """What is said when the revision is not, or no longer, in the state that the act needs."""
    return Refusal(
        "revision.state",
        _("Revision %(number)s is %(status)s: this cannot be done with it now."),
        number=revision.number,
        status=revision.get_status_display(),
    )


def _may_put_forward(draft: Draft, by: Capacity, version: int | None) -> None:
    own(draft, by)
    if version is not None and version != draft.version:
        raise changed_meanwhile()
    if by.role not in SIGNERS:
        raise Refusal(
            "seat.role", _("Only a quality lead or deputy puts terms before the other side.")
        )
    no_blockers(draft.document)


def _another_open() -> Refusal:
    return Refusal(
        "revision.open",
        _("Another revision is open. Answer it, or withdraw it, before you propose a new one."),
    )


def _shared(revision: Revision, by: Capacity) -> None:
    if revision.dossier_id != by.dossier.pk or by.side not in PARTIES:
        raise Refusal("seat.side", _("Only the customer and the supplier decide about revisions."))
    if by.role not in SIGNERS:
        raise Refusal("seat.role", _("Only a quality lead or deputy decides about revisions."))


def _move(revision: Revision, old: list[str], *, _digest: str | None = None, **new: Any) -> None:
    """One conditional update on the old state; exactly one row or a refusal."""
    rows = Revision.objects.filter(pk=revision.pk, status__in=old)
    if _digest is not None:
        rows = rows.filter(digest=_digest)
    changed = rows.update(**new)
    revision.refresh_from_db()
    if changed != 1:
        raise moved_on(revision)


def _freeze(draft: Draft, by: Capacity, note: str, act: str, kind: Kind) -> Revision:
    """The draft becomes a numbered revision with its blob and entry; the draft row goes."""
    data = terms_bytes(draft.document)
    take_away(draft)
    last = Revision.objects.filter(dossier=by.dossier).aggregate(last=Max("number"))["last"] or 0
    blob = blobs.put(by.dossier.chain, data, MEDIA_TYPE)
    revision = Revision.objects.create(
        dossier=by.dossier,
        number=last + 1,
        terms=data,
        digest=digest_of(data),
        proposed_by=by.side,
        based_on=draft.based_on,
        note=note,
        created_at=clock.now(),
    )
    _name(revision, by, act)
    payload: dict[str, Any] = {
        "number": revision.number,
        "digest": revision.digest,
        "side": by.side,
        "note": note,
    }
    if draft.based_on is not None:
        payload["based_on"] = draft.based_on.number
    chain.append(
        by.dossier.chain,
        by=by.actor(),
        kind=kind,
        subject=str(revision.pk),
        act=act,
        payload=payload,
        blobs=[blob],
    )
    return revision


def _name(revision: Revision, by: Capacity, act: str) -> None:
    """The side names the digest; a lead's key is certified now, so that the other side's first
    signature can already name it."""
    if by.role in LEADS:
        enrol(by, act=act, service_held=service_held(revision))
    Naming.objects.create(
        dossier=revision.dossier,
        revision=revision,
        side=by.side,
        digest=revision.digest,
        person=by.actor().person,
        created_at=clock.now(),
    )


def _tell_frozen(revision: Revision, by: Capacity, act: str) -> None:
    tell(
        revision.dossier,
        other_side(by.side),
        subject=_("%(title)s: revision %(number)s awaits your answer"),
        body=_("%(firm)s put revision %(number)s of the terms before you."),
        path=revision.get_absolute_url(),
        act=act,
        number=str(revision.number),
        firm=by.organisation.name,
    )
