"""A house design that a lot uses mirrored, turned and set on its own plan."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from planforge.job.base import JobModel, Name, Point
from planforge.job.quantities import LotAngle

Mirror = Literal["no", "left to right", "top to bottom"]


class Restatement(JobModel):
    """Something of the design that may not be right on this lot, with the place that states it."""

    field: Name
    """The field, as messages name it."""
    what: Literal["words", "place", "mark"]
    """Words of direction in a text, a place that is the lot's own, or a mark with a compass letter."""
    says: Name
    """The words, the kind of place, or the mark."""
    file: Name
    """The design's file, from the lot's folder."""
    line: int = Field(ge=0)
    """The line in it."""


class House(JobModel):
    """The house design of this lot: mirrored first, then turned about its origin, then set at a place."""

    design: Name
    """The design's file, by its path from this file's folder; it is read like a file that is extended."""
    mirrored: Mirror = "no"
    """`left to right`: the design's x changes sides; `top to bottom`: its y does; `no`: as drawn."""
    turned: LotAngle = 0.0
    """How far it is then turned about its origin, degrees counter-clockwise in plan."""
    at: Point
    """Where the design's origin then lies on the lot's plan."""
    placed: bool = False
    """True where this file already holds the design in the lot's coordinates; planforge writes it."""
    to_restate: list[Restatement] = []
    """What of the placed design the lot has to look at or state anew; planforge writes it."""

    @model_validator(mode="after")
    def _written_together(self) -> House:
        if self.to_restate and not self.placed:
            raise ValueError("to_restate without placed; write neither of the two, which planforge writes")
        return self
