"""Free fall from geometry. Lengths in m; heights up positive.

Source: OSHA Technical Manual, Section V chapter 4: free fall = lanyard length less the
anchorage's height above the D-ring. 29 CFR 1926.500(b): free fall excludes lifeline
elongation and deceleration distance.
"""

from __future__ import annotations

import numpy as np

from planforge.calc.arrays import Array, Values, as_array


def lanyard_free_fall(length: Values, anchorage_above_dring: Values) -> Array:
    """Lanyard length less the anchorage's height above the D-ring, never below 0. Broadcasts.

    An anchorage below the D-ring has a negative height and adds to the fall.
    """
    return np.maximum(as_array(length) - as_array(anchorage_above_dring), 0.0)


def retracting_free_fall(lock_off: Values, anchorage_above_dring: Values) -> Array:
    """Lock-off distance plus the D-ring's height above the anchorage, if any. Broadcasts.

    While the D-ring falls to the anchorage's level the line goes slack and is drawn in; it can lock
    only when it is drawn out again, below the anchorage. A device that draws in too slowly falls
    farther: its maker's word decides (common practice, no source).
    """
    below = np.maximum(-as_array(anchorage_above_dring), 0.0)
    return as_array(lock_off) + below


def anchorage_height(datum: Values, sag: Values) -> Array:
    """Height of a line's point: the chord's height at that place less the sag there. Broadcasts."""
    return as_array(datum) - as_array(sag)


def greatest(free_falls: Array) -> tuple[float, int]:
    """The greatest free fall over a reach (m), and the index of the place it comes at."""
    flat = np.ravel(free_falls)
    index = int(np.argmax(flat))
    return float(flat[index]), index
