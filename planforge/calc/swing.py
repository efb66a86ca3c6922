"""Swing fall: the pendulum of a worker off to one side of the anchorage. Lengths in m, down positive.

At the lowest point of the swing the worker hangs ``radius`` below the anchorage, although the
D-ring began only ``below`` under its level. Source: geometry of the pendulum.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Values, as_array
from planforge.calc.constants import G


@dataclass(frozen=True, slots=True)
class Swing:
    """One pendulum. All fields broadcast."""

    radius: Array  # m, anchorage to D-ring with the connector taut
    drop: Array  # m, how far the D-ring comes down from where it hangs taut to straight below
    speed: Array  # m/s at the lowest point, no losses
    angle: Array  # rad from the vertical at the start


def swing(lateral: Values, below: Values) -> Swing:
    """Pendulum from ``lateral`` m off to one side and ``below`` m under the anchorage. Broadcasts.

    drop = R - a with R = sqrt(lateral² + a²); speed = sqrt(2 g drop). A D-ring above the anchorage
    has ``below`` negative and swings through more than a right angle.
    """
    side, a = np.broadcast_arrays(as_array(lateral), as_array(below))
    radius = np.hypot(side, a)
    drop = radius - a
    return Swing(radius, drop, np.sqrt(2.0 * G * drop), np.arctan2(np.abs(side), a))


def lateral_reach(permitted_drop: Values, below: Values) -> Array:
    """How far to one side (m) one may work for a permitted swing drop (m). Broadcasts.

    From R - a = d: lateral = sqrt(d² + 2 a d), where the anchorage is ``below`` = a above the D-ring;
    0 where even the place straight below has a greater drop (a D-ring above the anchorage).
    """
    d, a = as_array(permitted_drop), as_array(below)
    return np.sqrt(np.maximum(d * d + 2.0 * a * d, 0.0))


def sideways_pull(mass: Values, angle: Values) -> Array:
    """Greatest horizontal pull, N, of a pendulum let go at ``angle`` from the vertical. Broadcasts.

    Without losses its connector's tension at theta is m g (3 cos theta - 2 cos angle); the horizontal
    part, times sin theta, is greatest where 6 c^2 - 2 c cos(angle) - 3 = 0 with c = cos theta, or at
    ``angle`` itself. Source: energy of the pendulum.

    Args:
        mass: kg.
        angle: rad, from 0 to pi/2.
    """
    c0 = np.cos(as_array(angle))
    c = np.maximum((c0 + np.sqrt(c0**2 + 18.0)) / 6.0, c0)
    return as_array(mass) * G * (3.0 * c - 2.0 * c0) * np.sqrt(1.0 - c**2)
