"""The two bounds between which a line's behaviour lies, and how to run both in one batch.

Stiff ends and the highest deployment force give the greatest tension; soft ends and the lowest
force give the greatest drop and use the most stroke. A stroke that runs out under the low force can
still make that case the greater in tension: strength checks take the greater of both.
Source: CSA Z259.16's upper and lower values, as commonly described.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Values, stack_records
from planforge.calc.arrest import Faller
from planforge.calc.lifeline import Line
from planforge.errors import CalculationError

#: Index of each bound along the leading axis of a stack.
STRENGTH, CLEARANCE = 0, 1


@dataclass(frozen=True, slots=True)
class Spread:
    """What is known of a value only as a range; ``low`` <= ``high``."""

    low: float
    high: float

    def __post_init__(self) -> None:
        """Refuse a range that runs backwards."""
        if not self.low <= self.high:
            raise CalculationError("bounds: the low value of a range is above the high one.")


def line_bounds(
    line: Line, left: Spread, right: Spread, absorber: Spread | None = None, *, trailing: int = 1
) -> Line:
    """``line`` as strength and clearance case, stacked along a new leading axis.

    Args:
        line: with single numbers; its end stiffnesses and absorber force are replaced.
        left, right: end stiffness, N/m (np.inf = rigid).
        absorber: line absorber's deployment force, N; None keeps the line's own.
        trailing: axes of length one behind, for stations and the like.
    """
    force = absorber or Spread(float(line.absorber_force), float(line.absorber_force))
    strength = dataclasses.replace(
        line, end_stiffness_left=left.high, end_stiffness_right=right.high, absorber_force=force.high
    )
    clearance = dataclasses.replace(
        line, end_stiffness_left=left.low, end_stiffness_right=right.low, absorber_force=force.low
    )
    return stack_records([strength, clearance], trailing)


def faller_bounds(faller: Faller, force: Spread, *, trailing: int = 1) -> Faller:
    """``faller`` with the high and the low deployment force of the personal absorber, stacked alike.

    Fields that are arrays over stations keep their own last axis: give ``trailing`` = 1 and they broadcast.
    """
    forces: Values = np.array([force.high, force.low]).reshape((2,) + (1,) * trailing)
    return dataclasses.replace(faller, absorber_force=forces)
