"""The program that sets PDFs: its own process, with limits, no network and no settings.

Started by `jobs/setter.py` as `python -I typeset.py`. It loads the typesetter once; then each line
of its standard input is a request (JSON: html, title, created, attachments in base64, limits), for
which it forks a process that sets this one document and ends. The answer, on standard output, is a
line with three numbers (exit status, bytes of the PDF, bytes of what it complained) and then both.
It ends when its input does, so it never outlives who started it.

Nothing of ours is imported: the process knows neither database nor secrets. FONTCONFIG_FILE must
be set in its environment, because the font library reads it once, when it is loaded.
"""

from __future__ import annotations

import base64
import gc
import json
import os
import resource
import sys
import traceback
from datetime import UTC, datetime
from typing import Any, NoReturn

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


def set_one(request: dict[str, Any]) -> int:
    """One request, to standard output; 3 for a refused address, 4 for too little memory, other
    errors as they come."""
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
        return 4
    sys.stdout.buffer.write(pdf)
    sys.stdout.flush()
    return 0


def in_child(line: bytes) -> tuple[int, bytes, bytes]:
    """Set one document in a process of its own: exit status (negative: its signal), PDF, words."""
    made, said = os.memfd_create("pdf"), os.memfd_create("words")
    try:
        child = os.fork()
        if child == 0:
            _be_child(line, made, said)
        _, status = os.waitpid(child, 0)
        found = [os.pread(file, os.fstat(file).st_size, 0) for file in (made, said)]
        return os.waitstatus_to_exitcode(status), found[0], found[1]
    finally:
        os.close(made)
        os.close(said)


def _be_child(line: bytes, made: int, said: int) -> NoReturn:
    status = 1
    try:
        nothing = os.open(os.devnull, os.O_RDONLY)
        for file, place in ((nothing, 0), (made, 1), (said, 2)):
            os.dup2(file, place)
        status = set_one(json.loads(line))
    except MemoryError:
        status = 4
    except BaseException:
        traceback.print_exc()
    finally:
        # Nothing may run that the parent would run at its own end.
        os._exit(status)


def main() -> int:
    """Requests until there are none."""
    # Loaded, not tried: setting a page starts threads of the font library, and forking knows none.
    import weasyprint  # noqa: F401

    # One document is short work in a process that ends with it.
    gc.collect()
    gc.freeze()
    gc.disable()
    for line in sys.stdin.buffer:
        status, made, said = in_child(line)
        sys.stdout.buffer.write(b"%d %d %d\n" % (status, len(made), len(said)))
        sys.stdout.buffer.write(made + said)
        sys.stdout.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())
