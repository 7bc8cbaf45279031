"""Pictures of every page and of every PDF page, into shots/ (`make shots`).

Each page at two widths, in both themes and both languages, and the gallery of components. Plays a
world into a database of its own, serves it, and has Chromium take the pictures. Ends with an error
where the number of pictures is not what the resolver and the PDFs ask for.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from itertools import product
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, sync_playwright

from tests import needs
from tests.browser import house

ROOT = Path(__file__).resolve().parents[2]
OUT = ROOT / "shots"
WIDTHS = (390, 1280)
THEMES = ("light", "dark")
LANGUAGES = ("en", "zh-hans")
LOOKS = [*product(WIDTHS, THEMES)]
HEIGHT = 900
BUILDER = "supplier_lead"  # who opens the gallery
GALLERY = {"gallery": "/gallery/", "gallery-paper": "/gallery/paper/"}
# Chromium's fonts and those of the PDFs, of which one is Chinese: a bare machine may have none.
FONTS = """<?xml version="1.0"?>
<!DOCTYPE fontconfig SYSTEM "urn:fontconfig:fonts.dtd">
<fontconfig><include ignore_missing="yes">/etc/fonts/fonts.conf</include><dir>{}</dir></fontconfig>
"""


def main() -> int:
    """0 when every picture was taken."""
    chromium, pdftoppm = needs.chromium(), needs.program("pdftoppm", "poppler-utils")
    shutil.rmtree(OUT, ignore_errors=True)
    OUT.mkdir()
    with tempfile.TemporaryDirectory(prefix="shots-") as var, house.House(Path(var)) as served:
        story = json.loads(served.run("tests.browser.play"))
        served.environment["COUNTERSHADE_GALLERY"] = "1"
        served.start(worker=False)
        fonts = Path(var) / "shots.conf"
        fonts.write_text(FONTS.format(Path(var) / "fonts"), encoding="utf-8")
        surroundings = {**os.environ, "FONTCONFIG_FILE": str(fonts)}
        with sync_playwright() as play:
            browser = play.chromium.launch(
                executable_path=chromium, args=house.ARGUMENTS, env=surroundings
            )
            taken = sum(pictures(browser, served.url, story, language) for language in LANGUAGES)
            browser.close()
        sheets = papers(pdftoppm, Path(var), story)
    pages = len(story["names"]) + len(GALLERY)
    asked = pages * len(LOOKS) * len(LANGUAGES)
    print(f"shots: {taken} of {asked} pictures of {pages} pages")
    print(f"shots: {sheets} pictures of the pages of {len(story['papers'])} PDFs")
    return 0 if taken == asked and sheets == story["sheets"] else 1


def pictures(browser: Browser, url: str, story: dict[str, Any], language: str) -> int:
    """Every page of the story, and the gallery, at all widths and in all themes."""
    taken = 0
    for who, pages in story["pages"].items():
        context = browser.new_context()
        cookies = {"django_language": language}
        if who:
            cookies["sessionid"] = story["sessions"][who]
        context.add_cookies(
            [{"name": name, "value": value, "url": url} for name, value in cookies.items()]
        )
        tab = context.new_page()
        for name, path in [*pages, *(GALLERY.items() if who == BUILDER else ())]:
            answer = tab.goto(url + path)
            if answer is None or answer.status != 200:
                print(f"shots: {name} answered {answer and answer.status}", file=sys.stderr)
                continue
            for width, theme in LOOKS:
                tab.emulate_media(color_scheme=theme)
                tab.set_viewport_size({"width": width, "height": HEIGHT})
                file = f"{name.replace(':', '-')}-{width}-{theme}-{language}.png"
                tab.screenshot(path=OUT / file, full_page=True)
                taken += 1
        context.close()
    return taken


def papers(pdftoppm: str, var: Path, story: dict[str, Any]) -> int:
    """Every page of every PDF."""
    for name, file in story["papers"]:
        subprocess.run([pdftoppm, "-r", "70", "-png", str(var / file), str(OUT / name)], check=True)
    return len(list(OUT.glob("paper-*.png")))


if __name__ == "__main__":
    os.chdir(ROOT)
    sys.exit(main())
