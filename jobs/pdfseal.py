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
import urllib.request
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from jobs.sealcheck import Seal, SealingError, inspect, stamp_holds

__all__ = [
    "Said",
    "Seal",
    "Sealed",
    "SealingError",
    "Signer",
    "Stamping",
    "certify",
    "countersign",
    "inspect",
]

STAMP_SECONDS = 5
STAMP_BYTES = 64 * 1024

# What became of the time stamp of a seal.
UNASKED, STAMPED, UNREACHABLE, REFUSED = "none", "made", "unreachable", "refused"


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
    if not stamp_holds(data, said.field, stamping.roots):
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
