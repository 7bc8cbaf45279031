"""Pictures of every page at two widths and of every PDF page, into shots/ (`make shots`).

Plays a world into a database of its own, serves it, and has Chromium take the pictures. Ends with
an error where the number of pictures is not what the resolver and the PDFs ask for.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, sync_playwright

from tests import needs
from tests.browser import house

ROOT = Path(__file__).resolve().parents[2]
OUT = ROOT / "shots"
WIDTHS = (390, 1280)
HEIGHT = 900


def main() -> int:
    """0 when every picture was taken."""
    chromium, pdftoppm = needs.chromium(), needs.program("pdftoppm", "poppler-utils")
    shutil.rmtree(OUT, ignore_errors=True)
    OUT.mkdir()
    with tempfile.TemporaryDirectory(prefix="shots-") as var, house.House(Path(var)) as served:
        story = json.loads(served.run("tests.browser.play"))
        served.start(worker=False)
        with sync_playwright() as play:
            browser = play.chromium.launch(executable_path=chromium, args=house.ARGUMENTS)
            taken = pictures(browser, served.url, story)
            browser.close()
        sheets = papers(pdftoppm, Path(var), story)
    asked = len(story["names"]) * len(WIDTHS)
    print(f"shots: {taken} of {asked} pictures of {len(story['names'])} pages")
    print(f"shots: {sheets} pictures of the pages of {len(story['papers'])} PDFs")
    return 0 if taken == asked and sheets == story["sheets"] else 1


def pictures(browser: Browser, url: str, story: dict[str, Any]) -> int:
    """Every page of the story at both widths."""
    taken = 0
    for width in WIDTHS:
        for who, pages in story["pages"].items():
            context = browser.new_context(viewport={"width": width, "height": HEIGHT})
            if who:
                cookie = {"name": "sessionid", "value": story["sessions"][who], "url": url}
                context.add_cookies([cookie])
            tab = context.new_page()
            for name, path in pages:
                answer = tab.goto(url + path)
                if answer is None or answer.status != 200:
                    print(f"shots: {name} answered {answer and answer.status}", file=sys.stderr)
                    continue
                tab.screenshot(path=OUT / f"{name.replace(':', '-')}-{width}.png", full_page=True)
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
