"""Line conventions and least sizes of the sheets: what stays readable on a black-and-white copy at half size.

Weights and dashes follow ASME Y14.2 (line conventions: thick 0.6 mm, thin 0.3 mm; hidden, center,
phantom, break and section lines), which the US National CAD Standard takes over for drawings of
buildings. Their figures are from memory; dashes are drawn in the standard's order at the lengths
that this size of sheet allows.
"""

from __future__ import annotations

import math

import numpy as np

from planforge.calc.arrays import Array
from planforge.figures.paper import PER_INCH, Paper, Pen

MM = PER_INCH / 25.4
"""Points in a millimetre of paper."""
THICK, THIN = 0.6 * MM, 0.3 * MM
"""Line weights, points."""

SHEET_SIZE = (15.8, 8.9)
"""What the frame of an 11 x 17 sheet holds, inches."""

HALF = 0.5
"""The smallest copy that must still read: half of the sheet's width and height."""
ON_LETTER = 11.0 / 17.0
"""An 11 x 17 sheet fitted to Letter: its longer side becomes 11 in."""
LEAST_WEIGHT = 0.35 / HALF
"""No line of a sheet is thinner, points."""
LEAST_TEXT = 10.9
"""No text of a sheet is smaller: 7 pt where it is fitted to Letter, points."""
LEAST_MARK = 6.0 / HALF
"""What someone ties on to or keeps away from is never smaller: 6 pt at half size, points."""

HIDDEN = (6.0, 2.5)
CENTER = (18.0, 2.5, 4.0, 2.5)
PHANTOM = (18.0, 2.5, 4.0, 2.5, 4.0, 2.5)

FINE = Pen(LEAST_WEIGHT)
"""Dimension, extension, leader and section lines."""
GHOST = Pen(THIN, dashes=PHANTOM)
"""What doesn't stand yet."""
OVERHEAD = Pen(THIN, dashes=HIDDEN)
"""What lies above or below the level that is drawn."""
MATCH = Pen(2.4, dashes=PHANTOM)
"""Where a sheet ends and its neighbour goes on."""

_ZIG = 5.0


def break_line(start: tuple[float, float], end: tuple[float, float]) -> Array:
    """Points of a long break line: straight, with a zigzag at each third; points on paper."""
    a, b = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    length = float(np.hypot(*(b - a)))
    if length < 6.0 * _ZIG:
        return np.array([a, b])
    along = (b - a) / length
    across = np.array([-along[1], along[0]])
    points = [a]
    for third in (1.0 / 3.0, 2.0 / 3.0):
        middle = a + third * (b - a)
        points += [
            middle - _ZIG * along,
            middle - 0.5 * _ZIG * along + _ZIG * across,
            middle + 0.5 * _ZIG * along - _ZIG * across,
            middle + _ZIG * along,
        ]
    return np.array([*points, b])


def draw_origin(paper: Paper, x: float, y: float, radius: float = 4.0) -> None:
    """A circle with a cross through it: where x and y are counted from."""
    paper.circle(x, y, radius, FINE)
    reach = radius * math.sqrt(2.0) + 2.0
    paper.strokes([[(x - reach, y), (x + reach, y)], [(x, y - reach), (x, y + reach)]], FINE)
