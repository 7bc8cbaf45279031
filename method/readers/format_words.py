"""Words of the readers of sheets, CxF and lamps, by id; words.py takes them in."""

from method.words import gettext_noop

MESSAGES: dict[str, str] = {
    "xml-broken": gettext_noop("This is no well-formed XML: %(fault)s."),
    "xml-cut": gettext_noop("The XML ends before it is complete."),
    "xml-document-type": gettext_noop(
        "The XML declares a document type or entities; such files are not read."
    ),
    "xml-encoding": gettext_noop("The encoding “%(encoding)s” that the XML declares is not read."),
    "xml-deep": gettext_noop("The XML nests more than %(limit)s elements."),
    "xml-many": gettext_noop("The XML has more than %(limit)s elements."),
    "xml-attributes": gettext_noop(
        "An element has more than %(limit)s attributes, or one of more than %(size)s characters."
    ),
    "xml-token": gettext_noop("One tag or comment has more than %(limit)s bytes."),
}

MENDS: dict[str, str] = {
    "xml-broken": gettext_noop("Export the file again; do not edit it by hand."),
    "xml-cut": gettext_noop("Send the file again: a part of it was lost."),
    "xml-document-type": gettext_noop(
        "Export the measurement again; measurement files need no document type."
    ),
    "xml-encoding": gettext_noop("Export the measurement as UTF-8."),
    "xml-deep": gettext_noop("Export the file again: no measurement file nests like this."),
    "xml-many": gettext_noop("Split the export into several files."),
    "xml-attributes": gettext_noop("Export the file again: no measurement file is like this."),
    "xml-token": gettext_noop("Export the file again: no measurement file is like this."),
}

ODDITIES: dict[str, str] = {}

FORMATS = {
    "xlsx": gettext_noop("workbook"),
    "cxf3": gettext_noop("CxF3 (ISO 17972)"),
    "tm27": gettext_noop("lamp spectrum, IES TM-27"),
    "lamp-text": gettext_noop("lamp spectrum, text"),
}
