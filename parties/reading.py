"""The reading log: who took what out of a dossier, in a chain of its own beside the dossier's.

Only this chain may grow by a GET. The two sides read what is their own unobserved: logging each
glance would watch over their staff. Whoever else sits in an agreement (an auditor) is logged by
page and file, whichever it is (the access mark does it, `parties.logged`), and is not
shown one whose reading could not be logged. What leaves the house (a copy of the record, a
checkpoint) is logged for everybody. Both sides see the log.

Not logged: registers, where nobody is a guest; one's own desk, which names agreements and what
awaits one there; and the calls by which a page that is open asks whether its work is done
(`parties.states`).

Locks: an act that also writes the dossier's chain takes that lock first, then this one.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from ledger import chain, clock
from ledger.chain import SYSTEM, Actor, Head
from ledger.kinds import Kind
from ledger.models import Entry
from parties.capacity import Capacity
from parties.models import Dossier, Sitter
from parties.sides import GUESTS

SUFFIX = ".reading"


def chain_of(dossier: Dossier) -> str:
    """The name of the dossier's reading chain."""
    return f"{dossier.chain}{SUFFIX}"


def entries(dossier: Dossier) -> QuerySet[Entry]:
    """What was logged, in order; empty where nothing was yet."""
    return chain.entries(chain_of(dossier))


def watched(sitter: Sitter) -> bool:
    """Whether it is logged what they read: guests of an agreement."""
    return sitter.dossier.purpose == Dossier.Purpose.AGREEMENT and sitter.seat.side in GUESTS


def page_read(sitter: Sitter, page: str, entry: int | None = None, about: str = "") -> None:
    """That a guest read a page; once a person, page, thing and hour: a page that is opened again,
    paged or filtered tells nothing more and would only make the log longer.

    page: the name of its address; entry: of which entry of the chain; about: the subject of which
    thing, or of which file of it.
    """
    if not watched(sitter):
        return
    facts: dict[str, Any] = {"page": page} | ({"entry": entry} if entry else {})
    hour = f"{clock.now():%Y%m%d%H}"
    by = Capacity(sitter).actor()
    act = f"{by.person}-{page}-{entry or 0}-{hour}"
    _log(sitter.dossier, by, Kind.PAGE_READ, about or f"page/{page}", act, facts)


def record_taken(
    sitter: Sitter, *, copy: str, about: str, number: int, hash: str, digest: str
) -> None:
    """That somebody downloaded a copy of the record; once a person, copy and hour.

    copy: its id; about: the subject of a part, or nothing; number, hash: the head it holds;
    digest: SHA-256 of the file.
    """
    by = Capacity(sitter).actor()
    facts = {"form": "part" if about else "whole", "number": number, "hash": hash}
    facts |= {"digest": digest} | ({"about": about} if about else {})
    act = f"{by.person}-{copy.replace('-', '')}-{clock.now():%Y%m%d%H}"
    _log(sitter.dossier, by, Kind.RECORD_TAKEN, f"record/{copy}", act, facts)


def checkpoint_given(sitter: Sitter, head: Head, way: str, *, act: str = "") -> None:
    """That somebody was handed the checkpoint of this head. way: "page" or "record" (they fetched
    it; once a person and head) or "mail" (the service sent it; `act`: the act it told of)."""
    fetched = way != "mail"
    by = Capacity(sitter).actor() if fetched else SYSTEM
    act = act or f"{sitter.code}-{way}-{head.number}"
    facts = {"to": sitter.code, "by": way, "number": head.number, "hash": head.hash}
    subject = f"sitter:{sitter.code}"
    _log(sitter.dossier, by, Kind.CHECKPOINT_GIVEN, subject, act, facts)


def checkpoint_compared(by: Capacity, head: Head, outcome: str) -> None:
    """That somebody compared a checkpoint of this head with the chain of today."""
    facts = {"number": head.number, "hash": head.hash, "outcome": outcome}
    act = chain.new_act()
    _log(by.dossier, by.actor(), Kind.CHECKPOINT_COMPARED, "checkpoint", act, facts)


def _log(
    dossier: Dossier, by: Actor, kind: Kind, subject: str, act: str, payload: Mapping[str, Any]
) -> None:
    """One entry, unless this act has it already; opens the log where there is none."""
    name = chain_of(dossier)
    # Asked before any lock is taken: most readings of a page were logged within the hour.
    if chain.entries(name).filter(act=act, kind=kind.value, subject=subject).exists():
        return
    with transaction.atomic():
        if not chain.exists(name):
            chain.open_chain(name)
            # The same act in every process: whoever comes second finds the entry there.
            facts = {"of": dossier.chain}
            opened = {"kind": Kind.READING_OPENED, "subject": "reading", "act": "opened"}
            chain.append(name, by=SYSTEM, payload=facts, **opened)
        chain.append(name, by=by, kind=kind, subject=subject, act=act, payload=payload)
