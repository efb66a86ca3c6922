"""A horizontal lifeline as specified, as installed, and at another temperature.

Signs. x to the right from the left end as installed, z up; ``rise`` = right end's height
over the left's; sag and drop down positive, sag vertically below the chord (the straight
line between the two attachments) at the same x; end movements inward positive.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Bools, Values, as_array
from planforge.calc.cable import Rope, catenary, run_and_rise, tension_from_sag
from planforge.calc.roots import monotone_root
from planforge.errors import CalculationError, Quantity
from planforge.memo import remembered


@dataclass(frozen=True, slots=True)
class Line:
    """A lifeline as specified. Each field a number or an array that broadcasts with the rest."""

    span: Values  # m, horizontal distance of the ends as installed
    rise: Values  # m, right end above left end
    installed_sag: Values  # m at mid-span, unloaded, > 0
    rope: Rope
    end_stiffness_left: Values = np.inf  # N/m horizontally at the attachment; np.inf = rigid
    end_stiffness_right: Values = np.inf  # N/m
    absorber_force: Values = np.inf  # N, the line absorber's deployment force; np.inf = none fitted
    absorber_stroke: Values = 0.0  # m
    absorber_on_right: bool | Bools = False  # which end the line absorber sits at

    def __post_init__(self) -> None:
        """Refuse values for which the model has no meaning."""
        positive = {
            "span": (self.span, "m"),
            "installed sag": (self.installed_sag, "m"),
            "rope weight": (self.rope.weight, "N/m"),
            "axial stiffness E A": (self.rope.axial_stiffness, "N"),
            "left end stiffness": (self.end_stiffness_left, "N/m"),
            "right end stiffness": (self.end_stiffness_right, "N/m"),
            "line absorber force": (self.absorber_force, "N"),
        }
        for name, (value, unit) in positive.items():
            if not (as_array(value) > 0.0).all():
                least = Quantity(float(np.min(value)), unit)
                raise CalculationError(f"lifeline: {name} is {{least}}; it must be above 0.", least=least)
        if not (as_array(self.absorber_stroke) >= 0.0).all():
            raise CalculationError("lifeline: the line absorber's stroke must be 0 or more.")


@dataclass(frozen=True, slots=True)
class InstalledLine:
    """A line at rest under its own weight, its unstretched length taken from the installed state."""

    line: Line
    reference_tension: Values  # N, horizontal, at installation: the load then in the end springs
    unstretched_length: Values  # m at the present temperature; may be less than the span
    horizontal_tension: Values  # N, at rest at the present temperature
    left_vertical: Values  # N, vertical component of the tension at the left end, up positive

    @property
    def shape(self) -> tuple[int, ...]:
        """The batch's shape."""
        line = self.line
        values = (line.span, line.rise, line.rope.weight, line.rope.axial_stiffness)
        ends = (line.end_stiffness_left, line.end_stiffness_right)
        absorber = (line.absorber_force, line.absorber_stroke, line.absorber_on_right)
        state = (self.reference_tension, self.unstretched_length, self.horizontal_tension)
        return np.broadcast_shapes(*(np.shape(v) for v in (*values, *ends, *absorber, *state)))

    @property
    def end_compliance(self) -> Array:
        """Horizontal give of both ends together, m/N."""
        return 1.0 / as_array(self.line.end_stiffness_left) + 1.0 / as_array(self.line.end_stiffness_right)


@remembered()
def install(line: Line) -> InstalledLine:
    """Tension and unstretched length of the line from its installed sag. Broadcasts.

    Both ends stand where they stand with the installed tension in them, so the
    unstretched length may well be less than the span.
    """
    H = tension_from_sag(line.span, line.rise, line.installed_sag, line.rope)
    hanging = catenary(line.span, line.rise, H, line.rope)
    return InstalledLine(line, H, hanging.unstretched_length, H, hanging.left_vertical)


@remembered()
def at_temperature(installed: InstalledLine, change: Values) -> InstalledLine:
    """The same line warmer by ``change`` (K): L0 (1 + alpha dT). Colder is negative. Broadcasts.

    The ends follow their springs to the new tension.
    """
    line = installed.line
    factor = 1.0 + as_array(line.rope.thermal_expansion) * as_array(change)
    length, start, _ = np.broadcast_arrays(
        as_array(installed.unstretched_length) * factor,
        as_array(installed.horizontal_tension),
        np.empty(installed.shape),
    )
    stretched_per_newton = as_array(line.span) / as_array(line.rope.axial_stiffness)
    compliance, reference = installed.end_compliance, as_array(installed.reference_tension)

    def misfit(H: Array) -> tuple[Array, Array]:
        span = line.span - compliance * (H - reference)
        value = catenary(span, line.rise, H, line.rope).unstretched_length - length
        sag_part = (as_array(line.rope.weight) * span) ** 2 * span / (12.0 * H**3)
        return value, -(sag_part + stretched_per_newton + compliance)

    H = monotone_root(
        misfit,
        start,
        name="horizontal tension after a change of temperature",
        unit="N",
        residual_scale=length,
        step_scale=start,
        lower=0.0,
    )
    span = line.span - compliance * (H - reference)
    left = catenary(span, line.rise, H, line.rope).left_vertical
    return InstalledLine(line, reference, length, H, left)


def rest_place(installed: InstalledLine, positions: Values) -> tuple[Array, Array]:
    """Where the rope at rest passes given places. Broadcasts against the batch with one more axis.

    Args:
        installed: the line; its fields have the batch's shape or broadcast to it.
        positions: m from the left end as installed, strictly between the ends, last axis = places.

    Returns:
        Unstretched length from the left end to each place (m), and its drop below the left end (m).

    Raises:
        CalculationError: a place that is not on the line.
    """
    line = installed.line
    x = as_array(positions)
    if not np.all((x > 0.0) & (x < as_array(line.span)[..., None])):
        raise CalculationError("lifeline: every place must lie strictly between the two ends of its line.")
    H, V = as_array(installed.horizontal_tension)[..., None], as_array(installed.left_vertical)[..., None]
    w = as_array(line.rope.weight)[..., None]
    flexibility = 1.0 / as_array(line.rope.axial_stiffness)[..., None]
    grown = as_array(installed.horizontal_tension) - as_array(installed.reference_tension)
    # Places are marked on the installed span; at another temperature the ends stand elsewhere.
    deflected = 1.0 - grown * installed.end_compliance / as_array(line.span)
    target = x * deflected[..., None]
    start = x / as_array(line.span)[..., None] * as_array(installed.unstretched_length)[..., None]
    target, start, V = np.broadcast_arrays(target, start, V)

    def misfit(s: Array) -> tuple[Array, Array]:
        reached, _ = run_and_rise(V, H, s, w, flexibility)
        return reached - target, H * flexibility + H / np.hypot(H, V + w * s)

    s = monotone_root(
        misfit, start, name="place on the rope", unit="m", residual_scale=target, step_scale=target
    )
    _, rise = run_and_rise(V, H, s, w, flexibility)
    return s, -rise


@remembered()
def rest_sag(installed: InstalledLine, positions: Values) -> Array:
    """Sag (m) of the unloaded line below the chord at ``positions`` (m, last axis). Broadcasts."""
    _, drop = rest_place(installed, positions)
    line = installed.line
    return drop + as_array(line.rise)[..., None] * as_array(positions) / as_array(line.span)[..., None]


def mid_sag(installed: InstalledLine) -> Array:
    """Sag (m) of the unloaded line at mid-span. Broadcasts."""
    half = 0.5 * np.broadcast_to(as_array(installed.line.span), installed.shape)
    return rest_sag(installed, half[..., None])[..., 0]
