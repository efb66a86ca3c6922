"""Clearance: terms stacked down from the D-ring's starting height, and one answer from every datum.

Terms of the OSHA Technical Manual, Section V chapter 4: free fall, deceleration distance, D-ring
shift, back D-ring height, margin. On a horizontal lifeline the line's drop is a term of its own,
since 29 CFR 1926.500(b) leaves lifeline elongation out of deceleration distance; a swing's drop too.

All terms in m, positive, stacking down. Elevations in m, up positive, from any one datum.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Values, as_array


@dataclass(frozen=True, slots=True)
class ClearanceTerms:
    """The terms in the order in which they stack down from the D-ring; each broadcasts."""

    free_fall: Values
    line_drop: Values  # of the lifeline's gripped point during arrest, end movement and absorber included
    deceleration: Values  # stroke of the personal absorber or retracting device
    dring_shift: Values  # slide of the D-ring and stretch of the harness
    dring_height: Values  # D-ring above the soles: what of the worker hangs below it
    swing_drop: Values
    margin: Values

    @property
    def ordered(self) -> tuple[tuple[str, Values], ...]:
        """(name, value in m) from the top of the stack to its foot."""
        return (
            ("free_fall", self.free_fall),
            ("line_drop", self.line_drop),
            ("deceleration", self.deceleration),
            ("dring_shift", self.dring_shift),
            ("dring_height", self.dring_height),
            ("swing_drop", self.swing_drop),
            ("margin", self.margin),
        )

    @property
    def total(self) -> Array:
        """Sum of all terms, m."""
        return np.asarray(sum(as_array(value) for _, value in self.ordered))

    @property
    def required_below_dring(self) -> Array:
        """Needed from the D-ring's starting height down to the lower level, m."""
        return self.total

    def required_below_surface(self, dring_above_surface: Values) -> Array:
        """Needed from the surface stood on down to the lower level, m."""
        return self.total - as_array(dring_above_surface)

    def required_below_anchorage(self, anchorage_above_dring: Values) -> Array:
        """Needed from the anchorage's resting height down to the lower level, m.

        ``anchorage_above_dring`` is negative where the anchorage stands lower than the D-ring.
        """
        return self.total + as_array(anchorage_above_dring)


@dataclass(frozen=True, slots=True)
class Elevations:
    """Heights over one datum, m up positive; each broadcasts."""

    dring: Values  # before the fall
    surface: Values  # stood on
    anchorage: Values  # the line's gripped point or the anchor, at rest
    lower_level: Values  # the nearest thing that would be struck


@dataclass(frozen=True, slots=True)
class Clearance:
    """Required and available from each datum, and what is left; m."""

    required_below_dring: Array
    available_below_dring: Array
    required_below_surface: Array
    available_below_surface: Array
    required_below_anchorage: Array
    available_below_anchorage: Array

    @property
    def left_over(self) -> Array:
        """Available less required below the D-ring, m; negative = short. Required has the margin in it."""
        return self.available_below_dring - self.required_below_dring

    @property
    def left_over_by_surface(self) -> Array:
        """The same reckoned from the surface."""
        return self.available_below_surface - self.required_below_surface

    @property
    def left_over_by_anchorage(self) -> Array:
        """The same reckoned from the anchorage."""
        return self.available_below_anchorage - self.required_below_anchorage


def reckon(terms: ClearanceTerms, at: Elevations) -> Clearance:
    """Clearance from all three datums, each from its own elevations. Broadcasts."""
    dring, surface = as_array(at.dring), as_array(at.surface)
    anchorage, lower = as_array(at.anchorage), as_array(at.lower_level)
    return Clearance(
        required_below_dring=terms.required_below_dring,
        available_below_dring=dring - lower,
        required_below_surface=terms.required_below_surface(dring - surface),
        available_below_surface=surface - lower,
        required_below_anchorage=terms.required_below_anchorage(anchorage - dring),
        available_below_anchorage=anchorage - lower,
    )
