"""Collect the strings to translate into locale/*/LC_MESSAGES/django.po, without gettext tools.

    python .ci/messages.py            update the catalogues (a new string comes in untranslated)
    python .ci/messages.py --check    change nothing; exit status 1 where a catalogue lacks a string

Python files are read by Babel; templates are first turned into calls by Django's own `templatize`,
so that both know the same tags as the running site. English is the source and has no catalogue.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from babel.messages import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import read_po, write_po
from django.utils.translation import to_locale
from django.utils.translation.template import templatize

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from config.settings import LANGUAGE_CODE, LANGUAGES  # noqa: E402
from tests.house.source import PACKAGES  # noqa: E402

# (singular, plural, context) places of arguments; None: the one argument is the message.
KEYWORDS: dict[str, Any] = {
    **dict.fromkeys(["_", "N_", "gettext", "gettext_lazy", "gettext_noop"]),
    **dict.fromkeys(["ngettext", "ngettext_lazy"], (1, 2)),
    **dict.fromkeys(["pgettext", "pgettext_lazy"], ((1, "c"), 2)),
    **dict.fromkeys(["npgettext", "npgettext_lazy"], ((1, "c"), 2, 3)),
}
TEMPLATES = {".html", ".txt", ".subject"}


def calls(path: Path) -> Iterator[tuple[Any, Any, Any]]:
    """(message, notes to the translator, context) of each string in a file."""
    text = path.read_text(encoding="utf-8")
    method = "python"
    if path.suffix in TEMPLATES:
        # What is not a string becomes a row of X: no Python, but calls that this reader finds.
        text, method = templatize(text, origin=str(path)), "javascript"
    stream = io.BytesIO(text.encode("utf-8"))
    found = extract(method, stream, keywords=KEYWORDS, comment_tags=("Translators:",))
    for _line, message, notes, context in found:
        yield message, notes, context


def files() -> Iterator[Path]:
    """Every file whose words people see."""
    for package in PACKAGES:
        yield from sorted((ROOT / package).rglob("*.py"))
    for path in sorted((ROOT / "templates").rglob("*")):
        if path.suffix in TEMPLATES:
            yield path


def template() -> Catalog:
    """All strings with the files they stand in; no line numbers, which would change every day."""
    catalog = Catalog(project="Countershade", charset="utf-8")
    for path in files():
        for message, notes, context in calls(path):
            place = [(path.relative_to(ROOT).as_posix(), None)]
            catalog.add(message, None, place, auto_comments=notes, context=context)
    return catalog


def stored(file: Path, locale: str) -> Catalog:
    """The catalogue as it is, or an empty one."""
    if not file.exists():
        return Catalog(locale=locale, project="Countershade", charset="utf-8", fuzzy=False)
    with file.open("rb") as stream:
        return read_po(stream, locale=locale, charset="utf-8")


def untranslated(catalog: Catalog) -> list[str]:
    """Messages without words in this language, or whose words nobody confirmed."""
    return [str(m.id) for m in catalog if m.id and (m.fuzzy or not all(parts(m.string)))]


def parts(string: Any) -> tuple[str, ...]:
    """All plural forms."""
    return tuple(string) if isinstance(string, tuple | list) else (string,)


def main(arguments: list[str]) -> int:
    """Update or check every language but the source."""
    check, status = "--check" in arguments, 0
    collected = template()
    for language, _name in LANGUAGES:
        if language == LANGUAGE_CODE:
            continue
        locale = to_locale(language)
        file = ROOT / "locale" / locale / "LC_MESSAGES" / "django.po"
        catalog = stored(file, locale)
        catalog.update(collected, no_fuzzy_matching=True, update_creation_date=False)
        open_ends = untranslated(catalog)
        print(f"{file.relative_to(ROOT)}: {len(catalog)} strings, {len(open_ends)} untranslated")
        if check:
            print("".join(f"  untranslated: {message}\n" for message in open_ends), end="")
            status |= bool(open_ends)
            continue
        file.parent.mkdir(parents=True, exist_ok=True)
        with file.open("wb") as stream:
            write_po(stream, catalog, width=96, ignore_obsolete=True, include_lineno=False)
    return status


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
