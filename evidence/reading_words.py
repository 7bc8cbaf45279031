"""What the reader understood of a file, in the reader's language."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from django.utils.translation import gettext, pgettext

from evidence.models import EvidenceFile
from ledger import blobs
from method.readers import Hints, ReadError, Reading, read
from method.readers.looks import Look, looks
from method.readers.reading import TableShown
from method.readers.spectra import check_kept
from method.readers.stated import Comparison
from method.readers.words import EVIDENCE, FORMATS, MENDS, MESSAGES, PIECES, QUANTITIES

LABELS = 20  # shown by name


def understood(file: EvidenceFile) -> Reading:
    """What the reader makes of a file; ReadError where it is not a table of spectra."""
    hints = Hints(file.name, media_type=file.media_type)
    return read(blobs.get(file.dossier.chain, file.digest), hints)


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
    """What is shown of a file before anything is answered."""
    try:
        return understanding_of(understood(file))
    except ReadError as error:
        return {"error": error_words(error)}


def understanding_of(reading: Reading) -> dict[str, Any]:
    """Facts, oddities and questions of a file as read under the answers given so far.

    ``unusable`` is set where the file was read and holds no reflectances.
    """
    return {
        "facts": _facts(reading),
        "tables": _tables(reading),
        "condition": _condition(reading),
        "looks": [_look(one) for one in looks(reading)],
        "ends": [f"{nm:g} nm" for nm in (*reading.wavelengths[:1], *reading.wavelengths[-1:])],
        "comparisons": [_comparison(one) for one in reading.comparisons],
        # a remark on both ends of the wavelengths is one remark
        "oddities": list(
            dict.fromkeys(gettext(one.message) % one.params for one in reading.oddities)
        ),
        "questions": [gettext(one.message) % one.params for one in reading.questions],
        "unusable": _unusable(reading),
    }


def shown_digest(reading: Reading) -> str:
    """What a page shows of a file, in short: the same where answers change nothing of it.

    The scale alone is left out, with the colours that it gives: who answers it has said it, and
    what is odd under it is shown.
    """
    shown = understanding_of(reading)
    del shown["looks"]
    shown["facts"] = [one for one in shown["facts"] if one["label"] != gettext("Scale")]
    del shown["questions"]
    place = [reading.table, reading.layout, reading.header_line, reading.label_column]
    whole = json.dumps([shown, place, reading.columns, reading.labels, reading.lines])
    return hashlib.sha256(whole.encode()).hexdigest()[:32]


def _unusable(reading: Reading) -> dict[str, Any] | None:
    """Why nothing of the table shown can be judged, if so."""
    try:
        check_kept(reading, reading.name, reading.answers.get("surface"))
    except ReadError as error:
        return error_words(error)
    return None


def _facts(reading: Reading) -> list[dict[str, str]]:
    separators = {
        "comma": gettext("comma"),
        "semicolon": gettext("semicolon"),
        "tab": gettext("tab"),
        "spaces": gettext("blanks"),
        "bar": gettext("vertical bar"),
    }
    layouts = {
        "rows": gettext("in rows"),
        "columns": gettext("in columns"),
        "objects": gettext("as objects"),
    }
    rows = [
        (gettext("Form of the file"), gettext(FORMATS[reading.format])),
        (gettext("Table shown"), _table_shown(reading)),
        (gettext("Characters"), reading.encoding),
        (gettext("Separator"), separators.get(reading.delimiter, "")),
        (gettext("Readings stand"), layouts[reading.layout]),
        (gettext("Wavelengths"), _wavelengths(reading)),
        (gettext("Columns read"), _ends(reading.columns)),
        (gettext("Number of readings"), str(len(reading.labels))),
        (gettext("Specimens"), _specimens(reading)),
        (gettext("Scale"), _scale(reading) if reading.scale.evidence else ""),
    ]
    own = {gettext("Columns read"), gettext("Specimens"), gettext("Characters")}
    return [
        {"label": label, "value": value, "as_written": label in own}
        for label, value in rows
        if value
    ]


def _specimens(reading: Reading) -> str:
    """The labels, each once; of many the first, and how many more there are."""
    labels = list(dict.fromkeys(reading.labels))
    words = ", ".join(labels[:LABELS])
    if len(labels) <= LABELS:
        return words
    return gettext("%(labels)s and %(count)s more") % {
        "labels": words,
        "count": len(labels) - LABELS,
    }


def _table_shown(reading: Reading) -> str:
    """Which of several tables the page speaks of."""
    if len(reading.tables) < 2:
        return ""
    return reading.tables[reading.table - 1].text


def _ends(names: tuple[str, ...]) -> str:
    """The first and last of several names."""
    return f"{names[0]} – {names[-1]}" if names else ""


def _wavelengths(reading: Reading) -> str:
    """The range and its step, where it goes in one."""
    if not reading.wavelengths:
        return gettext("none: no spectra")
    whole = f"{reading.wavelengths[0]:g}–{reading.wavelengths[-1]:g} nm"
    return f"{whole}, {reading.grid[2]} nm" if reading.grid else whole


def _tables(reading: Reading) -> list[str]:
    """Every table found, where there are several."""
    if len(reading.tables) < 2:
        return []
    return [_table(one) for one in reading.tables]


def _table(one: TableShown) -> str:
    """One table found, and why it cannot be taken, if so."""
    words = f"{one.text}, {gettext(QUANTITIES[one.quantity])}"
    if one.error is None:
        return words
    fault = error_words(one.error)
    return f"{words}. {fault['message']} {fault['mend']}"


def _look(one: Look) -> dict[str, Any]:
    """One of the first readings in figures."""
    colour = one.colour or ()
    return {
        "label": one.label,
        "ends": [f"{one.first:.6g}", f"{one.last:.6g}"],
        "colour": [f"{value:.2f}" for value in colour] or ["–"] * 3,
    }


def _condition(reading: Reading) -> list[dict[str, str]]:
    """What the file says of how it was measured, with its words; what is unknown says so."""
    found = []
    for key, label in PIECES.items():
        said = [one for one in reading.condition if one.key == key]
        words = "; ".join(f"{one.value} (“{one.text}”)" for one in said)
        found.append({"label": gettext(label), "value": words or gettext("unknown")})
    return found


def _comparison(one: Comparison) -> dict[str, str]:
    """Stated against computed colours, in figures."""
    stated = f"{one.illuminant or '?'}/{one.observer or '?'}"
    return {
        "fields": ", ".join(one.fields),
        "stated": stated,
        "mean": "" if one.mean is None else f"{one.mean:.3f}",
        "largest": "" if one.largest is None else f"{one.largest:.3f}",
        "best": one.best or "",
        "best_mean": "" if one.best_mean is None else f"{one.best_mean:.3f}",
        "best_largest": "" if one.best_largest is None else f"{one.best_largest:.3f}",
    }


def _scale(reading: Reading) -> str:
    """Percent, factor or open, and what speaks for it."""
    words = {"percent": gettext("percent"), "factor": gettext("factor")}
    params = {
        "smallest": f"{reading.scale.smallest:g}",
        "largest": f"{reading.scale.largest:g}",
    }
    why = ", ".join(gettext(EVIDENCE[one]) % params for one in reading.scale.evidence)
    scale = reading.scale.scale or reading.answers.get("scale")
    known = words.get(scale or "", pgettext("scale", "open"))
    return f"{known} ({why})" if why else known
