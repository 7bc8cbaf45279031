"""Words of the readers of sheets, CxF and lamps, by id; words.py takes them in."""

from method.words import gettext_noop

MESSAGES: dict[str, str] = {}

MENDS: dict[str, str] = {}

ODDITIES: dict[str, str] = {}

FORMATS = {
    "xlsx": gettext_noop("workbook"),
    "cxf3": gettext_noop("CxF3 (ISO 17972)"),
    "tm27": gettext_noop("lamp spectrum, IES TM-27"),
    "lamp-text": gettext_noop("lamp spectrum, text"),
}
