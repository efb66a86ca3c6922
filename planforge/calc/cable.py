"""A hanging rope: the elastic catenary, and the parabola as its check.

Coordinates: x to the right from the left end, z up. ``rise`` is the right end's
height over the left end's. Sag is measured vertically below the chord between the
ends, at the same x; where no place is named, at mid-span. Forces in N, lengths in m.

Source of the elastic catenary: H. M. Irvine, *Cable Structures*, MIT Press 1981,
section 1.4 (from memory; checked against SymPy and MoorPy in tests/validation).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Values, as_array
from planforge.calc.roots import monotone_root
from planforge.errors import CalculationError, Quantity


@dataclass(frozen=True, slots=True)
class Rope:
    """A rope's properties; each a number or an array that broadcasts with the rest."""

    weight: Values  # N/m of unstretched length, > 0
    axial_stiffness: Values  # N, the product E A of the rope as a whole; np.inf = inextensible
    thermal_expansion: Values = 0.0  # 1/K


@dataclass(frozen=True, slots=True)
class Catenary:
    """One unloaded rope hanging between two points."""

    horizontal_tension: Array  # N
    left_vertical: Array  # N, vertical component at the left end along increasing x, up positive
    unstretched_length: Array  # m


def run_and_rise(V: Array, H: Array, s: Array, w: Array, flexibility: Array) -> tuple[Array, Array]:
    """Horizontal and vertical distance (m) over the unstretched length ``s`` from vertical force ``V`` on.

    ``flexibility`` is 1/(EA). The textbook's differences asinh(V1/H) - asinh(V/H) and T1 - T lose
    their digits in a light taut rope; both are written here without them.
    """
    V1 = V + w * s
    T, T1 = np.hypot(H, V), np.hypot(H, V1)
    both = T + T1
    turn = s * (H * H + T * T1 - V * V1) / (both * H * H)
    x = H * s * flexibility + H / w * np.arcsinh(w * turn)
    z = s * (V + V1) * (0.5 * flexibility + 1.0 / both)
    return x, z


def catenary(span: Values, rise: Values, horizontal_tension: Values, rope: Rope) -> Catenary:
    """Elastic catenary between two points at a given horizontal tension.

    Newton's method in the two unknowns (vertical force at the left end, unstretched length),
    started at the inextensible catenary, which is closed-form.

    Raises:
        CalculationError: the ends are not met to 1e-10 of the span.
    """
    fields = (span, rise, horizontal_tension, rope.weight, rope.axial_stiffness)
    a, b, H, w, EA = np.broadcast_arrays(*map(as_array, fields))
    flexibility = 1.0 / EA
    u = w * a / (2.0 * H)
    s = np.hypot(b, 2.0 * H / w * np.sinh(u))
    V = 0.5 * w * (b / np.tanh(u) - s)
    for _ in range(30):
        V1 = V + w * s
        x, z = run_and_rise(V, H, s, w, flexibility)
        T, T1 = np.hypot(H, V), np.hypot(H, V1)
        x_s, x_V = H * flexibility + H / T1, -H * s * (V + V1) / ((T + T1) * T * T1)
        z_s = flexibility * V1 + V1 / T1
        z_V = flexibility * s + s * (H * H + T * T1 - V * V1) / ((T + T1) * T * T1)
        determinant = x_s * z_V - x_V * z_s
        miss_x, miss_z = x - a, z - b
        if np.all(np.hypot(miss_x, miss_z) <= 1e-13 * a):
            break
        s = s - (miss_x * z_V - miss_z * x_V) / determinant
        V = V - (miss_z * x_s - miss_x * z_s) / determinant
    x, z = run_and_rise(V, H, s, w, flexibility)
    miss = np.hypot(x - a, z - b) / a
    if not np.all(miss <= 1e-10):
        raise CalculationError(
            f"elastic catenary: ends missed by {np.nanmax(miss):.3g} of the span at a horizontal tension "
            "between {least} and {greatest}. Check span, weight and tension.",
            least=Quantity(float(H.min()), "N"),
            greatest=Quantity(float(H.max()), "N"),
        )
    return Catenary(H, V, s)


def catenary_unstretched_length(span: Values, rise: Values, horizontal_tension: Values, rope: Rope) -> Array:
    """Unstretched length (m) of a rope that hangs at this horizontal tension (N). Broadcasts."""
    return catenary(span, rise, horizontal_tension, rope).unstretched_length


def catenary_sag(span: Values, rise: Values, horizontal_tension: Values, rope: Rope) -> Array:
    """Sag (m) of the elastic catenary at mid-span, vertically below the chord. Broadcasts."""
    line = catenary(span, rise, horizontal_tension, rope)
    H, V = line.horizontal_tension, line.left_vertical
    a, b, w, EA = np.broadcast_arrays(*map(as_array, (span, rise, rope.weight, rope.axial_stiffness)))
    flexibility = 1.0 / EA
    half = 0.5 * a
    s = 0.5 * line.unstretched_length
    for _ in range(30):
        x, z = run_and_rise(V, H, s, w, flexibility)
        miss = x - half
        if np.all(np.abs(miss) <= 1e-13 * half):
            break
        s = s - miss / (H * flexibility + H / np.hypot(H, V + w * s))
    if not np.all(np.abs(miss) <= 1e-10 * half):
        raise CalculationError(
            f"catenary sag: mid-span missed by {np.nanmax(np.abs(miss) / half):.3g} of half the span."
        )
    return 0.5 * b - z


def tension_from_sag(span: Values, rise: Values, sag: Values, rope: Rope) -> Array:
    """Horizontal tension (N) of the elastic catenary with this mid-span sag (m). Broadcasts.

    Started at the parabola's w L²/(8 f); the sag goes very nearly as 1/H.
    """
    a, b, f, w, EA = np.broadcast_arrays(*map(as_array, (span, rise, sag, rope.weight, rope.axial_stiffness)))
    guess = parabola_tension(w, a, f) * np.hypot(a, b) / a
    rope = Rope(w, EA)

    def misfit(H: Array) -> tuple[Array, Array]:
        hangs = catenary_sag(a, b, H, rope)
        return hangs - f, -hangs / H

    return monotone_root(
        misfit,
        guess,
        name="horizontal tension from sag",
        unit="N",
        residual_scale=f,
        step_scale=guess,
        lower=0.0,
        relative_residual=1e-9,
    )


def parabola_tension(weight: Values, span: Values, sag: Values) -> Array:
    """Horizontal tension (N), H = w L²/(8 f), to first order in the sag. Broadcasts."""
    return as_array(weight) * as_array(span) ** 2 / (8.0 * as_array(sag))


def stretch(tension: Values, length: Values, axial_stiffness: Values) -> Array:
    """Elastic stretch (m), T L/(E A). Broadcasts."""
    return as_array(tension) * as_array(length) / as_array(axial_stiffness)
