"""A line at rest with a given length of rope: its tension and sag when a head moves or the wind blows.

SI. The rope's unstretched length stays; what changes is the distance between the ends, or what the rope
weighs. Span and movement horizontal in m, movement positive inwards (more sag); tensions in N; sag in m at
mid-span below the chord. Ends stay where they are put. Source: the elastic catenary.
"""

from __future__ import annotations

import numpy as np

from planforge.calc.arrays import Array, Values, as_array
from planforge.calc.cable import (
    Rope,
    catenary,
    catenary_sag,
    catenary_unstretched_length,
    tension_from_sag,
)
from planforge.calc.roots import monotone_root
from planforge.memo import remembered


@remembered()
def rest_tension(span: Values, rise: Values, unstretched: Values, rope: Rope) -> Array:
    """Horizontal tension H, N, at which ``unstretched`` m of rope hang between the ends. Broadcasts.

    Raises:
        CalculationError: no tension that fits within the solver's bounds.
    """
    w, L = as_array(rope.weight), as_array(span)
    chord = np.hypot(L, as_array(rise))
    length, EA = as_array(unstretched), as_array(rope.axial_stiffness)
    # a taut rope as a bar, a slack one as a parabola: their sum starts above neither by far
    taut = EA * np.maximum(chord / length - 1.0, 0.0)
    slack = w * L * np.sqrt(L / (24.0 * np.maximum(length - chord, 1e-6 * L)))
    start = np.maximum(taut, 0.0) + np.minimum(slack, w * L * 200.0)

    def misfit(H: Array) -> tuple[Array, Array]:
        value = catenary(L, rise, H, rope).unstretched_length - length
        return value, -((w * L) ** 2 * L / (12.0 * H**3) + L / EA)

    return monotone_root(
        misfit,
        start,
        name="horizontal tension of a line at rest",
        unit="N",
        residual_scale=length,
        step_scale=start,
        lower=0.0,
    )


@remembered()
def sag_after_movement(span: Values, rise: Values, sag: Values, rope: Rope, movement: Values) -> Array:
    """Sag (m) of a line set to ``sag`` once its ends stand ``movement`` m nearer (negative: farther)."""
    length = length_at_sag(span, rise, sag, rope)
    moved = as_array(span) - as_array(movement)
    return catenary_sag(moved, rise, rest_tension(moved, rise, length, rope), rope)


@remembered()
def room_to_move(span: Values, rise: Values, sag: Values, limit: Values, rope: Rope) -> Array:
    """How far the ends may come nearer (m) before a line set to ``sag`` has the sag ``limit``.

    Negative for a limit below the sag: how far apart. It is the difference of the rope's lengths at both
    sags on the span as it is, over the cosine of the chord's slope; the span's own change is of the order of
    the movement over the span, left out.
    """
    excess = length_at_sag(span, rise, limit, rope) - length_at_sag(span, rise, sag, rope)
    return excess * np.hypot(as_array(span), as_array(rise)) / as_array(span)


def length_at_sag(span: Values, rise: Values, sag: Values, rope: Rope) -> Array:
    """Unstretched length (m) of a rope that hangs with this sag (m). Broadcasts."""
    return catenary_unstretched_length(span, rise, tension_from_sag(span, rise, sag, rope), rope)
