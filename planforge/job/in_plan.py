"""What becomes of a point or an angle of a house design where a lot mirrors, turns and shifts it.

Every field of the job that holds a point or an angle carries one of these in its type; a test fails
for one that carries none, so that a new field can't stay behind when its house is turned.
"""

from __future__ import annotations

from enum import Enum


class InPlan(Enum):
    """How a point or angle follows its house."""

    PLACE = "place"
    """A place in plan: mirrored, turned and shifted."""
    DIRECTION = "direction"
    """A direction in plan, counter-clockwise from x: mirrored and turned."""
    BASE = "turn of a base"
    """The turn of a thing that can't itself be mirrored: turned the other way in a mirrored house."""
    OWN = "of the thing itself"
    """A size or an angle between a thing's own parts: the same wherever the house stands."""
    LOT = "of the lot"
    """Stated by the lot in its own coordinates, never by a design."""
