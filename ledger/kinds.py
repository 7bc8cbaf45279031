"""Kinds of entries and the schema of each payload.

Grammar of a kind: `noun.past-participle`, lowercase, words joined by hyphens. One enum; a kind that
is retired keeps its line here and its name is never used again. Payloads hold codes, numbers,
digests and what people wrote; decimals are strings; a person's name stands only where a signature
needs it.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated, Any, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from ledger.canonical import canonical_bytes

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


Code = Annotated[str, Field(pattern=r"^[A-Za-z0-9._:/-]{1,120}$")]
Digest = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Day = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")]
Line = Annotated[str, Field(min_length=1, max_length=500)]
Text = Annotated[str, Field(max_length=20_000)]
Nth = Annotated[int, Field(ge=1)]
# Public facts of a register row or a move: flat, no floats.
Facts = dict[str, str | int | bool | list[str] | None]


class Payload(BaseModel):
    """Base: no unknown fields, no coercion; only fields that were given are written."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class SeatFacts(Payload):
    """One organisation's seat: its side, code and name."""

    side: Code
    organisation: Code
    name: Line


class DossierOpened(Payload):
    """The chain begins: what the dossier is for and who sits in it."""

    title: Line
    purpose: Code
    seats: list[SeatFacts] = []


class SitterSeated(Payload):
    """A person, by code, takes a role on a side."""

    person: Code
    role: Code
    side: Code
    organisation: Code | None = None


class SitterUnseated(Payload):
    """A person leaves the seat."""

    person: Code
    role: Code | None = None
    side: Code | None = None
    reason: Text = ""


class Credential(Payload):
    """The passkey whose public part is certified: its id (base64url), relying party and origin."""

    id: Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]{16,1400}$")]
    relying_party: Annotated[str, Field(pattern=r"^[a-z0-9.-]{1,253}$")]
    origin: Annotated[str, Field(pattern=r"^https?://[a-z0-9.:-]{1,260}$")]


class KeyCertified(Payload):
    """The certificate of a signatory's key, copied into the chain before the first signature.

    `replaces`: the key it takes the place of; `confirmed_by`: the second person of the same
    organisation, where one had to agree; `credential`: of a passkey, and of nothing else.
    """

    person: Code
    organisation: Code
    side: Code
    certificate: Annotated[str, Field(max_length=16_384)]  # base64 of the DER
    fingerprint: Digest
    assurance: Code
    replaces: Digest | None = None
    confirmed_by: Code | None = None
    credential: Credential | None = None


class KeyRevoked(Payload):
    """A key is not to be used any more: what it signs after this entry does not count."""

    person: Code
    organisation: Code
    side: Code
    fingerprint: Digest
    reason: Text = ""
    confirmed_by: Code | None = None


class PasskeyEvidence(Payload):
    """What an authenticator gave back (Web Authentication level 2), each in unpadded base64url."""

    authenticator_data: Annotated[str, Field(max_length=4_096)]
    client_data: Annotated[str, Field(max_length=8_192)]
    signature: Annotated[str, Field(max_length=1_024)]


class SignatureMade(Payload):
    """A signature: the statement's canonical text and the proof: a detached JWS, or a passkey's."""

    statement: Annotated[str, Field(max_length=65_536)]
    jws: Annotated[str | None, Field(max_length=4_096)] = None
    passkey: PasskeyEvidence | None = None
    fingerprint: Digest

    @model_validator(mode="after")
    def _one_proof(self) -> Self:
        given = self.model_fields_set & {"jws", "passkey"}
        if len(given) != 1 or getattr(self, next(iter(given))) is None:
            raise PydanticCustomError("one_proof", "a signature has either jws or passkey")
        return self


class SealCertified(Payload):
    """An organisation's certificate with which the service seals PDFs on its behalf."""

    organisation: Code
    side: Code
    certificate: Annotated[str, Field(max_length=16_384)]  # base64 of the DER
    fingerprint: Digest
    issuer: Annotated[str, Field(pattern="^(installation|own)$")]


class DocumentSealed(Payload):
    """A PDF that shows a document, sealed by the service; its bytes are among the blobs.

    `shows`: digest of the document it was made from; `digest`: of the PDF; `seals`: fingerprints of
    the certificates that seal it, in order; `continues`: the PDF that this one begins with.
    """

    what: Code
    revision: Nth | None = None
    shows: Digest
    digest: Digest
    seals: list[Digest]
    continues: Digest | None = None


class SeatLimited(Payload):
    """A seat ends after a day, or goes on without an end (`until` null)."""

    side: Code
    organisation: Code
    until: Day | None
    reason: Text = ""


class PersonNamed(Payload):
    """The name behind a code; written so that it can be erased."""

    person: Code
    name: Line


class PersonErased(Payload):
    """The key under which a person's erasable payloads lie was destroyed."""

    person: Code
    reason: Text = ""


class ReadingOpened(Payload):
    """A reading chain begins: of which chain it tells."""

    of: Code


class PageRead(Payload):
    """Somebody opened a page of the record: which, and of which entry."""

    page: Code
    entry: Nth | None = None


class RecordTaken(Payload):
    """Somebody took a copy of the record out, up to this head."""

    form: Annotated[str, Field(pattern="^(whole|part)$")]
    about: Line | None = None
    number: Nth
    hash: Digest
    digest: Digest


class CheckpointGiven(Payload):
    """A checkpoint was handed out: to whom, how, and which head it names."""

    to: Code
    by: Annotated[str, Field(pattern="^(page|mail|record)$")]
    number: Nth
    hash: Digest


class CheckpointCompared(Payload):
    """Somebody compared a checkpoint they hold with the chain of today."""

    number: Nth
    hash: Digest
    outcome: Annotated[str, Field(pattern="^(extended|not-extended)$")]


class RevisionFrozen(Payload):
    """A revision was proposed or countered; the terms bytes are among the blobs."""

    number: Nth
    digest: Digest
    based_on: Nth | None = None
    side: Code
    note: Text = ""


class RevisionNamed(Payload):
    """A side agreed to, or signed, the revision with exactly this digest."""

    number: Nth
    digest: Digest
    side: Code


class RevisionSigned(RevisionNamed):
    """The signature entry of the same act is named by its nonce."""

    nonce: Digest | None = None


class RevisionWithdrawn(Payload):
    """A side took a revision back before the second signature."""

    number: Nth
    digest: Digest | None = None
    side: Code | None = None
    reason: Text = ""


class RemarkMade(Payload):
    """A remark on a clause or on one of its items."""

    revision: Nth
    clause: Line
    item: Line | None = None
    part: Line | None = None
    text: Text


class Reasoned(Payload):
    """An act whose only content is the reason given."""

    reason: Text = ""


class AgreementStands(Reasoned):
    """From which day the agreement is suspended, resumed or ended, and why."""

    from_day: Day | None = None


class ReferenceEntered(Payload):
    """Public facts of a reference that both sides rely on."""

    name: Line
    kind: Code
    facts: Facts = {}


class ChipEntered(Payload):
    """Tear-off chips of a shared pack, by the labels printed on them; the subject is the pack."""

    name: Line
    labels: list[Line]


class ChipUsed(Payload):
    """A chip of a shared pack was torn off: its label, when, and for what."""

    name: Line
    on: Day
    note: Text = ""


class FileEntered(Payload):
    """A file became part of the record; its bytes are among the blobs."""

    name: Line
    digest: Digest
    media_type: Line | None = None
    purpose: Code | None = None


class ArticleSubmitted(Payload):
    """A first article was handed in."""

    part: Line
    nth: Nth
    digest: Digest | None = None
    revision: Nth | None = None
    note: Text = ""
    facts: Facts = {}


class ArticleDecided(Payload):
    """A first article was approved (with or without limits) or returned for correction."""

    digest: Digest | None = None
    quantity: Nth | None = None
    until: Day | None = None
    note: Text = ""
    corrections: list[Text] = []
    facts: Facts = {}


class LotOpened(Payload):
    """A lot and the revision that binds it."""

    number: Line
    order: Line
    accepted_on: Day
    part: Line
    revision: Nth
    quantity: Nth


class LotMoved(Payload):
    """A lot changed its state."""

    quantity: Nth | None = None
    verdict: Digest | None = None
    on: Day | None = None
    note: Text = ""
    reason: Text = ""
    facts: Facts = {}


class SubmissionMade(Payload):
    """Evidence was frozen; its bytes and everything it refers to are among the blobs."""

    purpose: Code
    nth: Nth
    digest: Digest
    lot: Line | None = None
    article: Line | None = None


class VerdictGiven(Payload):
    """The verdict on a submission; its bytes are among the blobs."""

    submission: Digest
    digest: Digest
    outcome: Annotated[str, Field(pattern="^(conforming|nonconforming|inconclusive|incomplete)$")]


class Ground(Payload):
    """One ground of a dispute: the clause, the specimens, and compared with what."""

    clause: Line
    specimens: list[Line] = []
    compared_with: Line | None = None
    text: Text = ""


class DisputeRaised(Payload):
    """A rejection is disputed or complained of."""

    lot: Line
    grounds: list[Ground]
    containment: Facts = {}
    text: Text = ""


class Said(Payload):
    """What one side said in the thread, with the digests of files it names."""

    text: Text
    files: list[Digest] = []
    facts: Facts = {}


class RemedyOffered(Payload):
    """A remedy that the other side may agree to or decline."""

    remedy: Code | None = None
    text: Text = ""
    digest: Digest | None = None
    facts: Facts = {}


class SettlementAgreed(Payload):
    """A side agreed to the settlement with exactly this digest."""

    digest: Digest
    side: Code | None = None
    facts: Facts = {}


class DisputeClosed(Payload):
    """A dispute was settled or withdrawn."""

    digest: Digest | None = None
    reason: Text = ""


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
