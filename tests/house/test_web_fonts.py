"""The fonts that pages are sent: every sign of the pages is in them, drawn as in the PDFs."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from jobs import web_fonts

ROOT = Path(__file__).resolve().parents[2]
# Signs above this stand in Chinese text, in the reader's own font.
CHINESE = 0x2E80


def fonts() -> list[TTFont]:
    return [TTFont(web_fonts.FOLDER / name) for name in web_fonts.FILES]


@pytest.mark.parametrize("name", web_fonts.FILES)
def test_the_font_has_every_sign_that_it_promises(name):
    there = TTFont(web_fonts.FOLDER / name).getBestCmap()
    missing = [f"U+{sign:04X}" for sign in web_fonts.SIGNS if sign not in there]
    assert not missing


def test_every_sign_of_the_templates_can_be_shown():
    signs = {
        sign
        for file in (ROOT / "templates").rglob("*.html")
        for sign in file.read_text("utf-8")
        if ord(sign) < CHINESE and unicodedata.category(sign) not in {"Cc", "Cf"}
    }
    for font in fonts():
        there = font.getBestCmap()
        assert not {sign for sign in signs if ord(sign) not in there}


@pytest.mark.parametrize("name", web_fonts.FILES)
def test_signs_are_drawn_as_in_the_font_of_the_pdfs(name):
    """Made again from the installed font, every sign has the same width and outline."""
    source = web_fonts.source_of(web_fonts.FILES[name])
    assert source is not None, "the fonts of the PDFs are part of the set-up"
    ours, theirs = TTFont(web_fonts.FOLDER / name), TTFont(source)
    assert ours["head"].unitsPerEm == theirs["head"].unitsPerEm
    for sign, glyph in ours.getBestCmap().items():
        original = theirs.getBestCmap()[sign]
        assert ours["hmtx"][glyph][0] == theirs["hmtx"][original][0], chr(sign)
        drawn, asked = ours["glyf"][glyph], theirs["glyf"][original]
        both = drawn.getCoordinates(ours["glyf"])[0], asked.getCoordinates(theirs["glyf"])[0]
        assert both[0] == both[1], chr(sign)


def test_both_together_are_light_and_carry_their_licence():
    """A first view is to stay under 100 KB."""
    assert sum((web_fonts.FOLDER / name).stat().st_size for name in web_fonts.FILES) < 40_000
    licence = (web_fonts.FOLDER / "LICENCE.txt").read_text("utf-8")
    for font in fonts():
        assert "Bitstream" in font["name"].getDebugName(0)
        assert "Vera" not in font["name"].getDebugName(1)
    assert "Bitstream Vera Fonts Copyright" in licence
