"""Drawing scales: the usual architectural steps, the largest that fits, and from metres to paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from planforge.calc.arrays import Array
from planforge.errors import RefusedError
from planforge.figures.paper import PER_INCH, Paper
from planforge.units import FOOT, INCH

if TYPE_CHECKING:
    from matplotlib.figure import Figure

POINTS_PER_METRE = PER_INCH / INCH
"""Of paper."""


@dataclass(frozen=True, slots=True)
class Scale:
    """A drawing scale: paper length over true length, and how it is written."""

    ratio: float
    text: str

    @property
    def points(self) -> float:
        """Points of paper for one metre."""
        return self.ratio * POINTS_PER_METRE


@dataclass(frozen=True, slots=True)
class Drawn:
    """A drawing with the scale it is drawn to and the ids of the things marked on it."""

    paper: Paper
    scale: str
    marks: frozenset[str] = frozenset()

    @property
    def figure(self) -> Figure:
        """The drawing as a matplotlib figure."""
        return self.paper.figure()


_US = (
    ("1/2", 0.5), ("3/8", 0.375), ("1/4", 0.25), ("3/16", 0.1875),
    ("1/8", 0.125), ("3/32", 0.09375), ("1/16", 0.0625), ("1/32", 0.03125),
)  # fmt: skip
_US_SITE = (40, 50, 60, 100, 200, 500, 1000)
_METRIC = (20, 25, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 1000, 2000, 5000)


def scales(system: Literal["us", "metric"]) -> tuple[Scale, ...]:
    """All scales, the largest drawing first."""
    if system == "metric":
        return tuple(Scale(1.0 / n, f"1:{n}") for n in _METRIC)
    small = tuple(Scale(INCH / (n * FOOT), f'1" = {n}\'-0"') for n in _US_SITE)
    return tuple(Scale(value / 12.0, f'{text}" = 1\'-0"') for text, value in _US) + small


def largest_scale(
    width: float, height: float, room: tuple[float, float], system: Literal["us", "metric"]
) -> Scale:
    """The largest scale at which ``width`` x ``height`` metres fit ``room`` points.

    Raises:
        RefusedError: even the smallest scale is too large.
    """
    for scale in scales(system):
        if width * scale.points <= room[0] + 1e-6 and height * scale.points <= room[1] + 1e-6:
            return scale
    raise RefusedError(f"drawing: {width:.0f} m x {height:.0f} m fit no drawing scale on this sheet.")


@dataclass(frozen=True, slots=True)
class View:
    """From metres to points: ``at`` (m) stands at ``on`` (points)."""

    scale: Scale
    at: tuple[float, float]
    on: tuple[float, float]

    def __call__(self, points: object) -> Array:
        """Points on paper for places in metres, shape (..., 2)."""
        return np.asarray((np.asarray(points, dtype=float) - self.at) * self.scale.points + self.on)

    def back(self, points: object) -> Array:
        """Places in metres for points on paper, shape (..., 2)."""
        return np.asarray((np.asarray(points, dtype=float) - self.on) / self.scale.points + self.at)

    def one(self, point: tuple[float, float]) -> tuple[float, float]:
        """One place on paper."""
        (x, y), points = point, self.scale.points
        return (float(x) - self.at[0]) * points + self.on[0], (float(y) - self.at[1]) * points + self.on[1]
