"""Every catalogue says every string, keeps its placeholders, compiles, and can be typeset."""

from __future__ import annotations

import ast
import importlib.util
import re
import unicodedata
from collections.abc import Iterator
from io import BytesIO
from types import ModuleType

import pytest
from babel.messages import Catalog, Message
from babel.messages.mofile import read_mo, write_mo
from babel.messages.pofile import read_po
from django.conf import settings
from django.utils.translation import to_locale

from jobs.fonts import FontsMissing, missing
from tests import needs
from tests.house.source import ROOT, called, literal, sources

LOCALES = [to_locale(code) for code, _name in settings.LANGUAGES if code != settings.LANGUAGE_CODE]
# %(name)s of templates and Python, {name} of str.format.
PLACEHOLDER = re.compile(r"%\(\w+\)[sd]|%%|\{\w*\}")
STRAY_PERCENT = re.compile(r"(?<!%)%(?!\(\w+\)[sd]|%)")


@pytest.fixture(scope="module")
def messages() -> ModuleType:
    """The program of `make messages`."""
    spec = importlib.util.spec_from_file_location("messages", ROOT / ".ci" / "messages.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module", params=LOCALES)
def catalog(request) -> Catalog:
    """One catalogue as it is stored."""
    file = ROOT / "locale" / request.param / "LC_MESSAGES" / "django.po"
    with file.open("rb") as stream:
        return read_po(stream, locale=request.param, charset="utf-8", abort_invalid=True)


def pairs(catalog: Catalog) -> Iterator[tuple[Message, str, str]]:
    """(message, English, translation) of each translated form, beside the last English form."""
    for message in catalog:
        if message.id:
            english = message.id if isinstance(message.id, str) else message.id[-1]
            forms = (message.string,) if isinstance(message.string, str) else message.string
            for form in filter(None, forms):  # what is untranslated is told by one test only
                yield message, english, form


def test_there_is_a_catalogue_for_every_language() -> None:
    assert LOCALES
    found = {path.parent.parent.name for path in ROOT.glob("locale/*/LC_MESSAGES/django.po")}
    assert found == set(LOCALES)


def test_every_string_is_translated(messages: ModuleType, catalog: Catalog) -> None:
    """Against the strings as they are now; what is missing is listed."""
    stored = {(message.id, message.context): message for message in catalog if message.id}
    wanted = [message for message in messages.template() if message.id]
    assert len(wanted) > 1000  # the extraction itself has worked
    unsaid = []
    for message in wanted:
        here = stored.get((message.id, message.context))
        if here is None or here.fuzzy or not all(messages.parts(here.string)):
            unsaid.append(f"{message.locations[0][0]}: {message.id!r}")
    assert not unsaid, "run `make messages` and translate:\n" + "\n".join(unsaid)


def test_no_string_hides_in_an_f_string(messages: ModuleType) -> None:
    """Extraction reads an f-string as one word: a string marked inside it would be lost."""
    found = [
        f"{source.name}:{call.lineno}"
        for source in sources()
        for string in ast.walk(source.tree)
        if isinstance(string, ast.JoinedStr)
        for call in ast.walk(string)
        if isinstance(call, ast.Call) and called(call) in messages.KEYWORDS
        if any(literal(argument) for argument in call.args)
    ]
    assert not found, found


def test_placeholders_are_kept(catalog: Catalog) -> None:
    wrong = [
        f"{english!r} -> {words!r}"
        for _message, english, words in pairs(catalog)
        if sorted(PLACEHOLDER.findall(english)) != sorted(PLACEHOLDER.findall(words))
    ]
    assert not wrong, "\n".join(wrong)


def test_no_translation_has_a_stray_percent_sign(catalog: Catalog) -> None:
    """A lone % in a string that is filled in by the % operator would fail on the page."""
    wrong = [
        words
        for _message, english, words in pairs(catalog)
        if "%(" in english and STRAY_PERCENT.search(words)
    ]
    assert not wrong, "\n".join(wrong)


def test_lines_begin_and_end_alike(catalog: Catalog) -> None:
    """Line ends are the layout of mails; blanks at the ends would join or split words."""
    wrong = [
        words
        for _message, english, words in pairs(catalog)
        if english.count("\n") != words.count("\n") or words != words.strip()
    ]
    assert not wrong, "\n".join(wrong)


def test_it_compiles_to_the_same_words(catalog: Catalog) -> None:
    stream = BytesIO()
    write_mo(stream, catalog)
    stream.seek(0)
    compiled = read_mo(stream)
    first = next(message for message in catalog if message.id and isinstance(message.id, str))
    assert compiled.get(first.id, first.context).string == first.string
    assert compiled.num_plurals == catalog.num_plurals
    assert len(compiled) == len(list(pairs(catalog)))


def test_every_sign_can_be_typeset(catalog: Catalog) -> None:
    words = "".join(form for _message, _english, form in pairs(catalog))
    try:
        unseen = missing(words)
    except FontsMissing:
        needs.missing("the fonts are not set up: run python -m jobs.fonts")
    assert not unseen, {sign: unicodedata.name(sign, "?") for sign in unseen}


def test_the_file_names_no_place_of_a_machine(catalog: Catalog) -> None:
    """Locations are paths inside the repository, without line numbers that change every day."""
    for message in catalog:
        for path, line in message.locations:
            assert line is None
            assert (ROOT / path).is_file() or not message.id, path
            assert not path.startswith(("/", ".."))
