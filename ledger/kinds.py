"""Kinds of entries, and which schema of `ledger.payloads` each payload has.

Grammar of a kind: `noun.past-participle`, lowercase, words joined by hyphens. One enum; a kind that
is retired keeps its line here and its name is never used again.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any

from pydantic import ValidationError

from ledger.canonical import canonical_bytes
from ledger.payloads import (
    AgreementStands,
    ArticleDecided,
    ArticleSubmitted,
    CheckpointCompared,
    CheckpointGiven,
    ChipEntered,
    ChipUsed,
    DisputeClosed,
    DisputeRaised,
    DocumentSealed,
    DossierOpened,
    FileEntered,
    KeyCertified,
    KeyRevoked,
    LotMoved,
    LotOpened,
    PageRead,
    Payload,
    PersonErased,
    PersonNamed,
    ReadingOpened,
    Reasoned,
    RecordTaken,
    ReferenceEntered,
    RemarkMade,
    RemedyOffered,
    RevisionFrozen,
    RevisionNamed,
    RevisionSigned,
    RevisionWithdrawn,
    Said,
    SealCertified,
    SeatFacts,
    SeatLimited,
    SettlementAgreed,
    SignatureMade,
    SitterSeated,
    SitterUnseated,
    SubmissionMade,
    VerdictGiven,
)

GRAMMAR = r"[a-z]+(-[a-z]+)*\.[a-z]+(-[a-z]+)*"


class Kind(StrEnum):
    """Every kind of entry there is."""

    DOSSIER_OPENED = "dossier.opened"
    SEAT_TAKEN = "seat.taken"
    SITTER_SEATED = "sitter.seated"
    SITTER_UNSEATED = "sitter.unseated"
    KEY_CERTIFIED = "key.certified"
    SIGNATURE_MADE = "signature.made"
    REVISION_PROPOSED = "revision.proposed"
    REVISION_COUNTERED = "revision.countered"
    REVISION_AGREED = "revision.agreed"
    REVISION_SIGNED = "revision.signed"
    REVISION_WITHDRAWN = "revision.withdrawn"
    REMARK_MADE = "remark.made"
    REMARK_STRUCK = "remark.struck"
    AGREEMENT_SUSPENDED = "agreement.suspended"
    AGREEMENT_RESUMED = "agreement.resumed"
    AGREEMENT_ENDED = "agreement.ended"
    REFERENCE_ENTERED = "reference.entered"
    CHIP_ENTERED = "chip.entered"
    CHIP_USED = "chip.used"
    FILE_ENTERED = "file.entered"
    ARTICLE_SUBMITTED = "article.submitted"
    ARTICLE_APPROVED = "article.approved"
    ARTICLE_APPROVED_WITH_LIMITS = "article.approved-with-limits"
    ARTICLE_RETURNED = "article.returned"
    LOT_OPENED = "lot.opened"
    LOT_RELEASED = "lot.released"
    LOT_RECEIVED = "lot.received"
    LOT_ACCEPTED = "lot.accepted"
    LOT_REJECTED = "lot.rejected"
    LOT_HELD = "lot.held"
    LOT_WITHDRAWN = "lot.withdrawn"
    LOT_CLOSED = "lot.closed"
    SUBMISSION_MADE = "submission.made"
    VERDICT_GIVEN = "verdict.given"
    DISPUTE_RAISED = "dispute.raised"
    DISPUTE_ANSWERED = "dispute.answered"
    EXAMINATION_BEGUN = "examination.begun"
    DISPUTE_SETTLED = "dispute.settled"
    DISPUTE_WITHDRAWN = "dispute.withdrawn"
    POST_MADE = "post.made"
    POST_STRUCK = "post.struck"
    REMEDY_OFFERED = "remedy.offered"
    REMEDY_DECLINED = "remedy.declined"
    SETTLEMENT_AGREED = "settlement.agreed"
    # Keys, seals and persons.
    KEY_REVOKED = "key.revoked"
    SEAL_CERTIFIED = "seal.certified"
    DOCUMENT_SEALED = "document.sealed"
    SEAT_LIMITED = "seat.limited"
    PERSON_NAMED = "person.named"
    PERSON_ERASED = "person.erased"
    # A dossier's reading chain: who took what out of it. Never in the dossier's own chain.
    READING_OPENED = "reading.opened"
    PAGE_READ = "page.read"
    RECORD_TAKEN = "record.taken"
    CHECKPOINT_GIVEN = "checkpoint.given"
    CHECKPOINT_COMPARED = "checkpoint.compared"


SCHEMAS: Mapping[Kind, type[Payload]] = {
    Kind.DOSSIER_OPENED: DossierOpened,
    Kind.SEAT_TAKEN: SeatFacts,
    Kind.SITTER_SEATED: SitterSeated,
    Kind.SITTER_UNSEATED: SitterUnseated,
    Kind.KEY_CERTIFIED: KeyCertified,
    Kind.SIGNATURE_MADE: SignatureMade,
    Kind.REVISION_PROPOSED: RevisionFrozen,
    Kind.REVISION_COUNTERED: RevisionFrozen,
    Kind.REVISION_AGREED: RevisionNamed,
    Kind.REVISION_SIGNED: RevisionSigned,
    Kind.REVISION_WITHDRAWN: RevisionWithdrawn,
    Kind.REMARK_MADE: RemarkMade,
    Kind.REMARK_STRUCK: Reasoned,
    Kind.AGREEMENT_SUSPENDED: AgreementStands,
    Kind.AGREEMENT_RESUMED: AgreementStands,
    Kind.AGREEMENT_ENDED: AgreementStands,
    Kind.REFERENCE_ENTERED: ReferenceEntered,
    Kind.CHIP_ENTERED: ChipEntered,
    Kind.CHIP_USED: ChipUsed,
    Kind.FILE_ENTERED: FileEntered,
    Kind.ARTICLE_SUBMITTED: ArticleSubmitted,
    Kind.ARTICLE_APPROVED: ArticleDecided,
    Kind.ARTICLE_APPROVED_WITH_LIMITS: ArticleDecided,
    Kind.ARTICLE_RETURNED: ArticleDecided,
    Kind.LOT_OPENED: LotOpened,
    Kind.LOT_RELEASED: LotMoved,
    Kind.LOT_RECEIVED: LotMoved,
    Kind.LOT_ACCEPTED: LotMoved,
    Kind.LOT_REJECTED: LotMoved,
    Kind.LOT_HELD: LotMoved,
    Kind.LOT_WITHDRAWN: LotMoved,
    Kind.LOT_CLOSED: LotMoved,
    Kind.SUBMISSION_MADE: SubmissionMade,
    Kind.VERDICT_GIVEN: VerdictGiven,
    Kind.DISPUTE_RAISED: DisputeRaised,
    Kind.DISPUTE_ANSWERED: Said,
    Kind.EXAMINATION_BEGUN: Reasoned,
    Kind.DISPUTE_SETTLED: DisputeClosed,
    Kind.DISPUTE_WITHDRAWN: DisputeClosed,
    Kind.POST_MADE: Said,
    Kind.POST_STRUCK: Reasoned,
    Kind.REMEDY_OFFERED: RemedyOffered,
    Kind.REMEDY_DECLINED: Reasoned,
    Kind.SETTLEMENT_AGREED: SettlementAgreed,
    Kind.KEY_REVOKED: KeyRevoked,
    Kind.SEAL_CERTIFIED: SealCertified,
    Kind.DOCUMENT_SEALED: DocumentSealed,
    Kind.SEAT_LIMITED: SeatLimited,
    Kind.PERSON_NAMED: PersonNamed,
    Kind.PERSON_ERASED: PersonErased,
    Kind.READING_OPENED: ReadingOpened,
    Kind.PAGE_READ: PageRead,
    Kind.RECORD_TAKEN: RecordTaken,
    Kind.CHECKPOINT_GIVEN: CheckpointGiven,
    Kind.CHECKPOINT_COMPARED: CheckpointCompared,
}


class PayloadError(ValueError):
    """A payload that does not fit the schema of its kind; the message names the field."""


def payload_bytes(kind: Kind, payload: Mapping[str, Any]) -> bytes:
    """The canonical bytes of a payload checked against its schema; raises PayloadError."""
    try:
        checked = SCHEMAS[kind].model_validate(dict(payload))
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        field = ".".join(str(part) for part in first["loc"]) or "payload"
        raise PayloadError(f"{kind}: {field}: {first['msg']}") from None
    return canonical_bytes(checked.model_dump(mode="json", exclude_unset=True))
