"""The program that sets one PDF: its own process, with limits, no network and no settings.

Started by `jobs/pdf.py` as `python -I typeset.py`. It reads one JSON object from standard input
(html, title, created, attachments in base64, limits) and writes the PDF to standard output.
Nothing of ours is imported: the process knows neither database nor secrets. FONTCONFIG_FILE must
be set in its environment, because the font library reads it once, when it is loaded.
"""

from __future__ import annotations

import base64
import json
import resource
import sys
import traceback
from datetime import UTC, datetime
from typing import Any

BASE_STYLE = "html { font-family: 'DejaVu Sans', 'Noto Sans SC'; }"
PIXEL_CAP = 20_000_000  # an image of more is refused before it is unpacked


def limit(memory: int, seconds: int) -> None:
    """Bound this process: address space (bytes), processor time (s), no files, no core dump."""
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def typeset(
    html: str,
    *,
    attachments: list[tuple[str, bytes, str]],
    created: datetime,
    title: str,
) -> bytes:
    """HTML to a PDF in PDF/A-3a form; the same input gives the same bytes.

    `attachments`: (file name, content, description). The form was checked for structure only;
    conformance to ISO 19005-3 is not claimed. Raises Refused for any address but `data:`.
    """
    from PIL import Image
    from weasyprint import CSS, HTML, Attachment

    Image.MAX_IMAGE_PIXELS = PIXEL_CAP // 2  # the library refuses at twice this number
    only_data = _fetcher()
    created = created.astimezone(UTC)
    document = HTML(string=html, url_fetcher=only_data).render(
        stylesheets=[CSS(string=BASE_STYLE, url_fetcher=only_data)],
        pdf_variant="pdf/a-3a",
    )
    document.metadata.title = title
    document.metadata.created = document.metadata.modified = created.strftime("%Y-%m-%dT%H:%M:%SZ")
    # Without both times the bytes would differ from run to run.
    document.metadata.attachments = [
        Attachment(
            string=content,
            name=name,
            description=description,
            relationship="Data",
            created=created,
            modified=created,
        )
        for name, content, description in sorted(attachments)  # a name tree is sorted
    ]
    pdf = document.write_pdf(finisher=_list_attachments_once, pdf_variant="pdf/a-3a")
    if only_data.refused:
        raise Refused
    return pdf


class Refused(Exception):
    """The document asked for an address other than `data:`."""


def _fetcher() -> Any:
    """Opens `data:` only and remembers what it refused (a broken picture is skipped silently)."""
    from weasyprint.urls import URLFetcher

    class OnlyData(URLFetcher):
        refused = False

        def fetch(self, url: str, headers: Any = None) -> Any:
            self.refused = self.refused or not url.lower().startswith("data:")
            return super().fetch(url, headers)

    return OnlyData(allowed_protocols={"data"})


def _list_attachments_once(document: Any, pdf: Any) -> None:
    """Each associated file is listed twice by the typesetter's version 70; keep the first."""
    listed = pdf.catalog.get("AF")
    if listed:
        listed[:] = list(dict.fromkeys(listed))


def main() -> int:
    """One request from standard input; 3 for a refused address, 4 for too little memory, other
    errors as they come."""
    request = json.load(sys.stdin)
    limit(request["memory"], request["seconds"])
    try:
        pdf = typeset(
            request["html"],
            attachments=[
                (name, base64.b64decode(content), description)
                for name, content, description in request["attachments"]
            ],
            created=datetime.fromisoformat(request["created"]),
            title=request["title"],
        )
    except Refused:
        return 3
    # An allocation that fails inside a C extension may leave no exception set: Python 3.11 then
    # raises SystemError in place of MemoryError.
    except (MemoryError, SystemError):
        traceback.print_exc()
        return 4
    sys.stdout.buffer.write(pdf)
    return 0


if __name__ == "__main__":
    sys.exit(main())
