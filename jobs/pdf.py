"""Safe HTML to PDF: a process with limits does the work (`jobs/typeset.py`)."""

from __future__ import annotations

import base64
import json
import logging
from collections.abc import Sequence
from datetime import datetime

from jobs import fonts, setter

MEMORY = 1536 * 2**20  # address space; a verdict of 200 specimens was set within a third of it
PROCESSOR_SECONDS = 40
WALL_SECONDS = 60  # below the lease of a job, so that a hanging child ends within it
log = logging.getLogger(__name__)

_REFUSED_ADDRESS = 3
_OUT_OF_MEMORY = 4


class PdfError(Exception):
    """The document was not set; the child's own words are in the log."""


def render(
    html: str,
    *,
    attachments: Sequence[tuple[str, bytes, str]] = (),
    created: datetime,
    title: str,
    memory: int = MEMORY,
    seconds: int = PROCESSOR_SECONDS,
) -> bytes:
    """HTML to a PDF in PDF/A-3a form, byte-identical for identical input.

    `html`: a whole document with `lang`, styles inside, images as `data:` addresses, made by our
    templates with autoescape on. `attachments`: (file name, content, description). `created`:
    aware; it is the document's date. `memory` in bytes, `seconds` of processor time.
    Raises PdfError (refused address, limits, fault), fonts.FontsMissing, ValueError.
    """
    if created.tzinfo is None:
        raise ValueError("created must be aware")
    request = {
        "html": html,
        "title": title,
        "created": created.isoformat(),
        "attachments": [
            (name, base64.b64encode(content).decode("ascii"), description)
            for name, content, description in attachments
        ],
        "memory": memory,
        "seconds": seconds,
    }
    done = _done(json.dumps(request).encode("ascii"))
    if done.status == 0 and done.made.startswith(b"%PDF-"):
        return done.made
    details = done.said.decode("utf-8", errors="replace")[-4000:]
    log.error("typesetting ended with %s: %s", done.status, details)
    if done.status == _REFUSED_ADDRESS:
        raise PdfError("The document refers to an address that is not data:")
    out_of_memory = done.status == _OUT_OF_MEMORY or "MemoryError" in details
    if out_of_memory or done.status < 0:
        raise PdfError("The document needs more memory or time than it is given")
    raise PdfError("The document could not be set")


def _done(request: bytes) -> setter.Answer:
    try:
        return setter.ask(request, configuration=fonts.configuration(), seconds=WALL_SECONDS)
    except TimeoutError as error:
        raise PdfError("The document needs more memory or time than it is given") from error
    except setter.Gone as error:
        raise PdfError("The document could not be set") from error
