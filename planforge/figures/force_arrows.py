"""Arrows for forces."""

from __future__ import annotations

import numpy as np

from planforge.calc.arrays import Array
from planforge.figures.paper import SYMBOL, Paper, Pen

FORCE = Pen(1.5)


def arrow(paper: Paper, start: tuple[float, float], tip: tuple[float, float], pen: Pen = FORCE) -> Array:
    """Draw a force from ``start`` to its ``tip``; return both, (2, 2)."""
    ends = np.array([start, tip], dtype=float)
    way = ends[1] - ends[0]
    length = float(np.hypot(*way))
    # the shaft ends inside the head so that its tip stays sharp
    paper.stroke(np.array([ends[0], ends[1] - way * min(4.0 / length, 1.0)]), pen, layer=SYMBOL)
    arrowhead(paper, ends[1], way)
    return ends


def arrowhead(paper: Paper, tip: Array, way: Array, length: float = 6.5) -> None:
    """A filled head at ``tip`` that points along ``way``."""
    along = np.asarray(way, dtype=float) / float(np.hypot(*way))
    side = 0.32 * length * np.array([-along[1], along[0]])
    back = np.asarray(tip, dtype=float) - length * along
    paper.fill(np.array([tip, back + side, back - side]), 0.0, layer=SYMBOL)
