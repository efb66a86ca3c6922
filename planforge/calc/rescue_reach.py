"""How high a means of rescue takes a hanging worker's D-ring.

Lengths in m. Heights count from what the means stands on, up positive. Values may be arrays.
"""

from __future__ import annotations

import numpy as np

from planforge.calc.arrays import Array, Values, as_array
from planforge.errors import CalculationError

FOOT_RATIO = 0.25
"""Distance of a ladder's foot from its top support over its working length: 29 CFR 1926.1053(b)(5)(i)."""


def ladder_foot(working_length: Values) -> Array:
    """How far out a ladder's foot stands from its top support, m (29 CFR 1926.1053(b)(5)(i))."""
    return FOOT_RATIO * as_array(working_length)


def ladder_reach(working_length: Values, stands_below_top: Values, hands: Values) -> Array:
    """Height of a D-ring that someone on a ladder set at four to one can take, m.

    ``working_length`` runs along the ladder from its feet to the top support, ``stands_below_top`` from
    there down to the highest rung to stand on, ``hands`` is the height of the hands over that rung.
    The ladder's foot stands a quarter of the working length out, so a length along it rises by
    sqrt(1 - 1/16) of itself. Raises :class:`CalculationError` where the rung lies below the ladder's feet.
    """
    along = as_array(working_length) - as_array(stands_below_top)
    if np.any(along < 0.0):
        raise CalculationError("the highest rung to stand on lies below the ladder's feet")
    return np.asarray(along * np.sqrt(1.0 - FOOT_RATIO**2) + as_array(hands))


def rope_needed(height: Values, parts: Values) -> Array:
    """Rope that lowers a load by ``height`` from its anchorage through ``parts`` parts of rope, m.

    Every part that carries the load grows by the height: parts times height, as in any block and tackle.
    """
    return as_array(height) * as_array(parts)
