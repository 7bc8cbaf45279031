"""Extraction finds every way in which a string is marked, in Python and in templates."""

from __future__ import annotations

import importlib.util
import io
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from babel.messages.pofile import read_po, write_po

from tests.house.source import ROOT


@pytest.fixture(scope="module")
def messages() -> ModuleType:
    """The program of `make messages`."""
    spec = importlib.util.spec_from_file_location("messages", ROOT / ".ci" / "messages.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


PYTHON = """
a = _("plain")
b = gettext_lazy("lazy, it's so")
c = gettext_noop("from the method")
d = ngettext("%(n)s lot", "%(n)s lots", n)
e = pgettext("colour", "light")
f = "not marked"
g = _("joined "
      "lines")
"""
TEMPLATE = """{% load i18n %}<p class="x">It's not marked & never was</p>
{% translate "said 'so'" %} {% trans 'short' noop %}
{% blocktranslate trimmed with name=lot.name %}
  The lot {{ name }}
  isn't "closed".
{% endblocktranslate %}
{% blocktranslate count n=lots %}{{ n }} lot{% plural %}{{ n }} lots{% endblocktranslate %}
{% translate "light" context "colour" %}
{{ _("in a variable")|default:_("in a filter") }}
{% url 'desk:home' %}
"""


@pytest.mark.parametrize(
    ("name", "text", "expected"),
    [
        (
            "words.py",
            PYTHON,
            {
                ("plain", None),
                ("lazy, it's so", None),
                ("from the method", None),
                (("%(n)s lot", "%(n)s lots"), None),
                ("light", "colour"),
                ("joined lines", None),
            },
        ),
        (
            "page.html",
            TEMPLATE,
            {
                ("said 'so'", None),
                ("short", None),
                ('The lot %(name)s isn\'t "closed".', None),
                (("%(n)s lot", "%(n)s lots"), None),
                ("light", "colour"),
                ("in a variable", None),
                ("in a filter", None),
            },
        ),
    ],
)
def test_marked_strings_are_found(
    messages: ModuleType, tmp_path: Path, name: str, text: str, expected: set[Any]
) -> None:
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    assert {(message, context) for message, _, context in messages.calls(file)} == expected


def test_a_string_without_words_is_told(messages: ModuleType) -> None:
    text = 'msgid "a"\nmsgstr "甲"\n\nmsgid "b"\nmsgstr ""\n\n#, fuzzy\nmsgid "c"\nmsgstr "丙"\n'
    catalog = read_po(io.BytesIO(text.encode()), locale="zh_Hans", charset="utf-8")
    assert messages.untranslated(catalog) == ["b", "c"]


def test_a_catalogue_is_written_without_line_numbers(messages: ModuleType) -> None:
    out = io.BytesIO()
    write_po(out, messages.template(), include_lineno=False)
    text = out.getvalue().decode()
    assert "#: templates/" in text
    assert "#: method/" in text
    assert not any(line.startswith("#:") and ":" in line[2:] for line in text.splitlines())
