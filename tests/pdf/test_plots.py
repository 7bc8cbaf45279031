"""The figure of margins: marks by shape, at the right place, texts escaped, legible in grey."""

from __future__ import annotations

import re
from decimal import Decimal as D
from xml.etree import ElementTree

import pytest

from jobs import plots

SVG = "{http://www.w3.org/2000/svg}"


def figure(*rows, unit="ΔE₀₀") -> ElementTree.Element:
    text = plots.margins(rows, title="Margins <D65>", desc='12 "pieces" & more', unit_text=unit)
    return ElementTree.fromstring(text)  # noqa: S314  (our own text)


def row(value: str, limit: str = "1.00", u: str = "0.20", label: str = "P1", state: str = "ok"):
    return (label, D(value), D(limit), D(u), state)


def texts(root) -> list[str]:
    return ["".join(node.itertext()) for node in root.iter(f"{SVG}text")]


def test_title_and_description_come_first_as_given():
    root = figure(row("0.5"))
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root[0].text == "Margins <D65>" and root[1].text == '12 "pieces" & more'


@pytest.mark.parametrize(
    ("value", "shape"),
    [
        ("0", "disc"),
        ("0.80", "disc"),
        ("0.81", "diamond"),
        ("1.00", "diamond"),
        ("1.20", "diamond"),
        ("1.21", "cross"),
    ],
)
def test_the_shape_says_on_which_side_of_the_zone_the_value_lies(value, shape):
    root = figure(row(value))
    circles = list(root.iter(f"{SVG}circle"))
    paths = [path.get("d") for path in root.iter(f"{SVG}path")]
    diamonds = [d for d in paths if d.endswith("Z")]
    crosses = [d for d in paths if d.endswith("l-10 10")]
    found = {"disc": len(circles), "diamond": len(diamonds), "cross": len(crosses)}
    assert found == {"disc": 0, "diamond": 0, "cross": 0, shape: 1}


def test_marks_and_bands_stand_at_scale():
    root = figure(row("0.50"), row("1.50", limit="1.00", u="0.25"))
    at = float(next(root.iter(f"{SVG}circle")).get("cx"))
    bands = [(float(b.get("x")), float(b.get("width"))) for b in root.iter(f"{SVG}rect")]
    unit = (plots.PLOT_END - plots.PLOT_START) / 1.5  # the axis ends at 1.5
    assert at == pytest.approx(plots.PLOT_START + 0.5 * unit, abs=0.02)
    assert bands[0] == pytest.approx((plots.PLOT_START + 0.8 * unit, 0.4 * unit), abs=0.02)
    assert bands[1] == pytest.approx((plots.PLOT_START + 0.75 * unit, 0.5 * unit), abs=0.02)


@pytest.mark.parametrize(
    "greatest", ["0.004", "0.07", "0.9", "1", "1.7", "3.3", "9.99", "10", "640"]
)
def test_everything_stays_inside_the_plot(greatest):
    root = figure(row(greatest, limit="0.5", u="0.1"), row("0", limit="0.001", u="0"))
    xs = [float(circle.get("cx")) for circle in root.iter(f"{SVG}circle")]
    xs += [float(x) for p in root.iter(f"{SVG}path") for x in re.findall(r"M([\d.]+)", p.get("d"))]
    assert min(xs) >= plots.PLOT_START - 6 and max(xs) <= plots.PLOT_END + 6
    ticks = [p for p in root.iter(f"{SVG}path") if p.get("d").endswith("v4")]
    assert 3 <= len(ticks) <= 9


def test_value_and_state_stand_in_words_and_long_labels_are_cut():
    root = figure(row("0.540", label="<b>" + "长" * 40, state="conforming"))
    found = texts(root)
    assert "0.540" in found and "conforming" in found and "ΔE₀₀" in found
    cut = next(text for text in found if text.startswith("<b>长"))
    assert cut.endswith("…") and len(cut) < 20


def test_only_greys_are_used_and_no_style_attributes():
    text = plots.margins([row("0.5"), row("1"), row("2")], title="t", desc="d", unit_text="u")
    colours = set(re.findall(r"#([0-9a-f]{6})", text))
    assert colours and all(c[0:2] == c[2:4] == c[4:6] for c in colours)
    assert "style=" not in text and "class=" not in text


@pytest.mark.parametrize("bad", ["-0.1", "NaN", "Infinity"])
def test_unfit_numbers_are_refused(bad):
    with pytest.raises(ValueError, match="finite"):
        figure(row(bad))


def test_no_rows_and_too_many_rows_are_refused():
    for count in (0, plots.ROWS_PER_FIGURE + 1):
        with pytest.raises(ValueError, match="rows"):
            figure(*[row("0.5")] * count)
    assert figure(*[row("0.5")] * plots.ROWS_PER_FIGURE) is not None
