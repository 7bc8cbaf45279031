"""Every kind of figure with invented numbers, to be looked at: page, PDF and grey print.

    python -m tests.figures.gallery_sheet FOLDER

writes FOLDER/gallery.html (with the style sheet beside it) and FOLDER/gallery.pdf, prints how long
each figure takes and how large it is, and where Chromium and pdftoppm are found takes pictures at
two widths, in both themes, and of the PDF in grey.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import django

ROOT = Path(__file__).resolve().parents[2]
PRINT = (
    "@page { size: A4; margin: 16mm } body { font: 9pt 'DejaVu Sans' } figure svg { width: 100% }"
    "figure { break-inside: avoid; margin: 0 0 8mm } table { display: none }"
)
HEAD = '<!doctype html><html lang="en" data-theme="{}"><meta charset="utf-8">'
LINKS = (
    '<meta name="viewport" content="width=device-width">'
    '<link rel="stylesheet" href="theme.css"><link rel="stylesheet" href="countershade.css">'
)
WIDTHS = (390, 1280)
THEMES = ("light", "dark")


def main(folder: Path) -> None:
    """Write the files, print the measures."""
    from django.template.loader import render_to_string

    from jobs import pdf
    from jobs.figures.drawing import for_page, for_paper
    from tests.figures import samples

    known = samples.samples()
    folder.mkdir(parents=True, exist_ok=True)
    for sheet in ("theme.css", "countershade.css"):
        shutil.copy(ROOT / "static" / sheet, folder)
    page, paper = "", ""
    for name, (draw, data) in known.items():
        times = []
        for _ in range(3):
            start = time.process_time()
            drawing = for_page(draw, data, name)
            times.append((time.process_time() - start) / 2)
        drawing = for_page(draw, data, name)
        sizes = len(drawing.svg.encode()), len(drawing.narrow.encode())
        print(f"{name:20} {1000 * min(times):6.1f} ms  {sizes[0]:6} and {sizes[1]:6} bytes")
        page += render_to_string("components/figure.html", {"drawing": drawing})
        one = for_paper(draw, data, name)
        paper += render_to_string("components/figure.html", {"drawing": one, "paper": True})
    for theme in THEMES:
        html = f"{HEAD.format(theme)}{LINKS}<main>{page}</main></html>"
        (folder / f"gallery-{theme}.html").write_text(html, encoding="utf-8")
    html = f"{HEAD.format('light')}<style>{PRINT}</style><body>{paper}</body></html>"
    set_ = pdf.render(html, created=datetime(2026, 1, 1, tzinfo=UTC), title="Figures")
    (folder / "gallery.pdf").write_bytes(set_)
    pictures(folder)


def pictures(folder: Path) -> None:
    """Screenshots of the page, grey pictures of the PDF."""
    subprocess.run(
        ["pdftoppm", "-gray", "-r", "60", "-png", "gallery.pdf", "grey"], cwd=folder, check=True
    )
    from playwright.sync_api import sync_playwright

    from tests import needs

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=needs.chromium(), args=["--no-sandbox"])
        for width in WIDTHS:
            for theme in THEMES:
                tab = browser.new_page(viewport={"width": width, "height": 900})
                tab.goto((folder / f"gallery-{theme}.html").as_uri())
                for place, figure in enumerate(tab.query_selector_all("figure")):
                    figure.screenshot(path=folder / f"{theme}-{width}-{place:02}.png")
                tab.close()
        browser.close()


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    main(Path(sys.argv[1]))
