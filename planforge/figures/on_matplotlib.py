"""A sheet of paper as a matplotlib figure, to show on a screen or save in another format."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.transforms import Affine2D, Transform

from planforge.calc.arrays import Array
from planforge.figures.paper import PER_INCH, Paper, Style, TextLine


def figure_of(paper: Paper) -> Figure:
    """Everything on ``paper``, one artist a style, at true size."""
    figure = Figure(figsize=(paper.width / PER_INCH, paper.height / PER_INCH), dpi=PER_INCH, frameon=False)
    to_inches = Affine2D().scale(1.0 / PER_INCH) + figure.dpi_scale_trans
    for number, (style, parts) in enumerate(paper.shapes()):
        figure.add_artist(_patch(style, parts, to_inches, style.layer + number * 1e-4))
    if paper.texts:
        figure.add_artist(_Lettering(paper.texts, to_inches))
    return figure


class _Lettering(Artist):
    """All text of a sheet as one artist: laid out already, so none of matplotlib's layout is needed."""

    def __init__(self, texts: Sequence[TextLine], transform: Transform) -> None:
        super().__init__()
        self.lines_of_text = tuple(texts)
        self._to_figure = transform
        self.set_zorder(10.0)

    def draw(self, renderer: Any) -> None:
        """Hand every line to the renderer."""
        places = self._to_figure.transform([(line.x, line.y) for line in self.lines_of_text])
        height = renderer.get_canvas_width_height()[1]
        for line, (x, y) in zip(self.lines_of_text, places.tolist(), strict=True):
            context = renderer.new_gc()
            context.set_foreground(str(line.grey))
            face = _face(line.size, line.bold, line.italic)
            renderer.draw_text(context, x, height - y if renderer.flipy() else y, line.text, face, line.angle)
            context.restore()


@lru_cache(maxsize=64)
def _face(size: float, bold: bool, italic: bool) -> FontProperties:
    return FontProperties(
        size=size, weight="bold" if bold else "normal", style="italic" if italic else "normal"
    )


def _patch(style: Style, parts: list[tuple[Array, bool]], transform: object, order: float) -> PathPatch:
    vertices, codes = [], []
    for points, closed in parts:
        # a closed part repeats its first point under CLOSEPOLY
        whole = np.concatenate([points, points[:1]]) if closed else points
        code = np.full(len(whole), Path.LINETO, dtype=np.uint8)
        code[0] = Path.MOVETO
        if closed:
            code[-1] = Path.CLOSEPOLY
        vertices.append(whole)
        codes.append(code)
    pen = style.pen
    dashes: object = "-"
    if pen is not None and pen.dashes:
        # matplotlib multiplies dashes by the line's width
        dashes = (0, tuple(d / pen.width for d in pen.dashes))
    return PathPatch(
        Path(np.concatenate(vertices), np.concatenate(codes)),
        transform=transform,
        facecolor="none" if style.fill is None else str(style.fill),
        edgecolor="none" if pen is None else str(pen.grey),
        linewidth=0.0 if pen is None else pen.width,
        linestyle=dashes,
        capstyle="butt",
        joinstyle="miter",
        zorder=order,
    )
