"""Looking into the seals of a PDF: what each covers, and whether it holds under own roots.

pyHanko is loaded when it is needed.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

MOST_SEALS = 16  # of one file that is looked into
# What a seal covers: the whole file, the file up to a later seal, or neither.
WHOLE, EARLIER, ODD = "file", "revision", "part"

# Judgements are returned; the library would log each refused path with its traceback.
logging.getLogger("pyhanko").setLevel(logging.ERROR)


class SealingError(Exception):
    """A PDF that cannot be sealed or looked into; the message says why."""


@dataclass(frozen=True)
class Seal:
    """One seal as found in a file.

    `holds`: the bottom line: bytes as sealed, signature right, certificate under one of the roots
    and valid at `at`, time stamp (if any) right, and later changes only further seals. `intact`
    and `valid` stay true when somebody appends to the file: they are no judgement.
    """

    field: str
    name: str
    reason: str
    fingerprint: str
    at: datetime | None
    certifies: bool
    covers: str
    intact: bool
    valid: bool
    trusted: bool
    holds: bool
    stamped_at: datetime | None = None


def stamp_holds(pdf: bytes, name: str, roots: Sequence[bytes]) -> bool:
    """Whether the time stamp of the seal just made is right, and under one of the roots if any."""
    from pyhanko.pdf_utils.reader import PdfFileReader

    found = PdfFileReader(io.BytesIO(pdf)).embedded_signatures
    embedded = next(one for one in found if one.field_name == name)
    token = _status(embedded, (), (), None, None, skip_diff=True).timestamp_validity
    if token is None or not (token.valid and token.intact):
        return False
    status = _status(embedded, (), roots, None, token.timestamp, skip_diff=True)
    return _stamp_of(status, bool(roots)) is not None


def inspect(
    pdf: bytes,
    roots: Sequence[bytes],
    *,
    stamp_roots: Sequence[bytes] = (),
    at: datetime | None = None,
) -> list[Seal]:
    """Every seal of a file in order, judged against own roots (DER); nothing is fetched.

    `at`: the moment at which certificates must be valid; None: that of each seal's time stamp, or
    the time it says itself. `stamp_roots`: what time stamps must lead to; without any a stamp
    that is right in itself is told but proves nobody's clock. Raises SealingError for no PDF.
    """
    from pyhanko.pdf_utils.misc import PdfError
    from pyhanko.pdf_utils.reader import PdfFileReader

    try:
        found = PdfFileReader(io.BytesIO(pdf)).embedded_signatures
    except (PdfError, ValueError, TypeError, KeyError, RecursionError) as error:
        raise SealingError(f"not a PDF that can be read: {error}") from error
    if len(found) > MOST_SEALS:
        raise SealingError(f"{len(found)} seals; at most {MOST_SEALS} are looked into")
    return [_judged(one, roots, stamp_roots, at) for one in found]


def _judged(
    embedded: Any, roots: Sequence[bytes], stamp_roots: Sequence[bytes], at: datetime | None
) -> Seal:
    """A seal that cannot even be taken apart holds nothing; it is not left out."""
    told: dict[str, Any] = {
        "field": str(embedded.field_name or ""),
        "name": _text(embedded, "/Name"),
        "reason": _text(embedded, "/Reason"),
        "certifies": embedded.docmdp_level is not None,
    }
    try:
        said: datetime | None = embedded.self_reported_timestamp
        token = _status(embedded, (), (), said, said, skip_diff=True).timestamp_validity
        moment = stamp_moment = at or said
        if token is not None and at is None and token.valid and token.intact:
            # A stamp is judged at its own time; the seal too, where others vouch for that time.
            stamp_moment = token.timestamp
            moment = token.timestamp if stamp_roots else said
        status = _status(embedded, roots, stamp_roots, moment, stamp_moment)
        stamp = _stamp_of(status, bool(stamp_roots))
        told |= {"at": said, "fingerprint": status.signing_cert.sha256.hex()}
    except (SealingError, ValueError, TypeError, KeyError):
        told |= {"at": None, "fingerprint": "", "covers": ODD}
        return Seal(**told, intact=False, valid=False, trusted=False, holds=False)
    unchanged = status.docmdp_ok or status.modification_level is None
    sound = status.intact and status.valid and status.trusted and status.seed_value_ok
    return Seal(
        **told,
        covers=_COVERS.get(status.coverage.name, ODD),
        intact=status.intact,
        valid=status.valid,
        trusted=status.trusted,
        holds=sound and unchanged and (status.timestamp_validity is None or stamp is not None),
        stamped_at=stamp,
    )


_COVERS = {"ENTIRE_FILE": WHOLE, "ENTIRE_REVISION": EARLIER}


def _text(embedded: Any, key: str) -> str:
    return str(embedded.sig_object.get(key, ""))


def _stamp_of(status: Any, judged: bool) -> datetime | None:
    """The time of a stamp that is right in itself and, where roots are given, under one of them."""
    stamp = status.timestamp_validity
    if stamp is None or not (stamp.valid and stamp.intact and (stamp.trusted or not judged)):
        return None
    told: datetime = stamp.timestamp
    return told


def _status(
    embedded: Any,
    roots: Sequence[bytes],
    stamp_roots: Sequence[bytes],
    moment: datetime | None,
    stamp_moment: datetime | None,
    *,
    skip_diff: bool = False,
) -> Any:
    """The library's status. Comparing with what came later takes seconds on a tagged PDF."""
    from asn1crypto import x509
    from pyhanko.sign.validation import KeyUsageConstraints, validate_pdf_signature
    from pyhanko.sign.validation.errors import SignatureValidationError
    from pyhanko_certvalidator import ValidationContext

    def under(certificates: Sequence[bytes], moment: datetime | None) -> ValidationContext:
        return ValidationContext(
            trust_roots=[x509.Certificate.load(one) for one in certificates],
            allow_fetching=False,
            moment=moment,
        )

    # Either bit will do: companies' own certificates often carry one of the two.
    usage = KeyUsageConstraints(
        key_usage={"digital_signature", "non_repudiation"}, match_all_key_usages=False
    )
    try:
        return validate_pdf_signature(
            embedded,
            under(roots, moment),
            under(stamp_roots, stamp_moment),
            key_usage_settings=usage,
            skip_diff=skip_diff,
        )
    except SignatureValidationError as error:
        raise SealingError(str(error)) from error
