"""Section properties of a round tube, from its outer diameter and its wall.

SI: m, m2, m3, m4. The wall is the design wall: for electric-resistance-welded HSS of ASTM A500
AISC 360-16 section B4.2 takes 0.93 of the nominal wall (from memory); a pipe's wall is reduced alike
in the AISC Manual's tables. Source of the properties: solid geometry.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Values, as_array
from planforge.errors import CalculationError, Quantity

A500_DESIGN_WALL = 0.93
"""Design wall over nominal wall of ERW HSS, AISC 360-16 B4.2 (from memory). For other tubes: as stated."""


@dataclass(frozen=True, slots=True)
class Tube:
    """A round tube; each field a number or an array that broadcasts with the other."""

    outer_diameter: Values  # m
    wall: Values  # m, design wall, above 0 and at most half the diameter (then a solid bar)

    def __post_init__(self) -> None:
        """Refuse a wall that no tube can have."""
        D, t = as_array(self.outer_diameter), as_array(self.wall)
        if not np.all((t > 0.0) & (2.0 * t <= D)):
            raise CalculationError(
                "tube: outer diameter {outer} with wall {wall}; "
                "the wall must be above 0 and at most half the diameter.",
                outer=Quantity(float(np.min(D)), "m"),
                wall=Quantity(float(np.min(t)), "m"),
            )

    @property
    def inner_diameter(self) -> Array:
        """D - 2 t, m."""
        return as_array(self.outer_diameter) - 2.0 * as_array(self.wall)


def area(tube: Tube) -> Array:
    """A = pi (D^2 - d^2) / 4, m2."""
    return 0.25 * np.pi * (as_array(tube.outer_diameter) ** 2 - tube.inner_diameter**2)


def second_moment(tube: Tube) -> Array:
    """I = pi (D^4 - d^4) / 64 about any diameter, m4."""
    return np.pi / 64.0 * (as_array(tube.outer_diameter) ** 4 - tube.inner_diameter**4)


def elastic_modulus(tube: Tube) -> Array:
    """S = 2 I / D, the elastic section modulus, m3."""
    return 2.0 * second_moment(tube) / as_array(tube.outer_diameter)


def plastic_modulus(tube: Tube) -> Array:
    """Z = (D^3 - d^3) / 6, the plastic section modulus, m3."""
    return (as_array(tube.outer_diameter) ** 3 - tube.inner_diameter**3) / 6.0


def radius_of_gyration(tube: Tube) -> Array:
    """r = sqrt(I / A), m."""
    return np.sqrt(second_moment(tube) / area(tube))


def wall_slenderness(tube: Tube) -> Array:
    """D / t, the slenderness that AISC 360 Table B4.1 limits for a round section."""
    return as_array(tube.outer_diameter) / as_array(tube.wall)
