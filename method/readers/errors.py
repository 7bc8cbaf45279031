"""The one exception that comes out of the readers."""

from __future__ import annotations

from collections.abc import Mapping

from method.readers.words import MENDS, MESSAGES


class ReadError(ValueError):
    """A file that cannot be read, or an answer that does not fit.

    file: its name. line, column: from 1, as an editor or a spreadsheet counts (None: the whole).
    field: the wavelength column, label or question concerned. id: key of words.MESSAGES; mend: key
    of words.MENDS; message and mend_message: the two English templates, to be translated and
    filled with params (text values).
    """

    def __init__(
        self,
        id: str,
        file: str,
        *,
        line: int | None = None,
        column: int | None = None,
        field: str | None = None,
        params: Mapping[str, str] | None = None,
    ) -> None:
        """Keep the parts; the text of the exception is the English rendering."""
        self.id, self.mend, self.file = id, id, file
        self.message, self.mend_message = MESSAGES[id], MENDS[id]
        self.line, self.column, self.field = line, column, field
        self.params = dict(params or {})
        place = [file]
        place += [f"line {line}"] if line is not None else []
        place += [f"column {column}"] if column is not None else []
        place += [field] if field is not None else []
        said = f"{self.message % self.params} {self.mend_message % self.params}"
        super().__init__(f"{', '.join(place)}: {said}")
