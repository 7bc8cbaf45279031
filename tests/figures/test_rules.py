"""What holds for every figure: inside its frame, grey, legible, safe on a page, the same twice."""

from __future__ import annotations

import functools
import re
import subprocess
import sys
from dataclasses import replace
from itertools import combinations

import pytest
from django.template.loader import render_to_string
from django.utils import translation

from jobs.figures import canvas, kept
from jobs.figures.drawing import (
    Column,
    Conditions,
    Drawing,
    Setting,
    Table,
    for_page,
    for_paper,
)
from tests.figures import reading, samples

SAMPLES = samples.samples()
NAMES = sorted(SAMPLES)
WAYS = {
    "wide": Setting("fig"),
    "narrow": Setting("fig", narrow=True),
    "paper": Setting("fig", interactive=False),
}


@functools.cache
def drawn(name: str, setting: Setting) -> Drawing:
    """A sample, drawn once for all tests of this file."""
    draw, data = SAMPLES[name]
    return draw(data, setting)


@pytest.fixture(params=sorted(WAYS))
def way(request) -> str:
    return request.param


@pytest.fixture(params=NAMES)
def name(request) -> str:
    return request.param


def test_it_is_named_described_and_says_its_conditions(name, way):
    drawing = drawn(name, WAYS[way])
    root = reading.parsed(drawing.svg)
    assert [child.tag for child in root][:2] == [f"{reading.SVG}title", f"{reading.SVG}desc"]
    assert (root[0].text, root[1].text) == (drawing.title, drawing.description)
    assert root.get("aria-labelledby") == root[0].get("id")
    assert root.get("aria-describedby") == root[1].get("id")
    assert SAMPLES[name][1].conditions.words in drawing.description
    assert root.get("width") is None and root.get("viewBox", "").startswith("0 0 ")


def test_only_greys_no_styles_no_addresses_no_clipping(name, way):
    svg = drawn(name, WAYS[way]).svg
    colours = set(re.findall(r"#([0-9a-f]{6})\b", svg))
    assert colours and all(c[0:2] == c[2:4] == c[4:6] for c in colours)
    values = {
        node.get(attribute)
        for node in reading.parsed(svg).iter()
        for attribute in ("fill", "stroke")
    }
    assert values <= {None, "none"} | {f"#{colour}" for colour in colours}
    assert "style" not in svg and "<script" not in svg and "clip" not in svg
    assert set(re.findall(r"https?://[^\"]*", svg)) == {"http://www.w3.org/2000/svg"}


def test_the_same_numbers_give_the_same_bytes(name, way):
    draw, data = SAMPLES[name]
    assert draw(data, WAYS[way]).svg == drawn(name, WAYS[way]).svg


def test_everything_lies_inside_the_frame(name, way):
    root = reading.parsed(drawn(name, WAYS[way]).svg)
    _, _, width, height = map(float, root.get("viewBox", "").split())
    boxes = [mark.box for mark in reading.marks(root)]
    boxes += reading.all_text_boxes(root)
    boxes += [
        reading.bounds(reading.corners(path.get("d", "")))
        for path in root.iter(f"{reading.SVG}path")
        if not path.get("id")
    ]
    for rect in root.iter(f"{reading.SVG}rect"):
        x, y, w, h = (float(rect.get(part, "nan")) for part in ("x", "y", "width", "height"))
        boxes.append((x, y, x + w, y + h))
    for left, top, right, bottom in boxes:
        assert left >= 0 and top >= 0 and right <= width + 0.01 and bottom <= height + 0.01


def test_no_text_runs_over_another(name, way):
    boxes = reading.text_boxes(reading.parsed(drawn(name, WAYS[way]).svg))
    for (one, a), (other, b) in combinations(boxes, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, f"{one!r} and {other!r}"


def test_text_is_large_enough(name, way):
    root = reading.parsed(drawn(name, WAYS[way]).svg)
    sizes = {float(text.get("font-size", root.get("font-size", "0"))) for text in root.iter()}
    assert min(sizes) >= 11


def test_two_on_one_page_share_no_id(name):
    ids = []
    for key in ("a", "b"):
        drawing = for_page(*SAMPLES[name], key)
        ids += re.findall(r' id="([^"]+)"', drawing.svg + drawing.narrow)
        used = re.findall(r'href="#([^"]+)"', drawing.svg + drawing.narrow)
        assert set(used) <= set(ids)
    assert len(ids) == len(set(ids))


def test_stops_only_where_they_are_few_and_words_for_every_datum(name):
    root = reading.parsed(drawn(name, WAYS["wide"]).svg)
    count = len(reading.marks(root))
    stops = [g for g in root.iter(f"{reading.SVG}g") if g.get("tabindex") == "0"]
    titled = [g for g in root.iter(f"{reading.SVG}g") if g.find(f"{reading.SVG}title") is not None]
    crowded = name == "differences-many"  # 600 marks, of which the table speaks
    assert (count > 0) is not crowded and len(titled) == count
    assert len(stops) == (count if count <= canvas.MOST_STOPS else 0)
    # an image hides its parts from assistive technology
    assert root.get("role") == ("group" if stops else "img")
    conditions = SAMPLES[name][1].conditions.words
    for stop in stops:
        assert stop.get("role") == "img" and conditions in stop.get("aria-label", "")
        tip = next(g for g in stop if g.get("class") == "tip")
        assert tip.get("visibility") == "hidden"
        shown = [text.text or "" for text in tip.iter(f"{reading.SVG}text")]
        assert stop.get("aria-label", "").startswith(shown[0])


def test_paper_has_nothing_for_pointer_and_keyboard(name):
    svg = drawn(name, WAYS["paper"]).svg
    assert svg.count("<title") == 1
    assert not re.search(r"tabindex|aria-label=|pointer-events|visibility|class=\"tip", svg)


def test_it_is_small_enough(name, way):
    assert len(drawn(name, WAYS[way]).svg.encode()) <= 40_000


def test_page_and_paper_show_the_table(name):
    drawing = for_page(*SAMPLES[name], "fig")
    page = render_to_string("components/figure.html", {"drawing": drawing})
    paper = render_to_string(
        "components/figure.html", {"drawing": for_paper(*SAMPLES[name], "fig"), "paper": True}
    )
    assert drawing.svg in page and drawing.narrow in page and "<details>" in page
    assert "<details>" not in paper and "<svg" in paper
    assert page.count("<tr>") == len(drawing.table.rows) + 1
    if drawing.table.fits_paper:
        assert paper.count("<tr>") == len(drawing.table.folded().rows) + 1
    else:
        assert "<tr>" not in paper and f"{len(drawing.table.rows)} rows" in paper
    bare = render_to_string(
        "components/figure.html",
        {"drawing": drawing, "without_table": True, "without_caption": True},
    )
    assert "<table>" not in bare and "figcaption" not in bare


@pytest.mark.parametrize("columns", [1, 2, 3, 5, 7, 13])
@pytest.mark.parametrize("count", [1, 12, 13, 25, 31, 41, 120])
def test_a_table_folded_for_paper_has_every_row_once_and_in_order(columns, count):
    rows = tuple(tuple(f"{row}/{column}" for column in range(columns)) for row in range(count))
    heads = tuple(Column(str(column)) for column in range(columns))
    folded = Table("t", heads, rows).folded()
    parts = len(folded.columns) // columns
    assert folded.columns == heads * parts and len(folded.columns) <= max(12, columns)
    read = [row[part * columns :][:columns] for part in range(parts) for row in folded.rows]
    assert tuple(row for row in read if any(row)) == rows
    assert not any(any(row) for row in read[count:])
    assert count <= 12 or columns > 6 or len(folded.rows) < count


def test_texts_are_escaped_wherever_they_stand():
    data = replace(
        samples.margin_odd(),
        title='<b>&"',
        conditions=Conditions(other="<script>alert(1)</script>"),
    )
    drawing = for_page(samples.margins.draw, data, "fig")
    page = render_to_string("components/figure.html", {"drawing": drawing})
    assert "<script" not in page and "<b>" not in page and "<innen>" not in page
    assert reading.parsed(drawing.svg)[0].text == '<b>&"'


def test_what_was_drawn_is_drawn_again_only_where_something_differs():
    data = samples.margin_rows(3)
    first = kept.for_page(samples.margins.draw, data, "fig")
    assert kept.for_page(samples.margins.draw, samples.margin_rows(3), "fig") is first
    others = [
        kept.for_page(samples.margins.draw, data, "other"),
        kept.for_page(samples.margins.draw, replace(data, title="Other"), "fig"),
        kept.for_page(samples.margins.draw, samples.margin_rows(3, seed=2), "fig"),
    ]
    with translation.override("zh-hans"):
        others.append(kept.for_page(samples.margins.draw, data, "fig"))
        assert kept.for_page(samples.margins.draw, data, "fig") is others[-1]
    assert len({drawing.svg for drawing in (first, *others)}) == 5
    assert first == for_page(samples.margins.draw, data, "fig")


def test_no_more_is_kept_than_there_is_room_for():
    data = samples.margin_rows(1)
    first = kept.for_page(samples.margins.draw, data, "first")
    for place in range(kept.MOST):
        kept.for_page(samples.margins.draw, data, f"fig-{place}")
    assert kept.for_page(samples.margins.draw, data, "first") is not first


def test_keys_and_conditions_are_asked_for():
    for key in ("", "A", "1a", "a b", "a.b"):
        with pytest.raises(ValueError, match="key"):
            Setting(key)
    with pytest.raises(ValueError, match="conditions"):
        Conditions()


def test_the_figures_are_there_without_the_plotting_library(settings):
    modules = ", ".join(f"jobs.figures.{name}" for name in ("margins", "canvas", "axes", "letters"))
    code = f"import sys, shipments.figures, {modules}; print('matplotlib' in sys.modules)"
    set_up = "import os, django; os.environ['DJANGO_SETTINGS_MODULE'] = 'config.settings'; "
    done = subprocess.run(
        [sys.executable, "-c", set_up + "django.setup(); " + code],
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == "False"
