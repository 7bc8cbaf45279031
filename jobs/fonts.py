"""The fonts of PDFs: our own folder, so that a document looks the same on every machine.

`python -m jobs.fonts` fills VAR_DIR/fonts from installed packages and writes the fontconfig
file that names this folder alone. Latin first (its font has the accents, subscripts and signs
that the Chinese one lacks), then Chinese. A missing font raises no error while typesetting:
hence `missing`, which says what would not show.
"""

from __future__ import annotations

import filecmp
import functools
import os
import shutil
import sys
import unicodedata
from importlib.util import find_spec
from pathlib import Path
from xml.sax.saxutils import escape

from django.conf import settings

FAMILIES = ("DejaVu Sans", "Noto Sans SC")
LATIN_PACKAGE = "fonts-dejavu-core"
LATIN_FILES = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf", "DejaVuSansMono.ttf")
LATIN_ROOTS = (Path("/usr/share/fonts"), Path("/usr/local/share/fonts"))
CHINESE_PACKAGE = "pylopdf-fonts-zh-cn"
CHINESE_MODULE = "pylopdf_fonts_zh_cn"
CHINESE_FILES = ("NotoSansSC-Regular.otf",)
TEXT_FILES = ("DejaVuSans.ttf", *CHINESE_FILES)  # `missing` asks the fonts that set running text
_INVISIBLE = {"Cc", "Cf", "Zl", "Zp"}  # line ends, soft hyphens and the like need no glyph


class FontsMissing(Exception):
    """A font is not there; the message names the package that brings it."""


def folder() -> Path:
    """Where our fonts are."""
    return Path(settings.VAR_DIR) / "fonts"


def configuration() -> Path:
    """The fontconfig file for FONTCONFIG_FILE. Raises FontsMissing before set-up."""
    file = folder() / "fonts.conf"
    if not file.is_file():
        raise FontsMissing("The fonts are not set up: run python -m jobs.fonts")
    return file


def set_up() -> list[Path]:
    """Copy the fonts and write the configuration; what is there already stays as it is.

    Returns the font files. Raises FontsMissing, naming file and package.
    """
    sources = [_latin(name) for name in LATIN_FILES] + [_chinese(name) for name in CHINESE_FILES]
    target = folder()
    target.mkdir(parents=True, exist_ok=True)
    files = []
    for source in sources:
        files.append(target / source.name)
        if not (files[-1].is_file() and filecmp.cmp(source, files[-1], shallow=False)):
            _replace(files[-1], source)
    text = _fontconfig(target)
    file = target / "fonts.conf"
    if not file.is_file() or file.read_text(encoding="utf-8") != text:
        part = file.with_suffix(".part")
        part.write_text(text, encoding="utf-8")
        os.replace(part, file)
    return files


def missing(text: str) -> set[str]:
    """The characters of `text` that none of our text fonts can show. Raises FontsMissing."""
    shown = _shown(folder())
    return {
        sign
        for sign in set(text)
        if ord(sign) not in shown and unicodedata.category(sign) not in _INVISIBLE
    }


@functools.lru_cache(maxsize=4)
def _shown(where: Path) -> frozenset[int]:
    """Code points with a glyph, from the character maps of the fonts that were set up."""
    from fontTools.ttLib import TTFont  # heavy: needed by checks only

    points: set[int] = set()
    for name in TEXT_FILES:
        file = where / name
        if not file.is_file():
            raise FontsMissing(f"{name} is not set up: run python -m jobs.fonts")
        with TTFont(file, lazy=True) as font:
            points.update(font.getBestCmap())
    return frozenset(points)


def _latin(name: str) -> Path:
    """A system font, wherever the distribution keeps it."""
    for root in LATIN_ROOTS:
        for file in sorted(root.rglob(name)):
            return file
    raise FontsMissing(f"{name} was not found: install the system package {LATIN_PACKAGE}")


def _chinese(name: str) -> Path:
    """A font inside an installed Python package."""
    found = find_spec(CHINESE_MODULE)
    for place in (found.submodule_search_locations or []) if found else []:
        file = Path(place) / name
        if file.is_file():
            return file
    raise FontsMissing(f"{name} was not found: install the Python package {CHINESE_PACKAGE}")


def _replace(target: Path, source: Path) -> None:
    """Copy so that a half-written font is never seen under its name."""
    part = target.with_suffix(".part")
    shutil.copyfile(source, part)
    os.replace(part, target)


def _fontconfig(target: Path) -> str:
    """Our folder and nothing else: no system font can slip into a document."""
    text = "".join(f"<family>{family}</family>" for family in FAMILIES)
    fixed = f"<family>DejaVu Sans Mono</family>{text}"
    return f"""<?xml version="1.0"?>
<!DOCTYPE fontconfig SYSTEM "urn:fontconfig:fonts.dtd">
<fontconfig>
  <dir prefix="relative">.</dir>
  <cachedir>{escape(str(target / "cache"))}</cachedir>
  <alias><family>sans-serif</family><prefer>{text}</prefer></alias>
  <alias><family>serif</family><prefer>{text}</prefer></alias>
  <alias><family>monospace</family><prefer>{fixed}</prefer></alias>
</fontconfig>
"""


def main() -> int:
    """Set up; 1 and one clear line where a package is missing."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    try:
        files = set_up()
    except FontsMissing as error:
        print(f"fonts: {error}", file=sys.stderr)
        return 1
    print(f"fonts: {len(files)} files in {folder()}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
