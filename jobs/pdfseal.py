"""Seals in PDFs: a certification signature of the service, PAdES signatures of organisations.

Bytes in, bytes out; each file begins with the bytes of the one before (ISO 32000-1, 7.5.6:
incremental updates). Form: PAdES baseline B-B (ETSI EN 319 142-1: SubFilter ETSI.CAdES.detached),
ECDSA over P-256 with SHA-256, invisible fields. With a time stamp authority, an RFC 3161 token is
added to the signature (B-T). The profiles were checked for structure only; conformance is not
claimed. A seal shows what the service sealed and when; it is no signatory's own signature.

pyHanko is loaded when it is needed, in the worker.
"""

from __future__ import annotations

import io
import logging
import urllib.request
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

STAMP_SECONDS = 5
STAMP_BYTES = 64 * 1024
MOST_SEALS = 16  # of one file that is looked into

# What became of the time stamp of a seal.
UNASKED, STAMPED, UNREACHABLE, REFUSED = "none", "made", "unreachable", "refused"
# What a seal covers: the whole file, the file up to a later seal, or neither.
WHOLE, EARLIER, ODD = "file", "revision", "part"

# Judgements are returned; the library would log each refused path with its traceback.
logging.getLogger("pyhanko").setLevel(logging.ERROR)


class SealingError(Exception):
    """A PDF that cannot be sealed or looked into; the message says why."""


@dataclass(frozen=True)
class Signer:
    """A private key (PKCS#8, DER), its certificate and the certificates above it (DER)."""

    key: bytes = field(repr=False)
    certificate: bytes
    chain: tuple[bytes, ...] = ()


@dataclass(frozen=True)
class Said:
    """What a seal says of itself: its field, for whom, why, and when (aware)."""

    field: str
    name: str
    reason: str
    at: datetime


@dataclass
class Stamping:
    """A time stamp authority by its http(s) address; not asked again once it failed.

    `roots`: certificates (DER) to which its tokens must lead; without any they are kept unjudged.
    """

    url: str
    roots: tuple[bytes, ...] = ()
    seconds: float = STAMP_SECONDS
    failed: str = ""


@dataclass(frozen=True)
class Sealed:
    """The sealed file, and what became of its time stamp."""

    pdf: bytes
    stamp: str


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


def certify(
    pdf: bytes,
    signer: Signer,
    said: Said,
    *,
    places: Sequence[str] = (),
    stamping: Stamping | None = None,
) -> Sealed:
    """Seal a PDF for the service: nothing may be added afterwards but form entries and seals.

    `places`: names of empty signature fields that are added for later seals. Raises SealingError.
    """
    return _seal(pdf, signer, said, certifies=True, places=places, stamping=stamping)


def countersign(
    pdf: bytes, signer: Signer, said: Said, *, stamping: Stamping | None = None
) -> Sealed:
    """Seal a certified PDF for one organisation, in the empty field kept for it.

    Raises SealingError, also where there is no such field or it is filled.
    """
    return _seal(pdf, signer, said, certifies=False, places=(), stamping=stamping)


def _seal(
    pdf: bytes,
    signer: Signer,
    said: Said,
    *,
    certifies: bool,
    places: Sequence[str],
    stamping: Stamping | None,
) -> Sealed:
    """Seal with a time stamp where one can be had, else without."""
    if said.at.tzinfo is None:
        raise ValueError("the time of a seal must be aware")
    stamp = UNASKED
    if stamping is not None:
        stamp, data = _stamped(pdf, signer, said, certifies, places, stamping)
        if data is not None:
            return Sealed(data, stamp)
    return Sealed(_signed(pdf, signer, said, certifies, places, None), stamp)


def _stamped(
    pdf: bytes,
    signer: Signer,
    said: Said,
    certifies: bool,
    places: Sequence[str],
    stamping: Stamping,
) -> tuple[str, bytes | None]:
    """The file with a time stamp that holds; or why there is none, and None."""
    if stamping.failed:
        return stamping.failed, None
    try:
        data = _signed(pdf, signer, said, certifies, places, stamping)
    except _Answered:
        stamping.failed = REFUSED
    # What a foreign server sends may trip the parser anywhere. A fault of ours comes again, and
    # is raised, when the seal is made without the stamp.
    except (OSError, ValueError, TypeError, KeyError, AttributeError, AssertionError):
        stamping.failed = UNREACHABLE
    if stamping.failed:
        return stamping.failed, None
    if not _stamp_holds(data, said.field, stamping.roots):
        stamping.failed = REFUSED
        return REFUSED, None
    return STAMPED, data


def _signed(
    pdf: bytes,
    signer: Signer,
    said: Said,
    certifies: bool,
    places: Sequence[str],
    stamping: Stamping | None,
) -> bytes:
    """One incremental update with the signature."""
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.pdf_utils.misc import FormFillingError, PdfError
    from pyhanko.sign import fields, signers

    meta = signers.PdfSignatureMetadata(
        field_name=said.field,
        md_algorithm="sha256",
        name=said.name,
        reason=said.reason,
        subfilter=fields.SigSeedSubFilter.PADES,
        certify=certifies,
        docmdp_permissions=fields.MDPPerm.FILL_FORMS,
    )
    stamper = _stamper(stamping) if stamping else None
    try:
        writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
        for name in [said.field, *places] if certifies else []:
            fields.append_signature_field(writer, fields.SigFieldSpec(name))
        by = _at_its_time(said.at)(meta, _simple_signer(signer), timestamper=stamper)
        made: bytes = by.sign_pdf(writer, existing_fields_only=True).getvalue()
    except (PdfError, FormFillingError) as error:
        raise SealingError(f"the PDF cannot be sealed in {said.field}: {error}") from error
    if not made.startswith(pdf):
        raise SealingError("the sealed PDF does not begin with the one that was to be sealed")
    return made


def _simple_signer(signer: Signer) -> Any:
    from asn1crypto import keys, x509
    from pyhanko.sign import signers
    from pyhanko_certvalidator.registry import SimpleCertificateStore

    above = SimpleCertificateStore()
    above.register_multiple(x509.Certificate.load(one) for one in signer.chain)
    return signers.SimpleSigner(
        signing_cert=x509.Certificate.load(signer.certificate),
        signing_key=keys.PrivateKeyInfo.load(signer.key),
        cert_registry=above,
    )


def _at_its_time(at: datetime) -> Any:
    """The library's signer, whose seals say the time they are given (it would ask the clock)."""
    from pyhanko.sign import signers

    class AtItsTime(signers.PdfSigner):
        def init_signing_session(self, *args: Any, **more: Any) -> Any:
            session = super().init_signing_session(*args, **more)
            session.system_time = at.astimezone(UTC)
            return session

    return AtItsTime


class _Answered(Exception):
    """The time stamp authority answered, but not with a stamp for what was asked."""


def _stamper(stamping: Stamping) -> Any:
    """Asks over http(s): no redirects, an answer of bounded size within bounded time."""
    from asn1crypto import tsp
    from pyhanko.sign.timestamps import TimeStamper

    class Asking(TimeStamper):
        async def async_request_tsa_response(self, req: Any) -> Any:
            answer = _posted(stamping, req.dump())
            try:
                response = tsp.TimeStampResp.load(answer, strict=True)
                if response["status"]["status"].native != "granted":
                    raise _Answered(str(response["status"].native))
                info = response["time_stamp_token"]["content"]["encap_content_info"]["content"]
                # The library compares the nonce alone.
                if info.parsed["message_imprint"].native != req["message_imprint"].native:
                    raise _Answered("a stamp for something else")
            except (ValueError, TypeError, KeyError, AttributeError) as error:
                raise _Answered("no answer of RFC 3161") from error
            return response

    return Asking()


def _posted(stamping: Stamping, request: bytes) -> bytes:
    asked = urllib.request.Request(  # noqa: S310  (http or https: checked with the settings)
        stamping.url,
        data=request,
        headers={
            "Content-Type": "application/timestamp-query",
            "Accept": "application/timestamp-reply",
        },
    )
    opener = urllib.request.build_opener(_NoRedirect)
    with opener.open(asked, timeout=stamping.seconds) as response:
        answer: bytes = response.read(STAMP_BYTES + 1)
    if len(answer) > STAMP_BYTES:
        raise _Answered(f"more than {STAMP_BYTES} bytes")
    return answer


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_args: Any, **_more: Any) -> None:
        """A redirect is an error: the operator named one address."""
        return


def _stamp_holds(pdf: bytes, name: str, roots: Sequence[bytes]) -> bool:
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
