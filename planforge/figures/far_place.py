"""A place beyond the frame of a plan view: how far it is from the building, and which way."""

from __future__ import annotations

import math

import numpy as np
import shapely

from planforge.calc.arrays import Array
from planforge.units import Display

ARROWS = "→↗↑↖←↙↓↘"
"""Arrows by eighths of a turn, from right to left over the top."""


def way_from_building(footprint: Array, at: tuple[float, float]) -> tuple[float, float]:
    """Return how far ``at`` lies from the footprint (n, 2), m, and the way there, radians from right to up.

    The way leads from the nearest point of the building, which a reader sees, to the place.
    """
    shortest = shapely.shortest_line(shapely.polygons(footprint), shapely.points(at))
    across, up = np.diff(shapely.get_coordinates(shortest), axis=0)[0]
    return float(math.hypot(across, up)), math.atan2(up, across)


def arrow(angle: float) -> str:
    """The arrow nearest to an angle, radians from right to up."""
    return ARROWS[round(angle / (math.pi / 4)) % 8]


def far_text(display: Display, far: float) -> str:
    """The distance of a place from the building, feet and whole inches (or metres)."""
    return display.length(far, denominator=1)
