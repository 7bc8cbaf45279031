"""The form of a file, told by its content alone, and what its name says against that."""

from __future__ import annotations

import re
from pathlib import PurePath

from method.readers.values import Note
from method.readers.xml import looks_like_xml

_ROOT = re.compile(r"<\s*(?:[\w.-]+:)?([A-Za-z_][\w.-]*)")
_HEAD = 8_192  # bytes in which the root element begins
# an archive, and the older form, which is refused by the reader of workbooks
_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")
_ENDINGS = {
    "xls": "workbook",
    "xlsx": "workbook",
    "xlsm": "workbook",
    "csv": "comma",
    "tsv": "text",
    "tab": "text",
    "txt": "text",
    "cxf": "xml",
    "xml": "xml",
    "spdx": "xml",
}

_SENT = {
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet": "workbook",
    "application/xml": "xml",
    "text/xml": "xml",
    "text/plain": "text",
    "text/tab-separated-values": "text",
}


def form_of(data: bytes) -> str:
    """Return ``workbook``, ``xml`` or ``text``: by the first bytes, never by the name."""
    if data.startswith(_WORKBOOKS):
        return "workbook"
    return "xml" if looks_like_xml(data) else "text"


def root_of(data: bytes) -> str:
    """Return the local name of an XML file's root element, or nothing where none is seen."""
    head = data[:_HEAD]
    text = head.decode(_codec(head), errors="replace")
    text = re.sub(r"<\?.*?\?>|<!--.*?-->|<!DOCTYPE[^>\[]*(\[.*?\])?\s*>", "", text, flags=re.DOTALL)
    found = _ROOT.search(text)
    return found.group(1) if found else ""


def _codec(head: bytes) -> str:
    """Return how the first bytes of XML are written, by its mark or its first character."""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if head.startswith(b"<\x00"):
        return "utf-16-le"
    return "utf-16-be" if head.startswith(b"\x00<") else "latin-1"


def misleading(name: str, media_type: str, form: str, delimiter: str) -> list[Note]:
    """Return the oddities that a file's name or media type say another form than its content.

    form: as ``form_of``; delimiter: the word for what parts the cells of a text.
    """
    notes = _named(name, form, delimiter)
    sent = _SENT.get(media_type.split(";")[0].strip().lower(), form)
    return notes if sent == form else [*notes, ("sent-as-other", {"type": media_type[:80]})]


def _named(name: str, form: str, delimiter: str) -> list[Note]:
    """Return the oddity that the ending of a name says another form."""
    says = _ENDINGS.get(PurePath(name).suffix.lower().lstrip("."))
    if says == "workbook" and form == "text":
        return [("named-workbook", {})]
    if says == "xml" and form != "xml":
        return [("named-xml", {})]
    if says in ("text", "comma") and form != "text":
        return [("named-text", {})]
    if says == "comma" and delimiter not in ("comma", "semicolon", ""):
        return [("named-comma", {})]
    return []
