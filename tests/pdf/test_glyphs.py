"""Every character that we can put on paper has a glyph in the fonts of the documents.

A missing glyph raises no error while typesetting: an empty box stands in the document.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from pathlib import Path

import pytest
from babel.messages.pofile import read_po
from django.template.loader import render_to_string
from django.utils import translation

from jobs import fonts
from parties.templatetags.countershade import SHAPES
from shipments.models import Verdict
from shipments.paper import context_of

ROOT = Path(__file__).resolve().parents[2]


def collected(root: Path) -> Iterator[tuple[str, str]]:
    """(where, text): templates, strings of the code, catalogues, the words of the demo."""
    for folder, pattern in (("templates", "*.html"), ("fixtures", "*.py"), ("fixtures", "*.csv")):
        for file in sorted((root / folder).rglob(pattern)):
            yield str(file.relative_to(root)), file.read_text(encoding="utf-8")
    for file in sorted((root / "locale").rglob("*.po")):
        with file.open("rb") as stream:
            for message in read_po(stream):
                said = message.string
                text = "".join(said) if isinstance(said, tuple | list) else str(said or "")
                yield f"{file.relative_to(root)}: {message.id}", text


def messages() -> Iterator[tuple[str, str]]:
    """Every message of the code, `method` included, as the program of `make messages` finds it."""
    spec = importlib.util.spec_from_file_location("messages", ROOT / ".ci" / "messages.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    for message in module.template():
        yield "the code", "".join(message.id) if isinstance(message.id, tuple) else message.id


def gaps(texts: Iterator[tuple[str, str]]) -> dict[str, set[str]]:
    """Where → the characters without a glyph."""
    found = {where: fonts.missing(text) for where, text in texts}
    return {where: signs for where, signs in found.items() if signs}


def test_templates_catalogues_and_the_demo_are_covered(our_fonts):
    """All files that bring words."""
    texts = dict(collected(ROOT))
    assert any(where.startswith("locale/") for where in texts)
    assert any(where.startswith("fixtures/scenario") for where in texts)
    assert gaps(iter(texts.items())) == {}


def test_messages_and_shapes_are_covered(our_fonts):
    """Words of the method and of the pages, and the shapes that tell states."""
    texts = [*messages(), ("shapes", "".join(SHAPES.values()))]
    assert len(texts) > 500
    assert gaps(iter(texts)) == {}


@pytest.mark.parametrize("language", ["en", "zh-hans"])
def test_a_whole_verdict_on_paper_is_covered(our_fonts, world, language):
    """As it goes to the typesetter, figures included."""
    world.judged_lot("L-1", shift=0.08)
    with translation.override(language):
        verdicts = Verdict.objects.all()
        assert len(verdicts) == 2
        for verdict in verdicts:
            html = render_to_string("shipments/paper.html", context_of(verdict, "", language))
            assert not fonts.missing(html)


def test_a_planted_sign_is_found(our_fonts, tmp_path):
    """One sign that neither font has, in a template and in a catalogue."""
    (tmp_path / "templates").mkdir()
    (tmp_path / "templates" / "page.html").write_text("<p>𐌰 lot</p>", encoding="utf-8")
    catalogue = tmp_path / "locale" / "zz" / "LC_MESSAGES" / "django.po"
    catalogue.parent.mkdir(parents=True)
    catalogue.write_text('msgid "lot"\nmsgstr "ᚠ批"\n', encoding="utf-8")
    found = gaps(collected(tmp_path))
    assert found["templates/page.html"] == {"𐌰"}
    assert [signs for where, signs in found.items() if where.endswith(": lot")] == [{"ᚠ"}]
