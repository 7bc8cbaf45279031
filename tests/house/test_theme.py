"""The colours of the pages: neutral surfaces, words that can be read, and none anywhere else."""

from __future__ import annotations

import re

import numpy as np
import pytest

from tests.house import theme

COLOURS = theme.themes()
PAGES = theme.SHEET.with_name("countershade.css")
# rgb(), hsl() and the like, and hexadecimal: theme.css alone names colours.
LITERAL = re.compile(r"#[0-9a-fA-F]{3,8}\b|\b(?:rgba?|hsla?|hwb|lab|lch|oklab|oklch|color)\(")
NAMED = re.compile(r":[^;{}]*\b(?:white|black|gr[ae]y|red|green|blue|yellow|orange)\b")


@pytest.mark.parametrize("of", theme.THEMES)
def test_a_theme_names_every_colour(of):
    assert set(COLOURS[of]) == {*theme.SURFACES, *theme.LINES, *theme.READ, "on-accent"}


@pytest.mark.parametrize("of", theme.THEMES)
def test_surfaces_and_lines_have_no_hue(of):
    """The rule of the project: a* and b* of every surface within ±0.5."""
    for name in (*theme.SURFACES, *theme.LINES, "ink", "quiet"):
        _, a, b = theme.lab(COLOURS[of][name])
        assert abs(a) <= 0.5 and abs(b) <= 0.5, f"{name}: a* {a:.2f}, b* {b:.2f}"


@pytest.mark.parametrize("vision", theme.VISIONS)
@pytest.mark.parametrize("of", theme.THEMES)
def test_what_is_read_stands_out_from_every_surface(of, vision):
    """7:1, as WCAG 2.2 (1.4.6, level AAA) asks of text, in each simulated colour vision."""
    colours = COLOURS[of]
    for name in theme.READ:
        for ground in theme.SURFACES:
            found = theme.contrast(colours[name], colours[ground], vision)
            assert found >= 7, f"{name} on {ground}: {found:.2f}"
    assert theme.contrast(colours["on-accent"], colours["accent"], vision) >= 7
    # A state that is bad is written in the sheet's colour on ink.
    assert theme.contrast(colours["sheet"], colours["ink"], vision) >= 7


@pytest.mark.parametrize("of", theme.THEMES)
def test_edges_of_what_can_be_filled_in_are_seen(of):
    """3:1, as WCAG 2.2 (1.4.11) asks of controls."""
    colours = COLOURS[of]
    for ground in theme.SURFACES:
        assert theme.contrast(colours["edge"], colours[ground]) >= 3, ground


def test_the_dim_theme_gives_less_light_than_the_dark_one():
    dark, dim = COLOURS["dark"], COLOURS["dim"]
    for name in (*theme.SURFACES, *theme.READ):
        assert theme.linear(dim[name]).sum() < theme.linear(dark[name]).sum(), name


def test_no_other_style_sheet_names_a_colour():
    text = re.sub(r"/\*.*?\*/", "", PAGES.read_text("utf-8"), flags=re.DOTALL)
    assert not LITERAL.findall(text)
    assert not NAMED.findall(text)


def test_the_measures_agree_with_published_values():
    """White and black are 21:1 (WCAG 2.2); sRGB white is L* 100 and mid-grey #777777 L* 50 (from
    memory: 49.9, a common check of CIELAB)."""
    assert theme.contrast("#ffffff", "#000000") == pytest.approx(21)
    assert np.allclose(theme.lab("#ffffff"), [100, 0, 0], atol=0.02)
    assert theme.lab("#777777")[0] == pytest.approx(49.9, abs=0.2)
