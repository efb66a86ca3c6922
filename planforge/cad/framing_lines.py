"""Trusses or joists drawn as parallel lines: the way they run, their spacing, the first one, their area.

Points in m on the plan; the direction in radians counter-clockwise from the plan's x, from 0 to less than pi.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planforge.cad.chains import Chain
from planforge.calc.arrays import Array
from planforge.units import INCH

OFF = INCH / 8.0
"""How far a line may lie from its place in the row (m): common practice, no source."""


@dataclass(frozen=True)
class Row:
    """A row of parallel lines at one spacing."""

    direction: float
    spacing: float
    first: Array  # (2,): the middle of the first line
    area: Array  # (4, 2): from the first to the last, half the thickness beyond them
    count: int
    worst: float  # how far the worst of them lies from its place, m


@dataclass(frozen=True)
class Irregular:
    """Why lines make no row, and the handle to look at."""

    handle: str
    found: str
    off: float


def row_of(lines: Sequence[Chain], thickness: float) -> Row | Irregular:
    """Derive the row from two lines or more."""
    for line in lines:
        if len(line.points) != 2 or line.closed:
            return Irregular(line.handle, "something that is no single straight line", 0.0)
    if len(lines) < 2:
        return Irregular(lines[0].handle, "one line, from which no spacing follows", 0.0)
    ends = np.array([line.points[:, :2] for line in lines])  # (n, 2, 2)
    runs = ends[:, 1] - ends[:, 0]
    runs *= np.where(runs @ runs[0] < 0.0, -1.0, 1.0)[:, None]
    along = runs.sum(axis=0) / np.linalg.norm(runs.sum(axis=0))
    if along[1] < -1e-12 or (abs(along[1]) <= 1e-12 and along[0] < 0.0):
        along = -along
    across = np.array([-along[1], along[0]])
    offsets = ends @ across  # (n, 2)
    skew = np.abs(offsets[:, 0] - offsets[:, 1])
    if skew.max() > OFF:
        worst = int(np.argmax(skew))
        return Irregular(lines[worst].handle, "a line out of parallel with the others", float(skew[worst]))
    order = np.argsort(offsets.mean(axis=1), kind="stable")
    places = offsets.mean(axis=1)[order]
    spacing = float((places[-1] - places[0]) / (len(places) - 1))
    off = np.abs(places - (places[0] + spacing * np.arange(len(places))))
    if off.max() > OFF:
        gaps = np.diff(places)
        usual = float(np.median(gaps))
        odd = int(np.argmax(np.abs(gaps - usual)))
        return Irregular(lines[order[odd + 1]].handle, "a line out of the row's spacing", float(gaps[odd]))
    reach = ends @ along
    low, high = float(reach.min()), float(reach.max())
    sides = float(places[0]) - 0.5 * thickness, float(places[-1]) + 0.5 * thickness
    corners = [(low, sides[0]), (high, sides[0]), (high, sides[1]), (low, sides[1])]
    area = np.array([u * along + v * across for u, v in corners])
    first = ends[order[0]].mean(axis=0)
    direction = float(np.arctan2(along[1], along[0])) % np.pi
    direction = 0.0 if np.pi - direction < 1e-9 else direction
    return Row(direction, spacing, first, area, len(lines), float(max(off.max(), 0.5 * skew.max())))
