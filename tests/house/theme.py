"""What static/theme.css shows: `python -m tests.house.theme` prints every colour, its hue, and the
contrast of what is read.

Lightness and hue are CIELAB of sRGB (IEC 61966-2-1) under D65 and the 2° colorimetric observer, by
the colour-science library. Contrast is that of WCAG 2.2 (relative luminance, 1.4.6). Colour vision
is simulated by the model of Machado, Oliveira and Fernandes (2009) at full severity.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import colour
import numpy as np
import tinycss2

SHEET = Path(__file__).resolve().parents[2] / "static" / "theme.css"
THEMES = ("light", "dark", "dim", "print")
SURFACES = ("wall", "sheet", "band", "field")
LINES = ("rule", "edge")
READ = ("ink", "quiet", "accent")
VISIONS = ("all", "Protanomaly", "Deuteranomaly", "Tritanomaly", "grey")
# Luminance alone: what a grey print or complete colour blindness leaves.
GREY = np.tile([0.2126, 0.7152, 0.0722], (3, 1))

Colours = dict[str, str]  # name → "#rrggbb"


def themes() -> dict[str, Colours]:
    """The colours of each theme; a theme that names none takes those of the light or dark one."""
    rules = tinycss2.parse_stylesheet(
        SHEET.read_text("utf-8"), skip_comments=True, skip_whitespace=True
    )
    found: dict[str, Colours] = {theme: {} for theme in THEMES}
    for selector, declared in _rules(rules):
        for name, text in declared:
            pair = re.fullmatch(r"light-dark\((#\w+), *(#\w+)\)", text)
            if pair:
                found["light"][name], found["dark"][name] = map(_long, pair.groups())
            elif re.fullmatch(r"#\w+", text):
                found["dim" if "dim" in selector else "print"][name] = _long(text)
    return {
        "light": found["light"],
        "dark": found["dark"],
        "dim": found["dark"] | found["dim"],
        "print": found["light"] | found["print"],
    }


def _rules(rules: list[object]) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    for rule in rules:
        if isinstance(rule, tinycss2.ast.QualifiedRule):
            declared = tinycss2.parse_declaration_list(
                rule.content, skip_comments=True, skip_whitespace=True
            )
            yield (
                tinycss2.serialize(rule.prelude).strip(),
                [
                    (one.lower_name[2:], tinycss2.serialize(one.value).strip())
                    for one in declared
                    if isinstance(one, tinycss2.ast.Declaration) and one.lower_name[:2] == "--"
                ],
            )
        elif isinstance(rule, tinycss2.ast.AtRule) and rule.at_keyword == "media":
            yield from _rules(
                tinycss2.parse_rule_list(rule.content, skip_comments=True, skip_whitespace=True)
            )


def _long(text: str) -> str:
    return "#" + "".join(sign * 2 for sign in text[1:]) if len(text) == 4 else text.lower()


def linear(text: str) -> np.ndarray:
    """Linear RGB, (3,), 0 to 1."""
    return np.asarray(colour.cctf_decoding(colour.notation.HEX_to_RGB(text), function="sRGB"))


def lab(text: str) -> np.ndarray:
    """L*, a*, b* (D65, 2°)."""
    space = colour.RGB_COLOURSPACES["sRGB"]
    XYZ = colour.RGB_to_XYZ(linear(text), space)
    return np.asarray(colour.XYZ_to_Lab(XYZ, space.whitepoint))


def seen(text: str, vision: str) -> np.ndarray:
    """Linear RGB as somebody with this colour vision sees it."""
    if vision == "all":
        return linear(text)
    matrix = GREY if vision == "grey" else colour.matrix_cvd_Machado2009(vision, 1.0)
    return np.clip(matrix @ linear(text), 0, 1)


def contrast(text: str, ground: str, vision: str = "all") -> float:
    """Of what is read on a ground: 1 to 21."""
    both = sorted(float(GREY[0] @ seen(one, vision)) for one in (text, ground))
    return (both[1] + 0.05) / (both[0] + 0.05)


def main() -> None:
    """Print every colour of every theme."""
    for theme, colours in themes().items():
        print(theme)
        for name, text in colours.items():
            L, a, b = lab(text)
            worst = min(contrast(text, colours[ground]) for ground in SURFACES)
            of = f"contrast at least {worst:5.2f}" if name in READ else ""
            print(f"  {name:10} {text}  L* {L:5.1f}  a* {a:+5.2f}  b* {b:+5.2f}  {of}")


if __name__ == "__main__":
    main()
