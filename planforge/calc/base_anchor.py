"""A post-installed mechanical anchor after ACI 318-19 chapter 17: steel, embedment, spacing, interaction.

SI outside. The concrete's part stands in :mod:`planforge.calc.concrete_breakout`. Clause numbers are
those of ACI 318-19. Read in published worked examples: 17.6.2, 17.7.2, 17.7.3; from memory: the factors
of 17.5.3, 17.6.1, 17.7.1, 17.8 and 17.9.

What an anchor's evaluation report alone can say has no default here: its effective depth, kc, steel and
pullout strengths, least thickness, spacing and edge, category, torque and whether it may be used again.
Chapter 17 does not cover impact loads (17.1): a fall's arrest is one, so an engineer decides whether
these static strengths may be used for it and with what factor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Values, as_array
from planforge.calc.inch_pound import INCH
from planforge.errors import CalculationError, Quantity


@dataclass(frozen=True, slots=True)
class StrengthReduction:
    """phi of each failure mode, ACI 318-19 17.5.3 (from memory)."""

    steel_tension: float
    steel_shear: float
    tension_breakout: float  # also pullout
    shear_breakout: float
    pryout: float


_TENSION_BREAKOUT = {1: (0.65, 0.75), 2: (0.55, 0.65), 3: (0.45, 0.55)}
"""phi of breakout and pullout by anchor category: without, with supplementary reinforcement. Table 17.5.3."""


def strength_reduction(*, ductile: bool, category: int, supplementary: bool = False) -> StrengthReduction:
    """phi for a post-installed anchor, ACI 318-19 Tables 17.5.3(a) to (c) (from memory).

    Args:
        ductile: whether the report calls the steel element ductile.
        category: 1, 2 or 3 of ACI 355.2, from the report.
        supplementary: whether supplementary reinforcement ties the breakout body; a thin slab has none.
    """
    if category not in _TENSION_BREAKOUT:
        raise CalculationError(f"base anchor: category {category} is not one of ACI 355.2's 1, 2 and 3.")
    return StrengthReduction(
        steel_tension=0.75 if ductile else 0.65,
        steel_shear=0.65 if ductile else 0.60,
        tension_breakout=_TENSION_BREAKOUT[category][supplementary],
        shear_breakout=0.75 if supplementary else 0.70,
        pryout=0.70,
    )


def embedment(anchor_length: Values, base_thickness: Values, projection: Values) -> Array:
    """What of the anchor is in the concrete, m: its length less the base plate and what stands above it.

    ``projection`` is washer, nut and thread above the plate. The plate eats embedment; a shim or grout
    counts as plate.
    """
    return as_array(anchor_length) - as_array(base_thickness) - as_array(projection)


def effective_depth(embedded: Values, nominal_less_effective: Values) -> Array:
    """hef, m: embedment less the length from the point of load transfer to the anchor's end.

    ``nominal_less_effective`` (m, 0 or more) is the report's nominal less its effective embedment.

    Raises:
        CalculationError: nothing is left.
    """
    hef = as_array(embedded) - as_array(nominal_less_effective)
    if not (np.all(hef > 0.0) and np.all(as_array(nominal_less_effective) >= 0.0)):
        raise CalculationError(
            "base anchor: effective depth is {depth}; none is left in the slab.",
            depth=Quantity(float(np.min(hef)), "m"),
        )
    return hef


def cover_below(slab_thickness: Values, hole_depth: Values) -> Array:
    """Concrete left below the hole, m; negative where the hole goes through the slab."""
    return as_array(slab_thickness) - as_array(hole_depth)


def least_spacing(diameter: Values) -> Array:
    """6 da between anchors, m, where the report gives none (17.9.2, post-installed)."""
    return 6.0 * as_array(diameter)


EDGE_DIAMETERS = {"undercut": 6.0, "torque-controlled": 8.0, "displacement-controlled": 10.0}
"""Least edge distance over da by kind of anchor, where the report gives none (17.9.2)."""


def greatest_depth(slab_thickness: Values) -> Array:
    """Greatest hef of an expansion, screw or undercut anchor, m (17.9.4), where the report gives none.

    The greater of 2/3 of the thickness and the thickness less 4 in.
    """
    h = as_array(slab_thickness)
    return np.maximum(2.0 / 3.0 * h, h - 4.0 * INCH)


def pairs_spacing(anchors: Array) -> Array:
    """Least distance, m, (...), between any two of the anchors (..., n, 2)."""
    apart = np.linalg.norm(anchors[..., :, None, :] - anchors[..., None, :, :], axis=-1)
    return np.asarray(np.min(apart + np.where(np.eye(anchors.shape[-2]) > 0.0, np.inf, 0.0), axis=(-2, -1)))


def interaction(tension_ratio: Values, shear_ratio: Values) -> Array:
    """Tension and shear together as one number that must not exceed 1 (17.8).

    With n = Nua/(phi Nn) and v = Vua/(phi Vn), each the greatest of its modes: where v <= 0.2 the tension
    counts alone, where n <= 0.2 the shear, else (n + v)/1.2; never below n nor v.
    """
    n, v = as_array(tension_ratio), as_array(shear_ratio)
    both = (n > 0.2) & (v > 0.2)
    return np.maximum(np.maximum(n, v), np.where(both, (n + v) / 1.2, 0.0))
