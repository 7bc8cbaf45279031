"""Names behind codes in the record, and their erasure. Not legal advice.

A chain knows people by code. Whose name stands behind a code of staff and observers only their own
firm reads; the other side and auditors read the names of those who sign. The signed record shows
everything to all of them, so no name is entered by itself when somebody sits down or judges: that
would tell the other side what no page tells it. Where a firm wants the name in the record, its
quality lead enters it by an act of its own, which says who will read it. The entry lies under the
key of that code in that chain and nobody can read it any more once the key is destroyed.
"""

from __future__ import annotations

import uuid

from axes.utils import reset
from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from jobs import mail, queue
from ledger import chain, clock, erasure
from ledger.kinds import Kind
from parties.access import LEADS, TWO_SIDES
from parties.capacity import Capacity
from parties.chain_keys import actor_in, chain_keys
from parties.models import Code, Dossier, Invitation, Observer, Person, Role, Side, Sitter
from parties.personal import Traces, traces_of
from parties.refusal import Refusal
from parties.transitions.seats import open_dossier_chain

DROP_COPIES = "desk.drop-copies"
NOBODY = "–"  # stands where a name stood
GONE = "erased.invalid"  # a domain that never receives mail (RFC 2606)


def nameable(by: Capacity) -> dict[str, str]:
    """Names by code of one's own side that can be entered in this agreement's record: of people who
    sit here without a certified key, and of one's own observers who were given a code here."""
    sitting = Sitter.objects.today().filter(seat=by.sitter.seat).select_related("person")
    found = {one.code: one.person.name for one in sitting}
    rows = Observer.objects.of_firm(by.organisation).current().filter(person__isnull=True)
    keys = {f"observer:{row.key}": row.name for row in rows}
    drawn = Code.objects.filter(dossier=by.dossier, key__in=["", *keys])
    found |= {code: keys[key] for key, code in drawn.values_list("key", "code")}
    place = by.dossier.chain
    certified = {one.person for one in chain_keys(place).values()}
    dead = {code for code, key in erasure.keys_of(place).items() if key.sealed is None}
    said = {code: name for code, name in _named(place).items() if code not in dead}
    return {
        code: name
        for code, name in sorted(found.items())
        if code not in certified | dead and said.get(code) != name
    }


def _named(place: str) -> dict[str, str]:
    """The names that the record holds now, the last one of each code."""
    rows = chain.entries(place).filter(kind=Kind.PERSON_NAMED.value)
    found: dict[str, str] = {}
    for entry in erasure.with_keys(rows):
        if erasure.erased_at(entry) is None:
            found[entry.payload["person"]] = entry.payload["name"]
    return found


def name_person(dossier: Dossier, *, by: Capacity, code: str) -> Dossier:
    """Enter the name behind a code of one's own side, so that it can be erased."""
    if by.role not in LEADS or by.side not in TWO_SIDES:
        raise Refusal("personal.lead", _("Names are entered by the quality lead of their firm."))
    with transaction.atomic():
        open_dossier_chain(dossier, by)
        erasure.lock([dossier.chain])
        name = nameable(by).get(code)
        if name is None:
            raise Refusal(
                "personal.not_nameable",
                _("This name cannot be entered: it stands in the record, or was erased from it."),
                field="code",
            )
        chain.append(
            dossier.chain,
            by=by.actor(),
            kind=Kind.PERSON_NAMED,
            subject=erasure.subject(code),
            act=chain.new_act(),
            payload={"person": code, "name": name},
            personal=code,
        )
    return dossier


def erase_person(key: str, *, by: Capacity) -> Traces:
    """Erase what can be erased of somebody of one's own firm (`parties.personal`); again changes
    nothing.

    Destroys the keys of all codes, says so in each chain where there was one, and takes name and
    address from the account unless another firm needs it. A signatory keeps the name that stands
    in certificates. Returns what there was.
    """
    if by.role != Role.ADMINISTRATOR or by.side != Side.OWN:
        raise Refusal("personal.administrator", _("Only your firm's administrator erases."))
    with transaction.atomic():
        erasure.lock(place for place, _code in _find(key, by).codes)
        found = _find(key, by)  # as it stands while nobody can add to it
        act = chain.new_act()
        for place, code in found.codes:
            if (place, code) in found.live:
                _tell(place, code, by, act)
            erasure.destroy(place, code)
        if found.person is not None and not found.elsewhere:
            _close(found.person, keep_name=found.signatory)
    return found


def _find(key: str, by: Capacity) -> Traces:
    for one in traces_of(by.organisation):
        if one.key == key:
            return one
    raise Refusal(
        "personal.not_gone",
        _(
            "Nobody is erased who is a member of your firm or sits on a seat of it. Let them go "
            "first."
        ),
    )


def _tell(place: str, code: str, by: Capacity, act: str) -> None:
    dossier = Dossier.objects.get(pk=uuid.UUID(place))
    chain.append(
        place,
        by=actor_in(dossier, by.person, by.organisation),
        kind=Kind.PERSON_ERASED,
        subject=erasure.subject(code),
        act=act,
        payload={"person": code},
    )
    # Copies of the record that are kept here hold the name too.
    queue.enqueue(
        DROP_COPIES, subject=place, chain=place, key=f"drop-copies/{place}/{code}", dossier=place
    )


def _close(person: Person, *, keep_name: bool) -> None:
    """Nobody signs in with this account any more, and what named its owner here is gone."""
    rows = Person.objects.select_for_update().filter(pk=person.pk, erased_at__isnull=True)
    stands = rows.first()
    if stands is None:
        return
    email = stands.email
    stands.set_unusable_password()
    rows.update(
        name=stands.name if keep_name else NOBODY,
        email=f"{person.pk}@{GONE}",
        password=stands.password,
        is_active=False,
        last_login=None,
        erased_at=clock.now(),
    )
    # Another firm may be inviting this address now: that invitation is the other firm's.
    open_now = Q(status=Invitation.Status.OPEN, expires_at__gt=clock.now())
    told = Q(accepted_by=person) | (Q(email=email) & ~open_now)
    Invitation.objects.filter(told).update(email=f"{person.pk}@{GONE}")
    mail.take_back(email)
    reset(username=email)  # failed attempts to sign in
