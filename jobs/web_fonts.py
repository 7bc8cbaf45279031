"""The fonts of the pages: the signs of our Latin font that pages show, small enough to send.

`python -m jobs.web_fonts` writes static/fonts/ from the installed font; the files are committed, so
that no installation needs this. Pages and PDFs are set in the same design; Chinese comes from the
reader's own machine. The licence of the source lets changed copies go under another name.
"""

from __future__ import annotations

import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

from jobs.fonts import LATIN_ROOTS

FOLDER = Path(__file__).resolve().parents[1] / "static" / "fonts"
FAMILY = "Countershade Sans"
FILES = {
    "countershade-regular.woff2": "DejaVuSans.ttf",
    "countershade-bold.woff2": "DejaVuSans-Bold.ttf",
}
# Latin with its accents, the signs of colour and of numbers, and the shapes that tell states.
SIGNS = (
    *range(0x20, 0x7F),
    *range(0xA0, 0x180),
    *map(ord, "Δσαβκχ²³₀₁₂₃₄₅₆₇₈₉⁰⁴⁵⁶⁷⁸⁹"),
    *range(0x2010, 0x2027),
    *map(ord, "‰′″‹›€−∕∞≈≠≤≥←↑→↓↗↘●○◆◇■□▲△▶▷▼▽✓✗"),
)
FEATURES = ["kern", "ccmp", "mark", "mkmk", "tnum"]


def make(source: Path, target: Path) -> None:
    """Write `target` with what `source` has of SIGNS."""
    options = subset.Options(
        flavor="woff2", hinting=False, layout_features=FEATURES, name_IDs=[0, 13, 14]
    )
    options.drop_tables += ["FFTM"]
    font = subset.load_font(str(source), options)
    cut = subset.Subsetter(options)
    cut.populate(unicodes=SIGNS)
    cut.subset(font)
    _rename(font)
    # Its own dates would make every run another file.
    font["head"].modified = font["head"].created
    font.recalcTimestamp = False
    subset.save_font(font, str(target), options)


def _rename(font: TTFont) -> None:
    names = {1: FAMILY, 2: "Regular", 4: FAMILY, 6: FAMILY.replace(" ", "")}
    for number, text in names.items():
        font["name"].setName(text, number, 3, 1, 0x409)


def source_of(name: str) -> Path | None:
    """The installed file, if there is one."""
    found = (file for root in LATIN_ROOTS for file in root.rglob(name))
    return next(found, None)


def main() -> int:
    """0 when both are written."""
    FOLDER.mkdir(exist_ok=True)
    for target, name in FILES.items():
        source = source_of(name)
        if source is None:
            print(f"{name} is not installed", file=sys.stderr)
            return 1
        make(source, FOLDER / target)
        print(f"{target}: {(FOLDER / target).stat().st_size} bytes")
    return 0


if __name__ == "__main__":
    sys.exit(main())
