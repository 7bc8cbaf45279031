"""Entries of a chain in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from desk.about import about
from ledger.erasure import with_keys
from ledger.kinds import Kind
from ledger.models import Entry
from parties.models import Role, Side, Sitter

WORDS: dict[str, str | Promise] = {
    Kind.DOSSIER_OPENED: _("The dossier was opened"),
    Kind.SEAT_TAKEN: _("A seat was taken"),
    Kind.SITTER_SEATED: _("A person sat down"),
    Kind.SITTER_UNSEATED: _("A person left the seat"),
    Kind.KEY_CERTIFIED: _("A signing key was certified"),
    Kind.SIGNATURE_MADE: _("A signature was made"),
    Kind.REVISION_PROPOSED: _("A revision of the terms was proposed"),
    Kind.REVISION_COUNTERED: _("A revision was answered by another"),
    Kind.REVISION_AGREED: _("A side agreed to a revision"),
    Kind.REVISION_SIGNED: _("A side signed a revision"),
    Kind.REVISION_WITHDRAWN: _("A revision was withdrawn"),
    Kind.REMARK_MADE: _("A remark was made"),
    Kind.REMARK_STRUCK: _("A remark was struck"),
    Kind.AGREEMENT_SUSPENDED: _("The agreement was suspended"),
    Kind.AGREEMENT_RESUMED: _("The agreement was taken up again"),
    Kind.AGREEMENT_ENDED: _("The agreement was ended"),
    Kind.REFERENCE_ENTERED: _("A reference was entered"),
    Kind.CHIP_ENTERED: _("Chips of a pack were entered"),
    Kind.CHIP_USED: _("A chip was used"),
    Kind.FILE_ENTERED: _("A file was entered"),
    Kind.ARTICLE_SUBMITTED: _("A first article was submitted"),
    Kind.ARTICLE_APPROVED: _("A first article was approved"),
    Kind.ARTICLE_APPROVED_WITH_LIMITS: _("A first article was approved with limits"),
    Kind.ARTICLE_RETURNED: _("A first article was returned to be corrected"),
    Kind.LOT_OPENED: _("A lot was opened"),
    Kind.LOT_RELEASED: _("A lot was released"),
    Kind.LOT_RECEIVED: _("A lot was received"),
    Kind.LOT_ACCEPTED: _("A lot was accepted"),
    Kind.LOT_REJECTED: _("A lot was rejected"),
    Kind.LOT_HELD: _("A lot was held"),
    Kind.LOT_WITHDRAWN: _("A lot was withdrawn"),
    Kind.LOT_CLOSED: _("A lot was closed"),
    Kind.SUBMISSION_MADE: _("Evidence was handed in"),
    Kind.VERDICT_GIVEN: _("A verdict was given"),
    Kind.DISPUTE_RAISED: _("A dispute was raised"),
    Kind.DISPUTE_ANSWERED: _("A rejection was answered"),
    Kind.EXAMINATION_BEGUN: _("The examination began"),
    Kind.DISPUTE_SETTLED: _("A dispute was settled"),
    Kind.DISPUTE_WITHDRAWN: _("A dispute was withdrawn"),
    Kind.POST_MADE: _("A statement was made"),
    Kind.POST_STRUCK: _("A statement was struck"),
    Kind.REMEDY_OFFERED: _("A remedy was offered"),
    Kind.REMEDY_DECLINED: _("A remedy was declined"),
    Kind.SETTLEMENT_AGREED: _("A side agreed to a settlement"),
    Kind.KEY_REVOKED: _("A signing key was revoked"),
    Kind.SEAL_CERTIFIED: _("A firm's sealing certificate was entered"),
    Kind.DOCUMENT_SEALED: _("A PDF was sealed"),
    Kind.SEAT_LIMITED: _("The end of a seat was set"),
    Kind.PERSON_NAMED: _("The name behind a code was entered"),
    Kind.PERSON_ERASED: _("A person's erasable entries were erased"),
    Kind.READING_OPENED: _("The reading log was begun"),
    Kind.PAGE_READ: _("A page was read"),
    Kind.RECORD_TAKEN: _("A copy of the record was taken"),
    Kind.CHECKPOINT_GIVEN: _("A checkpoint was handed out"),
    Kind.CHECKPOINT_COMPARED: _("A checkpoint was compared with the chain"),
}


@dataclass(frozen=True)
class Row:
    """One entry as the timeline shows it; its content in words is `desk.payload.facts_of`."""

    entry: Entry
    words: str | Promise
    side: str | Promise
    role: str | Promise
    about: str


def rows(entries: Iterable[Entry], sitter: Sitter) -> list[Row]:
    """Entries in words; the service's own acts (verdicts) have no side."""
    found = with_keys(entries)
    things = about(found, sitter)
    return [row_of(entry, things[entry.number]) for entry in found]


def row_of(entry: Entry, thing: str) -> Row:
    """One entry in words; `thing`: what it is about."""
    sides = dict(Side.choices)
    side = sides.get(entry.side, _("this service"))
    role = dict(Role.choices).get(entry.role, "")
    return Row(entry, WORDS[entry.kind], side, role, thing)
