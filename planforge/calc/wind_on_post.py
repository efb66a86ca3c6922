"""Wind on a bare round post out of use, after ASCE/SEI 7-16 chapters 26 and 29.

SI. Wind speed in m/s as the standard's basic wind speed: a 3-second gust at 10 m in open country; a
forecast's or an anemometer's mean wind is lower than its gusts. Equations in the standard's own metric form.
Kz at the least height and the form of 26.10-1 and 29.4-1 were checked against published worked figures
(tests/validation); the force coefficients of Figure 29.4-1 and the constants of Table 26.11-1 are from
memory. Lines, guys, signs and fittings catch wind of their own, which is not in here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Values, as_array
from planforge.errors import CalculationError

GUST_FACTOR = 0.85
"""G of a rigid structure, ASCE 7-16 26.11.1. A slender post may be flexible (under 1 Hz): then by 26.11.5."""

DIRECTIONALITY = 1.0
"""Kd of a round structure, ASCE 7-16 Table 26.6-1 as used in a published worked example; 7-10 had 0.95."""

CAREFUL_FORCE_COEFFICIENT = 1.2
"""Cf of a round member at low Reynolds number; every value of Figure 29.4-1 is at most this."""


@dataclass(frozen=True, slots=True)
class Exposure:
    """Terrain, ASCE 7-16 Table 26.11-1."""

    alpha: float
    gradient_height: float  # m


EXPOSURES = {"B": Exposure(7.0, 365.76), "C": Exposure(9.5, 274.32), "D": Exposure(11.5, 213.36)}
"""By exposure category; 1,200, 900 and 700 ft. ASCE 7-22 has other constants."""


def exposure_coefficient(height: Values, exposure: Exposure) -> Array:
    """Kz = 2.01 (z/zg)^(2/alpha), with z not below 4.57 m (15 ft) (Table 26.10-1)."""
    z = np.maximum(as_array(height), 4.572)
    return 2.01 * (z / exposure.gradient_height) ** (2.0 / exposure.alpha)


def velocity_pressure(
    speed: Values, Kz: Values, *, Kzt: Values = 1.0, Kd: Values = DIRECTIONALITY, Ke: Values = 1.0
) -> Array:
    """qz = 0.613 Kz Kzt Kd Ke V^2, N/m2, V in m/s (26.10-1.SI); Ke = 1 is the careful value."""
    factors = as_array(Kz) * as_array(Kzt) * as_array(Kd) * as_array(Ke)
    return 0.613 * factors * as_array(speed) ** 2


_SLENDERNESS = np.array([1.0, 7.0, 25.0])  # h/D
_COEFFICIENTS = {
    "moderately smooth": np.array([0.5, 0.6, 0.7]),
    "rough": np.array([0.7, 0.8, 0.9]),
    "very rough": np.array([0.8, 1.0, 1.2]),
}
_SLOW = np.array([0.7, 0.8, 1.2])  # all surfaces, D sqrt(qz) <= 5.3 in m and N/m2


def force_coefficient(
    height: Values, diameter: Values, pressure: Values, surface: str = "very rough"
) -> Array:
    """Cf of a round post by h/D, D sqrt(qz) and surface (Figure 29.4-1); linear between h/D of 1, 7, 25.

    Args:
        height: m, of the post.
        diameter: m.
        pressure: N/m2, qz.
        surface: 'moderately smooth' (bare steel), 'rough' (D'/D = 0.02) or 'very rough' (0.08).
    """
    if surface not in _COEFFICIENTS:
        raise CalculationError(f"wind: surface {surface!r} is not one of {', '.join(_COEFFICIENTS)}.")
    D = as_array(diameter)
    ratio = as_array(height) / D
    fast = np.interp(ratio, _SLENDERNESS, _COEFFICIENTS[surface])
    slow = np.interp(ratio, _SLENDERNESS, _SLOW)
    return np.asarray(np.where(D * np.sqrt(as_array(pressure)) > 5.3, fast, slow))


def force_per_length(pressure: Values, diameter: Values, Cf: Values, G: Values = GUST_FACTOR) -> Array:
    """F per metre of post, N/m: qz G Cf D (29.4-1)."""
    return as_array(pressure) * as_array(G) * as_array(Cf) * as_array(diameter)


def distributed_force(per_length: Values, azimuth: Values) -> Array:
    """Wind (..., 3), N/m, that blows to ``azimuth`` (rad), for a guyed post's distributed load."""
    w, a = np.broadcast_arrays(as_array(per_length), as_array(azimuth))
    return np.stack([w * np.cos(a), w * np.sin(a), np.zeros_like(w)], axis=-1)


def unguyed_base_moment(per_length: Values, height: Values) -> Array:
    """M = w h^2 / 2, N m, of a post on its base alone, the pressure at the head taken over its height."""
    return 0.5 * as_array(per_length) * as_array(height) ** 2


def speed_at_capacity(capacity: Values, height: Values, diameter: Values, Cf: Values, pressure_at_1: Values,
                      G: Values = GUST_FACTOR) -> Array:  # fmt: skip
    """Wind speed, m/s, at which an unguyed post reaches the base moment ``capacity`` (N m).

    V = sqrt(2 M / (q1 G Cf D h^2)), q1 the velocity pressure at 1 m/s. With
    :data:`CAREFUL_FORCE_COEFFICIENT` the speed is a lower bound whatever the flow.
    """
    at_1 = unguyed_base_moment(force_per_length(pressure_at_1, diameter, Cf, G), height)
    return np.sqrt(as_array(capacity) / at_1)
