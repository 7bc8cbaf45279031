"""Safe HTML to PDF: a child process with limits does the work (`jobs/typeset.py`)."""

from __future__ import annotations

import base64
import json
import logging
import os
import subprocess
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from jobs import fonts

MEMORY = 1536 * 2**20  # address space; a verdict of 200 specimens was set within a third of it
PROCESSOR_SECONDS = 40
WALL_SECONDS = 60  # below the lease of a job, so that a hanging child ends within it
log = logging.getLogger(__name__)

_TYPESET = Path(__file__).with_name("typeset.py")
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
    child = _child(json.dumps(request).encode("ascii"))
    if child.returncode == 0 and child.stdout.startswith(b"%PDF-"):
        return child.stdout
    details = child.stderr.decode("utf-8", errors="replace")[-4000:]
    log.error("typesetting ended with %s: %s", child.returncode, details)
    if child.returncode == _REFUSED_ADDRESS:
        raise PdfError("The document refers to an address that is not data:")
    out_of_memory = child.returncode == _OUT_OF_MEMORY or "MemoryError" in details
    if out_of_memory or child.returncode < 0:
        raise PdfError("The document needs more memory or time than it is given")
    raise PdfError("The document could not be set")


def _child(request: bytes) -> subprocess.CompletedProcess[bytes]:
    """Run the typesetter with a bare environment: our fonts, no secrets, no proxy."""
    environment = {
        "FONTCONFIG_FILE": str(fonts.configuration()),
        "PATH": os.defpath,
        "LC_ALL": "C.UTF-8",
    }
    try:
        return subprocess.run(  # noqa: S603  (our own program, arguments fixed)
            [sys.executable, "-I", str(_TYPESET)],
            input=request,
            capture_output=True,
            timeout=WALL_SECONDS,
            env=environment,
            check=False,
        )
    except subprocess.TimeoutExpired as error:
        raise PdfError("The document needs more memory or time than it is given") from error
