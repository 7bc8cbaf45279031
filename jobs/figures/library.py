"""The plotting library, loaded at the first figure: it takes a second that no other page waits."""

from __future__ import annotations

import functools
import os
from pathlib import Path
from types import SimpleNamespace

from django.conf import settings

DPI = 72  # one point is one unit of the viewBox


@functools.cache
def load() -> SimpleNamespace:
    """What the figures use of it: Figure, its SVG canvas, artists, transforms and tickers.

    Never pyplot, which keeps figures and a state of its own. The library's cache of fonts goes
    where all files of this installation go.
    """
    folder = Path(settings.VAR_DIR) / "matplotlib"
    folder.mkdir(parents=True, exist_ok=True)
    os.environ.setdefault("MPLCONFIGDIR", str(folder))
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.dates import AutoDateLocator
    from matplotlib.figure import Figure
    from matplotlib.ft2font import FT2Font
    from matplotlib.lines import Line2D
    from matplotlib.patches import Ellipse, PathPatch, Polygon, Rectangle
    from matplotlib.path import Path as Outline
    from matplotlib.ticker import MaxNLocator
    from matplotlib.transforms import Bbox, BboxTransform

    matplotlib.rcParams.update(
        {
            "svg.hashsalt": "countershade",  # ids that would else be drawn at random
            "svg.fonttype": "none",
            "path.simplify": False,  # each number keeps its point
            "lines.scale_dashes": False,
        }
    )
    return SimpleNamespace(
        AutoDateLocator=AutoDateLocator,
        Bbox=Bbox,
        BboxTransform=BboxTransform,
        Ellipse=Ellipse,
        Figure=Figure,
        FigureCanvasSVG=FigureCanvasSVG,
        FT2Font=FT2Font,
        Line2D=Line2D,
        MaxNLocator=MaxNLocator,
        Path=Outline,
        PathPatch=PathPatch,
        Polygon=Polygon,
        Rectangle=Rectangle,
        # the Latin font that figures name first; the library brings a copy
        latin_font=str(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"),
    )
