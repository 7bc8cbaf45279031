"""What the reader understood of a file, in the reader's language."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext, pgettext

from evidence.models import EvidenceFile
from ledger import blobs
from method.readers import ReadError, Reading, read
from method.readers.words import EVIDENCE, MENDS, MESSAGES


def understood(file: EvidenceFile) -> Reading:
    """What the reader makes of a file; ReadError where it is not a table of spectra."""
    return read(blobs.get(file.dossier.chain, file.digest), file.name)


def error_words(error: ReadError) -> dict[str, Any]:
    """A refusal of the reader: where, what, and what to do."""
    return {
        "line": error.line,
        "column": error.column,
        "field": error.field,
        "message": gettext(MESSAGES[error.id]) % error.params,
        "mend": gettext(MENDS[error.mend]) % error.params,
    }


def error_line(error: ReadError) -> str:
    """The same in one sentence, naming file, line, column and field."""
    words = error_words(error)
    place = [error.file]
    if error.line is not None:
        place.append(gettext("line %(line)s") % {"line": error.line})
    if error.column is not None:
        place.append(gettext("column %(column)s") % {"column": error.column})
    if error.field is not None:
        place.append(error.field)
    return f"{', '.join(place)}: {words['message']} {words['mend']}"


def understanding(file: EvidenceFile) -> dict[str, Any]:
    """Facts, oddities and questions of a file, or the error that it cannot be read."""
    try:
        reading = understood(file)
    except ReadError as error:
        return {"error": error_words(error)}
    return {
        "facts": _facts(reading),
        "oddities": [gettext(one.message) % one.params for one in reading.oddities],
        "questions": [gettext(one.message) % one.params for one in reading.questions],
    }


def _facts(reading: Reading) -> list[dict[str, str]]:
    start, stop, step = reading.grid
    separators = {
        "comma": gettext("comma"),
        "semicolon": gettext("semicolon"),
        "tab": gettext("tab"),
    }
    rows = [
        (gettext("Characters"), reading.encoding),
        (gettext("Separator"), separators.get(reading.delimiter, gettext("blanks"))),
        (
            gettext("Readings stand"),
            gettext("in rows") if reading.layout == "rows" else gettext("in columns"),
        ),
        (gettext("Wavelengths"), f"{start}–{stop} nm, {step} nm"),
        (gettext("Number of readings"), str(len(reading.labels))),
        (gettext("Specimens"), ", ".join(list(dict.fromkeys(reading.labels))[:20])),
        (gettext("Scale"), _scale(reading)),
    ]
    return [{"label": label, "value": value} for label, value in rows]


def _scale(reading: Reading) -> str:
    """Percent, factor or open, and what speaks for it."""
    words = {"percent": gettext("percent"), "factor": gettext("factor")}
    params = {
        "smallest": f"{reading.scale.smallest:g}",
        "largest": f"{reading.scale.largest:g}",
    }
    why = ", ".join(gettext(EVIDENCE[one]) % params for one in reading.scale.evidence)
    known = words.get(reading.scale.scale or "", pgettext("scale", "open"))
    return f"{known} ({why})" if why else known
