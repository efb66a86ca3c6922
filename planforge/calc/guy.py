"""A guy: where it runs, how stiff it is, and what it asks of its anchor.

SI. Plan coordinates x, y, z up. Azimuth in radians counter-clockwise from x, from the post to the anchor.
The angle is that from the post (from the vertical), between 0 and pi/2: a steep guy has a small one.
Tension positive. The guy is straight and weightless; its sag makes it softer than EA/L at low tension.
Source: statics. A horizontal pull H on a post held by one guy in its plane gives

    T = H / sin(angle),   uplift at the anchor = compression in the post = H / tan(angle).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Values, as_array
from planforge.errors import CalculationError


@dataclass(frozen=True, slots=True)
class GuyRun:
    """Where a guy runs; all fields have the batch's shape."""

    azimuth: Array  # rad, in plan from the post to the anchor
    angle: Array  # rad from the post
    length: Array  # m


@dataclass(frozen=True, slots=True)
class AnchorForce:
    """A guy's pull on its plate anchor, split by the plate it sits on; N."""

    uplift: Array  # upward positive
    along: Array  # along the plate, towards its azimuth positive
    across: Array  # across the plate, to the left of its azimuth positive

    @property
    def shear(self) -> Array:
        """Resultant of both horizontal parts, N."""
        return np.hypot(self.along, self.across)


def guy_run(attachment: Array, anchor: Array) -> GuyRun:
    """A guy's direction and length from its attachment on the post (..., 3) to its anchor (..., 3), m.

    Raises:
        CalculationError: the anchor is not below the attachment, or straight under it.
    """
    run = as_array(anchor) - as_array(attachment)
    reach, drop = np.hypot(run[..., 0], run[..., 1]), -run[..., 2]
    if not np.all((drop > 0.0) & (reach > 0.0)):
        raise CalculationError("guy: its anchor must lie below its attachment and away from the post.")
    return GuyRun(np.arctan2(run[..., 1], run[..., 0]), np.arctan2(reach, drop), np.hypot(reach, drop))


def tension_for_pull(pull: Values, angle: Values) -> Array:
    """T = H / sin(angle), N, of one guy that alone holds the horizontal ``pull`` (N) in its plane."""
    return as_array(pull) / np.sin(_angle(angle))


def uplift_for_pull(pull: Values, angle: Values) -> Array:
    """H / tan(angle), N: what that guy lifts its anchor with, and presses its post with."""
    return as_array(pull) / np.tan(_angle(angle))


def axial_stiffness(EA: Values, length: Values) -> Array:
    """k = EA / L, N/m."""
    return as_array(EA) / as_array(length)


def joined_stiffness(EA: Array, lengths: Array) -> Array:
    """k = 1 / sum(L / EA), N/m, of a guy made of joined lengths (last axis): springs in series."""
    return np.asarray(1.0 / np.sum(as_array(lengths) / as_array(EA), axis=-1))


def stretch(tension: Values, stiffness: Values) -> Array:
    """T / k, m."""
    return as_array(tension) / as_array(stiffness)


def sag_take_up(weight: Values, length: Values, angle: Values, tension: Values) -> Array:
    """Length that a guy's own sag holds, m: what its head can move along it before the sag is pulled out.

    w^2 L^3 sin^2(angle) / (24 T^2), the parabola's excess length with the weight square to the chord. The
    solver leaves it out; it matters where it is no longer small beside the stretch T L / EA.

    Args:
        weight: N/m.
        length: m.
        angle: rad from the post.
        tension: N, above 0.
    """
    square = as_array(weight) * np.sin(_angle(angle))
    return square**2 * as_array(length) ** 3 / (24.0 * as_array(tension) ** 2)


def anchor_force(tension: Values, angle: Values, azimuth: Values, plate_azimuth: Values) -> AnchorForce:
    """The pull on a plate anchor: towards the post and up. Broadcasts.

    Args:
        tension: N.
        angle: rad from the post.
        azimuth: rad, from the post to the anchor; the anchor is pulled the other way.
        plate_azimuth: rad, direction of the wall plate.
    """
    T, a = as_array(tension), _angle(angle)
    turn = as_array(azimuth) + np.pi - as_array(plate_azimuth)
    horizontal = T * np.sin(a)
    return AnchorForce(T * np.cos(a), horizontal * np.cos(turn), horizontal * np.sin(turn))


def _angle(angle: Values) -> Array:
    a = as_array(angle)
    if not np.all((a > 0.0) & (a < 0.5 * np.pi)):
        raise CalculationError("guy: its angle from the post must lie between 0 and 90 degrees.")
    return a
