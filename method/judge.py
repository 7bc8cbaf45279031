"""The verdict: a pure function of terms, submission and the blobs it names, and nothing else.

`judge` gives canonical JSON bytes; the same three inputs give the same bytes in any process,
time zone and locale. Steps: read and check the inputs, hear the panel, measure, check the
evidence, count, combine, write.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from ledger.canonical import canonical_bytes, digest
from method.routing import check
from method.submission import Submission, SubmissionError, parse_submission
from method.terms.combination import instrument_due, visual_due
from method.terms.document import parse_terms
from method.terms.errors import TermsError
from method.terms.models import Resolved
from method.terms.resolve import resolve
from method.verdict.document import document
from method.verdict.errors import JUDGE_ERRORS, JudgeError
from method.verdict.findings import Findings, Part, by_eye, by_instrument
from method.verdict.instrument import measure
from method.verdict.panel import answers, hear
from method.verdict.rules import Rules, rules_of
from method.verdict.spectra import Spectra, common_grid

__all__ = ["ENGINE", "JUDGE_ERRORS", "JudgeError", "judge", "opened"]

# Major: what a verdict means has changed. Minor: more is carried; what older submissions give
# keeps its bytes.
ENGINE = "1.0.0"


def judge(terms: bytes, submission: bytes, blobs: Mapping[str, bytes]) -> bytes:
    """The verdict (version 1, canonical JSON) of a submission under the terms it names.

    blobs: bytes by SHA-256; those judging needs are the packed sets the submission names.
    Raises JudgeError (id, detail) for inputs this engine cannot judge; evidence that is missing
    or invalid is no error but gives *incomplete*.
    """
    handed_in, rules, spectra = opened(terms, submission, blobs)
    findings = _find(handed_in, rules, spectra)
    eye, instrument = by_eye(rules, findings), by_instrument(rules, findings)
    checked = check(handed_in, rules, spectra, findings, _wanted(rules, eye, instrument))
    return canonical_bytes(
        document(handed_in, digest(submission), rules, findings, eye, instrument, checked)
    )


def opened(
    terms: bytes, submission: bytes, blobs: Mapping[str, bytes]
) -> tuple[Submission, Rules, Spectra]:
    """The inputs of `judge`, read and checked, for whoever needs what a verdict rests on."""
    handed_in = _submission(submission)
    return handed_in, rules_of(_clauses(terms, handed_in), handed_in), Spectra(_checked(blobs))


def _submission(data: bytes) -> Submission:
    """The submission, if its engine's version is carried here."""
    try:
        submission = parse_submission(data)
    except SubmissionError as error:
        raise JudgeError("submission_unreadable", str(error)) from None
    major, minor, _ = (int(number) for number in submission.engine.split("."))
    own_major, own_minor, _ = (int(number) for number in ENGINE.split("."))
    if major != own_major or minor > own_minor:
        raise JudgeError("engine_unlike", f"made for {submission.engine}; this is {ENGINE}")
    if submission.permissions:
        raise JudgeError("permission_not_carried", submission.permissions[0].document)
    return submission


def _clauses(data: bytes, submission: Submission) -> Resolved:
    """The clauses that bind the submission's part."""
    if digest(data) != submission.terms:
        raise JudgeError("terms_unlike", f"{digest(data)} is not {submission.terms}")
    try:
        terms = parse_terms(data)
    except TermsError as error:
        raise JudgeError("terms_unreadable", str(error)) from None
    try:
        return resolve(terms, submission.part)
    except TermsError:
        raise JudgeError("part_unknown", submission.part) from None


def _checked(blobs: Mapping[str, bytes]) -> Callable[[str], bytes]:
    """Bytes of a blob by digest, hashed again before they are believed."""

    def fetch(name: str) -> bytes:
        try:
            data = blobs[name]
        except KeyError:
            raise JudgeError("blob_missing", name) from None
        if digest(data) != name:
            raise JudgeError("blob_unlike", name)
        return data

    return fetch


def _find(submission: Submission, rules: Rules, spectra: Spectra) -> Findings:
    heard = hear(submission, rules.panel)
    labels = [specimen.label for specimen in submission.specimens]
    grid = rules.grid or common_grid(submission, spectra)
    measured = measure(submission, rules, spectra, grid)
    return Findings(heard, answers(heard, labels, rules.panel), measured)


def _wanted(rules: Rules, eye: Part, instrument: Part) -> dict[str, bool]:
    """Which part the combination table cannot do without, given what the other one found."""
    decision = rules.clauses.decision
    return {
        "spectral": rules.instrument and instrument_due(decision, eye.finding),
        "visual": rules.eye and visual_due(decision, instrument.finding),
    }
