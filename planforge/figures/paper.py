"""A sheet of paper in points: strokes, fills and text gathered by style.

Coordinates are points (1/72 in) from the sheet's lower left corner, so a figure's inch is an inch
of paper and a stated scale stays true. Like strokes become one path.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely

from planforge.calc.arrays import Array
from planforge.figures.text_metrics import ASCENT, DESCENT, LEADING, text_width

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PER_INCH = 72.0
SMALLEST = 7.5
"""No text is set smaller, points."""

Points = Sequence[tuple[float, float]] | Array


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is drawn: width and dashes in points, grey from 0 (black) to 1 (white)."""

    width: float
    grey: float = 0.0
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Style:
    """Layer, pen and fill (a grey) of shapes drawn alike; None where there is no line or no fill."""

    layer: int
    pen: Pen | None
    fill: float | None


@dataclass(frozen=True, slots=True)
class TextLine:
    """One line of text; ``x``, ``y`` is the left end of its baseline."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    italic: bool = False
    grey: float = 0.0
    angle: float = 0.0


FILL, LINE, HEAVY, SYMBOL, MASK, FRAME = range(6)
"""Layers from the back; text lies over all."""


class Paper:
    """Collects what is drawn; the document prints it, :meth:`figure` shows it in matplotlib."""

    def __init__(self, width: float, height: float) -> None:
        """An empty sheet of ``width`` x ``height`` inches."""
        self.width, self.height = width * PER_INCH, height * PER_INCH
        self._paths: dict[Style, list[tuple[Array, bool]]] = defaultdict(list)
        self.texts: list[TextLine] = []
        self._figure: Figure | None = None
        self._window: shapely.Polygon | None = None

    @contextmanager
    def within(self, left: float, bottom: float, right: float, top: float) -> Iterator[None]:
        """Cut every line drawn meanwhile at the edges of a window."""
        self._window = shapely.box(left, bottom, right, top)
        try:
            yield
        finally:
            self._window = None

    def stroke(self, points: Points, pen: Pen, *, closed: bool = False, layer: int = LINE) -> None:
        """Draw a line through ``points``, shape (n, 2)."""
        line = np.asarray(points, dtype=float)
        paths = self._paths[Style(layer, pen, None)]
        if self._window is None:
            paths.append((line, closed))
            return
        whole = shapely.linestrings(np.concatenate([line, line[:1]]) if closed else line)
        for piece in shapely.get_parts(shapely.intersection(whole, self._window)):
            corners = shapely.get_coordinates(piece)
            if len(corners) > 1:
                paths.append((corners, False))

    def strokes(self, lines: Iterable[Points], pen: Pen, *, layer: int = LINE) -> None:
        """Draw several lines alike."""
        for points in lines:
            self.stroke(points, pen, layer=layer)

    def fill(self, points: Points, grey: float, *, pen: Pen | None = None, layer: int = FILL) -> None:
        """Fill the outline ``points``; with a pen, draw it too."""
        self._paths[Style(layer, pen, grey)].append((np.asarray(points, dtype=float), True))

    def circle(
        self,
        x: float,
        y: float,
        radius: float,
        pen: Pen | None,
        grey: float | None = None,
        *,
        layer: int = SYMBOL,
    ) -> None:
        """Draw a circle, filled with ``grey`` where one is given."""
        points = ring(x, y, radius)
        if grey is None and pen is not None:
            self.stroke(points, pen, closed=True, layer=layer)
        elif grey is not None:
            self.fill(points, grey, pen=pen, layer=layer)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float = 9.0,
        *,
        align: Literal["left", "center", "right"] = "left",
        bold: bool = False,
        italic: bool = False,
        grey: float = 0.0,
        angle: float = 0.0,
    ) -> None:
        """Set one line with its baseline at ``y``; ``align`` says which end or middle stands at ``x``."""
        back = {"left": 0.0, "center": 0.5, "right": 1.0}[align] * text_width(text, size, bold)
        turn = math.radians(angle)
        self.texts.append(
            TextLine(
                x - back * math.cos(turn), y - back * math.sin(turn), text, size, bold, italic, grey, angle
            )
        )

    def block(
        self,
        x: float,
        y: float,
        lines: Sequence[str],
        size: float = 9.0,
        *,
        align: Literal["left", "center", "right"] = "center",
        bold: bool = False,
        italic: bool = False,
        angle: float = 0.0,
    ) -> None:
        """Set lines one under another, the block's middle height at ``y`` (across ``x`` where turned 90)."""
        turn = math.radians(angle)
        height = size * (ASCENT + DESCENT + LEADING * (len(lines) - 1))
        for number, line in enumerate(lines):
            down = -height / 2 + size * (ASCENT + LEADING * number)
            self.text(
                x + down * math.sin(turn),
                y - down * math.cos(turn),
                line,
                size,
                align=align,
                bold=bold,
                italic=italic,
                angle=angle,
            )

    def shapes(self) -> list[tuple[Style, list[tuple[Array, bool]]]]:
        """Every style with its lines, points (n, 2) and whether closed, from the back to the front."""
        return sorted(self._paths.items(), key=lambda item: item[0].layer)

    def figure(self) -> Figure:
        """Everything drawn, as a matplotlib figure of the sheet's size; the same one when called again."""
        if self._figure is None:
            # A plan is printed without matplotlib, which takes longer to load than all sheets to draw.
            self._figure = import_module("planforge.figures.on_matplotlib").figure_of(self)
        return self._figure


def ring(x: float, y: float, radius: float, count: int = 32) -> Array:
    """Points (count, 2) round a circle."""
    cos, sin = _round_ways(count)
    return np.column_stack([x + radius * cos, y + radius * sin])


@lru_cache(maxsize=64)
def _round_ways(count: int) -> tuple[Array, Array]:
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    return np.cos(angle), np.sin(angle)


def rectangle(left: float, bottom: float, right: float, top: float) -> Array:
    """The corners (4, 2) of an upright rectangle."""
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top]])


def hatch_lines(outline: Points, spacing: float, angle: float = 45.0) -> tuple[Array, ...]:
    """Parallel lines, ``spacing`` points apart and turned ``angle`` degrees, clipped to an outline (n, 2).

    Each line is an array (2, 2), not to be written to. Lines are counted from the paper's corner, so that
    hatches of neighbours meet. Inside and outside by the even-odd rule.
    """
    return _hatched(np.asarray(outline, dtype=float).tobytes(), spacing, angle)


@lru_cache(maxsize=512)
def _hatched(outline: bytes, spacing: float, angle: float) -> tuple[Array, ...]:
    """The lines of an outline, from the bytes of its points (n, 2); a lot's sheets hatch the same areas."""
    turn = math.radians(angle)
    along, across = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
    points = np.frombuffer(outline).reshape(-1, 2)
    u, v = points @ along, points @ across
    u2, v2 = np.roll(u, -1), np.roll(v, -1)
    lines: list[Array] = []
    for level in np.arange(math.ceil(v.min() / spacing), math.floor(v.max() / spacing) + 1) * spacing:
        crossing = (v <= level) != (v2 <= level)
        if not crossing.any():
            continue
        part = (level - v[crossing]) / (v2[crossing] - v[crossing])
        cuts = np.sort(u[crossing] + part * (u2[crossing] - u[crossing]))
        lines += [
            np.array([a * along + level * across, b * along + level * across])
            for a, b in zip(cuts[::2], cuts[1::2], strict=False)
        ]
    for line in lines:
        line.flags.writeable = False
    return tuple(lines)
