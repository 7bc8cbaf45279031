"""The schema of each kind's payload: what an entry may say, field by field.

Payloads hold codes, numbers, digests and what people wrote; decimals are strings; a person's name
stands only where a signature needs it. Which schema belongs to which kind: `ledger.kinds`.
"""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

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
    seal: Line | None = None
    expires_on: Day | None = None
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
