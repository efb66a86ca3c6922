"""Rules, rectangles and shifted origins, written to a page as PDF operators (ISO 32000-1, 8.4 and 8.5).

Written here rather than through the canvas's own calls: a plan has some ten thousand of them, and this
takes a third of the time. Lengths in points, greys from 0 (black) to 1 (white).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


def line(canvas: Any, x1: float, y1: float, x2: float, y2: float, width: float, grey: float = 0.0) -> None:
    """Draw a straight line."""
    canvas._code.append(f"{width:.2f} w {grey:.3g} G {x1:.3f} {y1:.3f} m {x2:.3f} {y2:.3f} l S")


def rule(canvas: Any, x1: float, x2: float, y: float, width: float, grey: float = 0.0) -> None:
    """Draw a horizontal line from ``x1`` to ``x2`` at ``y``."""
    line(canvas, x1, y, x2, y, width, grey)


def frame(canvas: Any, x: float, y: float, width: float, height: float, pen: float) -> None:
    """Draw a rectangle's outline in black; ``pen`` is the line's width."""
    canvas._code.append(f"{pen:.2f} w 0 G {x:.3f} {y:.3f} {width:.3f} {height:.3f} re S")


def shade(canvas: Any, x: float, y: float, width: float, height: float, grey: float = 0.0) -> None:
    """Fill a rectangle; what is filled or lettered after it is black again."""
    canvas._code.append(f"{grey:.3g} g {x:.3f} {y:.3f} {width:.3f} {height:.3f} re f 0 g")


def ink(canvas: Any, *colour: float) -> None:
    """Set what is filled or lettered from here on: one grey, or red, green and blue."""
    numbers = " ".join(f"{part:.3g}" for part in colour)
    canvas._code.append(f"{numbers} {'g' if len(colour) == 1 else 'rg'}")


@contextmanager
def kept(canvas: Any) -> Iterator[None]:
    """Restore colours and pens afterwards."""
    canvas._code.append("q")
    yield
    canvas._code.append("Q")


@contextmanager
def shifted(canvas: Any, x: float, y: float) -> Iterator[None]:
    """Draw with the origin at ``(x, y)``; the canvas keeps account of it for fields and links."""
    before = canvas._currentMatrix
    a, b, c, d, e, f = before
    canvas._currentMatrix = (a, b, c, d, a * x + c * y + e, b * x + d * y + f)
    # Apart, as the canvas joins a matrix that follows to one that stands alone.
    canvas._code += "q", f"1 0 0 1 {x:.4f} {y:.4f} cm"
    yield
    canvas._code.append("Q")
    canvas._currentMatrix = before


@contextmanager
def turned(canvas: Any, x: float, y: float, angle: float) -> Iterator[None]:
    """Draw with the origin at ``(x, y)`` and the axes turned by ``angle`` rad, as :func:`shifted` does."""
    before = canvas._currentMatrix
    a, b, c, d, e, f = before
    cos, sin = math.cos(angle), math.sin(angle)
    axes = a * cos + c * sin, b * cos + d * sin, c * cos - a * sin, d * cos - b * sin
    canvas._currentMatrix = (*axes, a * x + c * y + e, b * x + d * y + f)
    canvas._code += "q", f"{cos:.6f} {sin:.6f} {-sin:.6f} {cos:.6f} {x:.3f} {y:.3f} cm"
    yield
    canvas._code.append("Q")
    canvas._currentMatrix = before
